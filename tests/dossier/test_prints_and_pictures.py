"""A picture that is deleted, masked, or may hold a name again takes the finished prints that hold it along."""

from __future__ import annotations

import pytest
from django.test import Client
from django.utils import timezone

from filing import folder as filing_folder
from filing.models import StoredFile
from jobs import withholding
from jobs.models import Job
from portfolio.models import RecordItem, Sheet
from portfolio.services import delete_case, record_items
from tests.factories.accounts import person, signed_in
from tests.factories.dossier import asked, assigned
from tests.factories.portfolio import NOON
from tests.factories.scoring import OPEN_FRONT, measured_sheet
from tests.imaging.made_pictures import corner, jpeg

pytestmark = [pytest.mark.django_db, pytest.mark.usefixtures("blank_press")]
MASK = {"kind": "mask", "left": "0", "right": "80", "top": "0", "bottom": "80", "outside": "on"}


@pytest.fixture
def sheet() -> Sheet:
    return measured_sheet(person(), *OPEN_FRONT)


@pytest.fixture
def pages(sheet: Sheet) -> Client:
    return signed_in(sheet.reader)


@pytest.fixture
def radiograph(sheet: Sheet) -> RecordItem:
    return assigned(sheet.reader, sheet.record_set, "panoramic")


@pytest.fixture
def front(sheet: Sheet) -> RecordItem:
    return assigned(sheet.reader, sheet.record_set, "front", jpeg(corner((90, 60))))


def post(pages: Client, item: RecordItem, what: str, **form: str) -> str:
    """The words of the page after a change of a picture."""
    item.refresh_from_db()
    answer = pages.post(f"/pictures/{item.public_id}/{what}/", {"version": item.version, **form}, follow=True)
    assert answer.status_code == 200, answer.content.decode()
    return answer.content.decode()


def ended(pages: Client, job: Job, words: str) -> None:
    """The print is gone with its bytes, and its page says why."""
    job.refresh_from_db()
    assert (job.state, job.result) == ("withdrawn", None)
    answer = pages.get(f"/jobs/{job.public_id}/result/")
    assert answer.status_code == 302
    assert words in pages.get(f"/jobs/{job.public_id}/").content.decode()


def stays(pages: Client, job: Job) -> None:
    job.refresh_from_db()
    assert job.state == "done"
    assert pages.get(f"/jobs/{job.public_id}/result/").status_code == 200


def test_a_deleted_picture_ends_the_prints_that_hold_it(
    sheet: Sheet, front: RecordItem, pages: Client
) -> None:
    job = asked(sheet.record_set.case)
    assert job.result is not None
    key = job.result.storage_key
    with pytest.MonkeyPatch.context() as at_once:
        at_once.setattr("django.db.transaction.on_commit", lambda work: work())
        said = post(pages, front, "delete")
    assert said.count("1 finished print that holds this picture can no longer be fetched") == 1
    ended(pages, job, "a picture that was deleted since")
    assert not StoredFile.objects.filter(storage_key=key).exists()
    assert not filing_folder.place(key).exists()


def test_taking_back_that_no_name_stands_in_a_radiograph_ends_the_prints_that_hold_it(
    sheet: Sheet, radiograph: RecordItem, pages: Client
) -> None:
    job = asked(sheet.record_set.case)
    post(pages, radiograph, "no-text", take_back="1")
    ended(pages, job, "nobody states otherwise any more: Panoramic radiograph")


def test_what_is_masked_after_a_print_ends_it_and_what_is_turned_does_not(
    sheet: Sheet, front: RecordItem, pages: Client
) -> None:
    job = asked(sheet.record_set.case)
    post(pages, front, "operations", kind="quarter_right")
    stays(pages, job)
    post(pages, front, "operations", **MASK)
    ended(pages, job, "was masked since: Front")


def test_a_picture_that_turns_out_to_be_of_the_face_ends_prints_without_consent(
    sheet: Sheet, front: RecordItem, pages: Client
) -> None:
    job = asked(sheet.record_set.case)
    post(pages, front, "assign", view="overjet")
    stays(pages, job)
    post(pages, front, "assign", view="face_rest")
    ended(pages, job, "no consent for this board examination names faces")


def test_prints_made_before_a_picture_was_taken_in_and_prints_of_other_cases_stay(
    sheet: Sheet, front: RecordItem, pages: Client
) -> None:
    before = asked(sheet.record_set.case)
    later = assigned(sheet.reader, sheet.record_set, "left", jpeg(corner((80, 60))))
    other = measured_sheet(sheet.reader)
    assigned(other.reader, other.record_set, "front", jpeg(corner((70, 60))))
    of_another = asked(other.record_set.case)
    post(pages, later, "delete")
    for job in (before, of_another):
        stays(pages, job)


def test_a_change_that_ended_no_print_itself_is_found_at_the_download(
    sheet: Sheet, front: RecordItem, pages: Client
) -> None:
    job = asked(sheet.record_set.case)
    record_items.remove_item(front, front.version)
    assert pages.get(f"/jobs/{job.public_id}/result/").status_code == 302
    assert withholding.withdraw(timezone.now()) == 1


def test_a_deleted_case_keeps_its_print_for_the_time_it_comes_back(
    sheet: Sheet, front: RecordItem, pages: Client
) -> None:
    job = asked(sheet.record_set.case)
    delete_case(sheet.record_set.case, NOON)
    assert withholding.why_withheld(job, NOON) == ""
