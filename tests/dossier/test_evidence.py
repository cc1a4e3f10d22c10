"""Evidence in print: the part of a picture round its marks, under the rules of every other picture."""

from __future__ import annotations

import re
from pathlib import Path

import pikepdf
import pytest
from django.utils import timezone

from accounts.models import User
from dossier import pages
from dossier.ended_prints import why_withheld
from dossier.selectors import Wanted, printable
from imaging.steps.answers import Saved
from imaging.tracing.taking_over import take_over
from portfolio.models import RecordItem, RecordSet
from portfolio.services import record_items
from portfolio.services.answers import Entry, EvidencePiece, Recorded
from portfolio.services.findings import record_findings
from portfolio.services.record_sets import working_sheet
from tests.factories.accounts import person, signed_in
from tests.factories.dossier import asked, assigned, printed
from tests.factories.portfolio import ConsentFactory, case_of, record_set_of
from tests.factories.tracing import ON_PICTURE, calibrated, placed, put, radiograph_of, traced
from tests.imaging.made_pictures import corner, jpeg
from tests.press.printed import page_count, words_of

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


def test_points_and_lines_of_a_traced_measure_are_printed_and_its_line_names_the_page(
    owner: User, record_set: RecordSet, tmp_path: Path
) -> None:
    tracing = traced(calibrated(radiograph_of(owner, record_set)))
    odd = {
        name: placed(at["x"] + (40 if name == "A" else 0), at["y"] + (90 if name == "Me" else 0))
        for name in ("A", "Me")
        for at in [ON_PICTURE[name]]
    }
    assert isinstance(put(tracing, odd), Saved)
    wanted = {"anb": 0, "sn_mp": 0, "ans_me": 0}
    assert isinstance(take_over(owner, tracing, wanted, "taken-over", timezone.now()), Recorded)
    record_items.state_no_text(owner, tracing.item, tracing.item.version, timezone.now())
    moved = {"S": placed(ON_PICTURE["S"]["x"] + 60, ON_PICTURE["S"]["y"])}
    assert isinstance(put(tracing, moved), Saved)
    pdf = printed(record_set.case, tmp_path, "candidate")
    texts = {number: words_of(pdf, number) for number in range(1, page_count(pdf) + 1)}
    (here,) = (number for number, said in texts.items() if "Evidence, initial" in said)
    assert "Tracing of a radiograph: Lateral radiograph; read at S, N, Me, Go" in " ".join(
        texts[here].split()
    )
    for name in ("Me", "Go"):
        assert re.search(rf"(?<!\S){name}(?!\S)", texts[here].replace("read at S, N, Me, Go", "")), name
    assert "Lower face height" not in texts[here], "no printed score reads it"
    (lines,) = (said for said in texts.values() if "point by point" in said)
    assert lines.count(f"Evidence on page {here}") == 2

    file = printable(owner, record_set.case, Wanted("examiner", "a4"), timezone.now().date()).file
    drawing = re.findall(r"<svg.*?</svg>", pages.document(file), re.S)
    assert drawing
    assert not any('=""' in one for one in drawing), "every stroke has its width"
    (frozen,) = (part for part in file.stages[0].evidence if part.anchor == "e-sn_mp-mouth-1")
    (picture,) = frozen.pictures
    assert len(picture.paths) == 2, "S-N and Go-Me"
    across = sorted(x for x, _ in picture.points)
    there = sorted({**ON_PICTURE, **odd}[name]["x"] for name in ("S", "N", "Go", "Me"))
    assert [x - across[0] for x in across] == pytest.approx([x - there[0] for x in there], abs=0.1), (
        "as they were when the finding was taken"
    )


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
