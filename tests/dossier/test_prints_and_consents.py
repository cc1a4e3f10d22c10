"""A consent that ends takes the finished prints with faces along; a print of a changed case is asked for in one click."""

from __future__ import annotations

from datetime import UTC, date, datetime, timedelta
from pathlib import Path
from typing import Any

import pytest
from django.test import Client
from django.utils import timezone

from dossier import printing
from filing import folder as filing_folder
from filing import services as filing_services
from filing.models import StoredFile
from jobs import housekeeping, selectors, withholding, work
from jobs.models import Job
from portfolio.ages import latest_day
from portfolio.models import Case, Consent, Sheet
from portfolio.services import delete_case
from tests.factories.accounts import person, signed_in
from tests.factories.dossier import address, asked, assigned, fetched
from tests.factories.portfolio import ConsentFactory, case_of
from tests.factories.scoring import OPEN_FRONT, change, measured_sheet
from tests.press.printed import words_of

pytestmark = [pytest.mark.django_db, pytest.mark.usefixtures("blank_press")]
SCRIPT = {"HX-Request": "true"}
FACES = {"edition": "examiner", "paper": "a4", "faces": "on"}


@pytest.fixture
def sheet() -> Sheet:
    return measured_sheet(person(), *OPEN_FRONT)


@pytest.fixture
def with_face(sheet: Sheet) -> Case:
    case = sheet.record_set.case
    assigned(case.patient.portfolio.owner, sheet.record_set, "face_rest")
    return case


@pytest.fixture
def consent(with_face: Case) -> Consent:
    return ConsentFactory(patient=with_face.patient, media=["faces"])


@pytest.fixture
def pages(with_face: Case) -> Client:
    return signed_in(with_face.patient.portfolio.owner)


def withdraw(pages: Client, consent: Consent) -> str:
    """Note the withdrawal on its page; the words of the page after it."""
    form = {"version": consent.version, "withdrawn_on": latest_day(timezone.now()).isoformat()}
    answer = pages.post(f"/consents/{consent.public_id}/withdraw/", form, follow=True)
    assert answer.status_code == 200
    return answer.content.decode()


def no_longer_fetched(pages: Client, job: Job) -> str:
    """The words on the page of a print that cannot be fetched any more."""
    answer = pages.get(f"/jobs/{job.public_id}/result/")
    assert (answer.status_code, answer.headers["Location"]) == (302, f"/jobs/{job.public_id}/")
    words = pages.get(f"/jobs/{job.public_id}/").content.decode()
    assert "Download" not in words
    return words


def test_a_withdrawn_consent_removes_finished_prints_with_faces(
    with_face: Case, consent: Consent, pages: Client
) -> None:
    job = asked(with_face, faces="on")
    assert job.result is not None
    key = job.result.storage_key
    with pytest.MonkeyPatch.context() as at_once:
        at_once.setattr("django.db.transaction.on_commit", lambda work: work())
        assert "1 finished print with photographs of the face can no longer be fetched" in withdraw(
            pages, consent
        )
    assert "is withdrawn" in no_longer_fetched(pages, job)
    job.refresh_from_db()
    assert job.state == "withdrawn"
    assert job.result is None
    assert not StoredFile.objects.filter(storage_key=key).exists()
    assert not filing_folder.place(key).exists()


def test_prints_without_faces_and_of_other_patients_stay(
    with_face: Case, consent: Consent, pages: Client
) -> None:
    without = asked(with_face)
    other = measured_sheet(with_face.patient.portfolio.owner)
    assigned(other.reader, other.record_set, "face_rest")
    ConsentFactory(patient=other.record_set.case.patient, media=["faces"])
    of_another = asked(other.record_set.case, faces="on")
    withdraw(pages, consent)
    for job in (without, of_another):
        job.refresh_from_db()
        assert job.state == "done"
        assert pages.get(f"/jobs/{job.public_id}/result/").status_code == 200


def test_a_print_asked_for_with_faces_of_a_case_that_has_none_stays(sheet: Sheet) -> None:
    case = sheet.record_set.case
    consent = ConsentFactory(patient=case.patient, media=["faces"])
    job = asked(case, faces="on")
    pages = signed_in(case.patient.portfolio.owner)
    withdraw(pages, consent)
    assert pages.get(f"/jobs/{job.public_id}/result/").status_code == 200


