"""Evidence in print: the part of a picture round its marks, under the rules of every other picture."""

from __future__ import annotations

from pathlib import Path

import pikepdf
import pytest
from django.utils import timezone

from accounts.models import User
from dossier.ended_prints import why_withheld
from portfolio.models import RecordItem, RecordSet
from portfolio.services import record_items
from portfolio.services.answers import Entry, EvidencePiece, Recorded
from portfolio.services.findings import record_findings
from portfolio.services.record_sets import working_sheet
from tests.factories.accounts import person, signed_in
from tests.factories.dossier import asked, assigned, printed
from tests.factories.portfolio import ConsentFactory, case_of, record_set_of
from tests.imaging.made_pictures import corner, jpeg
from tests.press.printed import words_of

pytestmark = [pytest.mark.django_db, pytest.mark.any_database]
MARKS = {"m1": {"kind": "distance", "label": "SECRETLABEL", "places": [
    {"x": 300, "y": 300, "zoom": 2}, {"x": 400, "y": 300, "zoom": 2},
]}}  # fmt: skip


@pytest.fixture
def owner() -> User:
    return person()


@pytest.fixture
def record_set(owner: User) -> RecordSet:
    return record_set_of(case_of(owner))


def finding_on(owner: User, item: RecordItem, kind: str = "marks") -> None:
    """A tooth width of 8.5 that rests on this picture."""
    piece = EvidencePiece(
        kind,
        item.public_id,
        marks=MARKS if kind == "marks" else {},
        scale={"sd_percent": 2.4} if kind == "marks" else {},
    )
    entry = Entry("tooth_width", "11", typed="8.5", method="picture", sd="0.20", evidence=(piece,))
    answer = record_findings(
        owner, working_sheet(owner, item.record_set), [entry], "taken-over", timezone.now()
    )
    assert isinstance(answer, Recorded)


def images(pdf: Path) -> list[tuple[int, int]]:
    """Width and height in pixels of every picture in a file, each once."""
    with pikepdf.open(pdf) as opened:
        found = {
            image.objgen: (int(image.Width), int(image.Height))
            for page in opened.pages
            for image in page.get_images().values()
        }
    return list(found.values())


@pytest.mark.parametrize("edition", ["examiner", "candidate"])
def test_the_part_round_the_marks_is_printed_with_value_and_error(
    owner: User, record_set: RecordSet, tmp_path: Path, edition: str
) -> None:
    finding_on(owner, assigned(owner, record_set, "upper", jpeg(corner((1200, 900)))))
    pdf = printed(record_set.case, tmp_path, edition)
    said = words_of(pdf)
    assert "Evidence, initial" in said
    assert "Tooth width, 11: 8.5 mm" in said
    assert "± 0.20 mm" in said
    assert "Marks on a picture: Upper arch" in said
    assert "SECRETLABEL" not in said


def test_no_pixel_beyond_the_part_lies_in_the_file(
    owner: User, record_set: RecordSet, tmp_path: Path
) -> None:
    finding_on(owner, assigned(owner, record_set, "upper", jpeg(corner((1200, 900)))))
    sizes = images(printed(record_set.case, tmp_path))
    assert (1200, 900) in sizes, "the photograph itself"
    assert any(width < 400 and height < 400 for width, height in sizes), sizes


def test_a_witness_picture_is_printed_with_the_finding_and_not_among_photographs(
    owner: User, record_set: RecordSet, tmp_path: Path
) -> None:
    finding_on(owner, assigned(owner, record_set, "witness"), kind="witness")
    pdf = printed(record_set.case, tmp_path)
    said = words_of(pdf)
    assert "Witness picture" in said
    assert "Photographs, initial" not in said
    assert len(images(pdf)) == 1


def test_a_witness_picture_stops_the_print_until_somebody_has_looked_for_names(
    owner: User, record_set: RecordSet
) -> None:
    item = assigned(owner, record_set, "witness")
    finding_on(owner, item, kind="witness")
    record_items.take_back_no_text(item, item.version)
    page = signed_in(owner).post(
        f"/cases/{record_set.case.public_id}/print/", {"edition": "examiner", "paper": "a4"}
    )
    assert (
        "Names, dates or numbers may stand in these pictures: Initial: Witness picture"
        in page.content.decode()
    )


def test_a_witness_picture_without_a_finding_is_not_printed_and_stops_nothing(
    owner: User, record_set: RecordSet, tmp_path: Path
) -> None:
    item = assigned(owner, record_set, "witness")
    record_items.take_back_no_text(item, item.version)
    assert images(printed(record_set.case, tmp_path)) == []


def test_evidence_on_a_face_needs_consent_and_leaves_a_print_without_faces(
    owner: User, record_set: RecordSet, tmp_path: Path
) -> None:
    finding_on(owner, assigned(owner, record_set, "face_smiling"), kind="witness")
    address = f"/cases/{record_set.case.public_id}/print/"
    page = signed_in(owner).post(address, {"edition": "examiner", "paper": "a4", "faces": "on"})
    assert "Photographs of the face stop this print" in page.content.decode()
    assert "Evidence" not in words_of(printed(record_set.case, tmp_path))
    ConsentFactory(patient=record_set.case.patient, purposes=["examination"], media=["faces"])
    assert "Evidence, initial" in words_of(printed(record_set.case, tmp_path, "examiner", "a4", faces="on"))


def test_a_print_ends_when_its_evidence_is_deleted(owner: User, record_set: RecordSet) -> None:
    item = assigned(owner, record_set, "witness")
    finding_on(owner, item, kind="witness")
    job = asked(record_set.case)
    assert why_withheld(job, timezone.now()) == ""
    record_items.remove_item(item, item.version, though_evidence=True)
    assert "deleted since" in why_withheld(job, timezone.now())


def test_the_page_of_evidence_shows_the_marks_and_what_became_of_a_deleted_picture(
    owner: User, record_set: RecordSet
) -> None:
    item = assigned(owner, record_set, "upper", jpeg(corner((1200, 900))))
    finding_on(owner, item)
    sheet = working_sheet(owner, record_set)
    address = f"/sheets/{sheet.public_id}/evidence/"
    browser = signed_in(owner)
    said = browser.get(address).content.decode()
    assert "Tooth width, 11: 8.5 mm" in said
    assert "evidence-line" in said
    record_items.remove_item(item, item.version, though_evidence=True)
    assert "The picture was deleted since; the value stands." in browser.get(address).content.decode()


def test_without_evidence_the_page_says_how_some_is_made(owner: User, record_set: RecordSet) -> None:
    sheet = working_sheet(owner, record_set)
    said = signed_in(owner).get(f"/sheets/{sheet.public_id}/evidence/").content.decode()
    assert "No evidence yet" in said