def test_an_expired_consent_refuses_the_file_at_once_and_the_daily_round_removes_it(
    with_face: Case, consent: Consent, pages: Client
) -> None:
    job = asked(with_face, faces="on")
    assert job.result is not None
    key = job.result.storage_key
    today = latest_day(timezone.now())
    Consent.objects.filter(pk=consent.pk).update(expires=today)
    assert pages.get(f"/jobs/{job.public_id}/result/").status_code == 200
    Consent.objects.filter(pk=consent.pk).update(expires=today - timedelta(days=1))
    assert "is expired" in no_longer_fetched(pages, job)
    assert StoredFile.objects.filter(storage_key=key).exists()
    housekeeping.daily(timezone.now())
    assert not StoredFile.objects.filter(storage_key=key).exists()
    assert "is expired" in no_longer_fetched(pages, job)


def test_a_consent_that_is_over_in_the_furthest_east_is_over(with_face: Case, consent: Consent) -> None:
    job = asked(with_face, faces="on")
    Consent.objects.filter(pk=consent.pk).update(expires=date(2026, 5, 1))
    assert withholding.why_withheld(job, datetime(2026, 5, 1, 9, 59, tzinfo=UTC)) == ""
    assert "expired" in withholding.why_withheld(job, datetime(2026, 5, 1, 10, 0, tzinfo=UTC))


@pytest.mark.parametrize("field", [{"covers": ["mouth"]}, {"purposes": ["teaching"]}])
def test_a_consent_corrected_to_exclude_faces_removes_the_print(
    with_face: Case, consent: Consent, pages: Client, field: dict[str, list[str]]
) -> None:
    job = asked(with_face, faces="on")
    form: dict[str, Any] = {"version": "1", "purposes": ["examination"], "covers": ["faces"]}
    form |= {"signer": "patient", "signed_on": "2026-03-02", **field}
    answer = pages.post(f"/consents/{consent.public_id}/edit/", form, follow=True)
    assert "1 finished print" in answer.content.decode()
    job.refresh_from_db()
    assert job.state == "withdrawn"


def test_a_second_consent_in_force_keeps_the_print(with_face: Case, consent: Consent, pages: Client) -> None:
    job = asked(with_face, faces="on")
    ConsentFactory(patient=with_face.patient, media=["faces"])
    withdraw(pages, consent)
    assert pages.get(f"/jobs/{job.public_id}/result/").status_code == 200


@pytest.mark.parametrize("moment", ["lay_out", "render", "store"])
def test_a_consent_withdrawn_while_the_print_runs_leaves_no_file(
    with_face: Case, consent: Consent, pages: Client, monkeypatch: pytest.MonkeyPatch, moment: str
) -> None:
    where: Any = filing_services if moment == "store" else printing
    real = getattr(where, moment)

    def and_then_withdraw(*given: Any, **named: Any) -> Any:
        answer = real(*given, **named)
        withdraw(pages, consent)
        return answer

    pages.post(address(with_face), FACES)
    job = Job.objects.get()
    monkeypatch.setattr(where, moment, and_then_withdraw)
    work.run_job(job.pk)
    job.refresh_from_db()
    assert job.state in ("failed", "withdrawn")
    assert "is withdrawn" in job.message
    assert job.result is None
    assert not StoredFile.objects.filter(role=StoredFile.Role.RESULT).exists()


def test_a_print_whose_removal_was_cut_off_is_refused_and_removed_later(
    with_face: Case, consent: Consent, pages: Client, monkeypatch: pytest.MonkeyPatch
) -> None:
    job = asked(with_face, faces="on")

    def cut_off(*_: object) -> None:
        raise KeyboardInterrupt

    with monkeypatch.context() as now:
        now.setattr(filing_services, "remove", cut_off)
        with pytest.raises(KeyboardInterrupt):
            withdraw(pages, consent)
    job.refresh_from_db()
    assert job.state == "done"
    assert "is withdrawn" in no_longer_fetched(pages, job)
    assert withholding.withdraw(timezone.now()) == 1
    assert not StoredFile.objects.filter(role=StoredFile.Role.RESULT).exists()


def test_a_print_with_faces_of_a_deleted_case_is_withheld_from_when_its_consent_ends(
    with_face: Case, consent: Consent, pages: Client
) -> None:
    job = asked(with_face, faces="on")
    delete_case(with_face, timezone.now())
    withdraw(pages, consent)
    assert "is withdrawn" in no_longer_fetched(pages, job)


def test_the_page_of_print_shows_that_the_last_one_is_no_longer_handed_out(
    with_face: Case, consent: Consent, pages: Client
) -> None:
    asked(with_face, faces="on")
    withdraw(pages, consent)
    words = pages.get(address(with_face)).content.decode()
    assert "No longer handed out" in words
    assert "is withdrawn" in words
    assert "Run again" in words


def test_a_new_consent_lets_the_print_be_run_again(with_face: Case, consent: Consent, pages: Client) -> None:
    job = asked(with_face, faces="on")
    withdraw(pages, consent)
    again = f"/jobs/{job.public_id}/again/"
    answer = pages.post(again, headers=SCRIPT)
    assert answer.status_code == 422
    assert "is withdrawn" in answer.content.decode()
    assert Job.objects.count() == 1
    ConsentFactory(patient=with_face.patient, media=["faces"])
    pages.post(again)
    anew = Job.objects.get(state="waiting")
    work.run_job(anew.pk)
    anew.refresh_from_db()
    assert (anew.state, anew.note) == ("done", "")


@pytest.fixture
def changed(sheet: Sheet) -> tuple[Job, Client]:
    """A print that failed because its case was changed while it waited."""
    case = sheet.record_set.case
    pages = signed_in(case.patient.portfolio.owner)
    pages.post(address(case), {"edition": "candidate", "paper": "letter"})
    change(sheet, "overbite", "11", "-7")
    job = Job.objects.get()
    work.run_job(job.pk)
    job.refresh_from_db()
    assert (job.state, job.message) == ("failed", printing.CHANGED_WORDS)
    return job, pages


@pytest.mark.pressed
@pytest.mark.parametrize("by_script", [True, False])
def test_running_again_prints_the_changed_case_in_one_click_and_says_so(
    changed: tuple[Job, Client], tmp_path: Path, by_script: bool
) -> None:
    job, pages = changed
    answer = pages.post(f"/jobs/{job.public_id}/again/", headers=SCRIPT if by_script else {}, follow=True)
    assert "was changed since it was first asked for" in answer.content.decode()
    anew = Job.objects.get(state="waiting")
    assert anew.input_digest != job.input_digest
    assert {key: anew.options[key] for key in ("edition", "paper", "faces")} == {
        "edition": "candidate",
        "paper": "letter",
        "faces": False,
    }
    work.run_job(anew.pk)
    anew.refresh_from_db()
    assert anew.state == "done"
    assert "7 mm open" in words_of(fetched(anew, tmp_path))
    page = pages.get(f"/jobs/{anew.public_id}/").content.decode()
    assert "was changed since it was first asked for" in page
    assert "Download" in page


def test_running_an_unchanged_print_again_says_nothing_of_a_change(sheet: Sheet) -> None:
    case = sheet.record_set.case
    pages = signed_in(case.patient.portfolio.owner)
    pages.post(address(case), {"edition": "examiner", "paper": "a4"})
    job = Job.objects.get()
    pages.post(f"/jobs/{job.public_id}/cancel/")
    pages.post(f"/jobs/{job.public_id}/again/")
    anew = Job.objects.get(state="waiting")
    assert (anew.input_digest, anew.note) == (job.input_digest, "")


def test_running_again_leads_to_the_print_of_the_present_case_if_there_is_one(
    changed: tuple[Job, Client], sheet: Sheet
) -> None:
    job, pages = changed
    done = asked(sheet.record_set.case, "candidate", "letter")
    page = pages.post(f"/jobs/{job.public_id}/again/", follow=True)
    assert page.redirect_chain[-1][0] == f"/jobs/{done.public_id}/"
    assert "was changed since it was first asked for" in page.content.decode()


def test_a_double_click_on_run_again_makes_one_job(changed: tuple[Job, Client]) -> None:
    job, pages = changed
    for _ in range(2):
        pages.post(f"/jobs/{job.public_id}/again/")
    assert Job.objects.count() == 2


def test_running_again_says_what_stands_against_it_beside_the_button(
    changed: tuple[Job, Client], sheet: Sheet
) -> None:
    job, pages = changed
    delete_case(sheet.record_set.case, timezone.now())
    for headers in (SCRIPT, {}):
        answer = pages.post(f"/jobs/{job.public_id}/again/", headers=headers)
        assert answer.status_code == 422
        assert "no longer among your cases" in answer.content.decode()
    assert Job.objects.count() == 1


def test_a_print_that_is_not_about_a_case_of_the_person_is_withheld(
    with_face: Case, consent: Consent
) -> None:
    job = asked(with_face, faces="on")
    Job.objects.filter(pk=job.pk).update(subject=str(case_of(person()).public_id))
    job = Job.objects.select_related("result", "asked_by").get(pk=job.pk)
    assert selectors.shown(job, timezone.now()).result_size is None
