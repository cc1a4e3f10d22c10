"""The print of one case from the page a person asks on: editions, paper, consent, pictures, and what never gets into it."""

from __future__ import annotations

import re
from datetime import date
from pathlib import Path

import pytest

from accounts.models import User
from dossier import pages, printing
from dossier.selectors import Wanted, printable
from filing import folder as filing_folder
from filing.models import StoredFile
from jobs import work
from jobs.models import Job
from portfolio.models import Case, Finding, Patient, RecordSet, Sheet
from portfolio.services import erase_case
from tests.factories.accounts import person, signed_in
from tests.factories.dossier import address, assigned, printed
from tests.factories.portfolio import ConsentFactory
from tests.factories.scoring import OPEN_FRONT, change, measured_sheet
from tests.imaging.made_pictures import MARKER, corner, jpeg, marked_jpeg
from tests.press.printed import everything_in, facts_of, page_count, picture_count, words_of

pytestmark = [pytest.mark.django_db, pytest.mark.any_database]
COMMENT = "QQCOMMENTQQ"


@pytest.fixture
def sheet() -> Sheet:
    return measured_sheet(person(name="Odile Marchetti"), *OPEN_FRONT)


def commented(sheet: Sheet) -> Case:
    """Comments wherever the candidate may leave them."""
    case = sheet.record_set.case
    Finding.objects.filter(sheet=sheet).update(note=f"{COMMENT}1")
    Case.objects.filter(pk=case.pk).update(note=f"{COMMENT}2")
    RecordSet.objects.filter(case=case).update(reason=f"{COMMENT}3")
    case.refresh_from_db()
    return case


@pytest.mark.parametrize(("paper", "size"), [("a4", "595.2"), ("letter", "612 x 792")])
def test_every_page_has_the_paper_asked_for_and_says_case_and_page(
    sheet: Sheet, tmp_path: Path, paper: str, size: str
) -> None:
    case = sheet.record_set.case
    pdf = printed(case, tmp_path, paper=paper)
    assert size in facts_of(pdf)
    count = page_count(pdf)
    assert count >= 4
    for number in range(1, count + 1):
        assert f"{case.code} – {number} of {count}" in words_of(pdf, number)


def test_findings_lines_choices_and_sources_are_printed(sheet: Sheet, tmp_path: Path) -> None:
    Finding.objects.filter(sheet=sheet, quantity="anb").update(method="tracing")
    words = words_of(printed(sheet.record_set.case, tmp_path))
    measured, _, traced = words.partition("Read from the tracing of the lateral radiograph")
    assert "ANB" not in measured
    assert "ANB" in traced.partition("Result")[0]
    for expected in (
        "Result: 35",
        "8 mm open",
        "Anterior open bite",
        "Rule choices in force",
        "Sources",
        "[1]",
    ):
        assert expected in words


def test_nothing_of_the_candidates_copy_stands_in_the_examiners(sheet: Sheet, tmp_path: Path) -> None:
    case = commented(sheet)
    candidate = everything_in(printed(case, tmp_path, "candidate"))
    examiner = everything_in(printed(case, tmp_path, "examiner"))
    for number in (b"1", b"2", b"3"):
        assert COMMENT.encode() + number in candidate
    assert COMMENT.encode() not in examiner
    of_candidate = " ".join(words_of(tmp_path / "candidate-a4.pdf").split())
    of_examiner = " ".join(words_of(tmp_path / "examiner-a4.pdf").split())
    for only_candidate in ("Other totals", "Comment", ": 41", "scores"):
        assert only_candidate in of_candidate, only_candidate
    for forbidden in ("Other totals", "Comment", ": 41"):
        assert forbidden not in of_examiner, forbidden


def test_the_examiners_file_holds_no_steps_and_no_other_totals_to_begin_with(sheet: Sheet) -> None:
    case = commented(sheet)
    owner = case.patient.portfolio.owner
    found = printable(owner, case, Wanted("examiner", "a4"), date(2026, 4, 1))
    assert found.file.note == ""
    for stage in found.file.stages:
        assert stage.reason == ""
        assert all(one.note == "" for one in stage.findings)
        for score in stage.scores:
            assert all(choice.others == () for choice in score.choices)
            assert all((line.more, line.fewer) == ("", "") for row in score.categories for line in row.lines)


def test_no_marker_of_names_files_dates_or_headers_gets_into_either_copy(
    sheet: Sheet, tmp_path: Path
) -> None:
    case = sheet.record_set.case
    owner = case.patient.portfolio.owner
    User.objects.filter(pk=owner.pk).update(name=f"{MARKER} owner", email=f"{MARKER.lower()}@clinic.example")
    Patient.objects.filter(pk=case.patient.pk).update(locator=f"{MARKER} locator", birth_date="1987-06-05")
    RecordSet.objects.filter(case=case).update(taken_on="1987-06-05")
    type(case.patient.portfolio).objects.filter(pk=case.patient.portfolio.pk).update(
        name=f"{MARKER} portfolio"
    )
    Sheet.objects.filter(pk=sheet.pk).update(origin=f"{MARKER} origin")
    ConsentFactory(patient=case.patient, media=["faces"], paper_lies=f"{MARKER} drawer")
    item = assigned(owner, sheet.record_set, "face_rest", marked_jpeg((600, 400)))
    assert item.file is not None
    StoredFile.objects.filter(pk=item.file.pk).update(shown_name=f"{MARKER}.jpg")
    for edition in ("examiner", "candidate"):
        pdf = printed(case, tmp_path, edition, faces="on")
        assert picture_count(pdf) == 1
        found = everything_in(pdf).lower()
        for marker in (MARKER, "1987-06-05", "1987:06:05", "Author", str(tmp_path)):
            forms = (marker.lower().encode(), marker.lower().encode("utf-16-be"))
            assert not any(form in found for form in forms), (edition, marker)
        job = Job.objects.order_by("-pk")[0]
        assert job.result is not None
        assert job.result.shown_name == f"{case.code}-{edition}-a4.pdf"


@pytest.mark.parametrize(
    ("consent", "words"),
    [
        (None, "no consent for this board examination names faces"),
        ({"media": ["mouth"]}, "no consent for this board examination names faces"),
        ({"media": ["faces"], "purposes": ["teaching"]}, "no consent for this board examination names faces"),
        ({"media": ["faces"], "expires": "2026-03-03"}, "is expired"),
        ({"media": ["faces"], "withdrawn_on": "2026-03-03"}, "is withdrawn"),
    ],
)
def test_faces_are_not_printed_without_a_consent_in_force(
    sheet: Sheet, consent: dict[str, object] | None, words: str
) -> None:
    case = sheet.record_set.case
    owner = case.patient.portfolio.owner
    assigned(owner, sheet.record_set, "face_rest")
    if consent is not None:
        ConsentFactory(patient=case.patient, **consent)
    answer = signed_in(owner).post(address(case), {"edition": "examiner", "paper": "a4", "faces": "on"})
    assert answer.status_code == 422
    assert words in answer.content.decode()
    assert not Job.objects.exists()


def test_a_case_without_consent_is_printed_without_faces(sheet: Sheet, tmp_path: Path) -> None:
    case = sheet.record_set.case
    assigned(case.patient.portfolio.owner, sheet.record_set, "face_rest")
    assigned(case.patient.portfolio.owner, sheet.record_set, "front", jpeg(corner((90, 60))))
    pdf = printed(case, tmp_path)
    assert picture_count(pdf) == 1
    assert "Face at rest" not in words_of(pdf)


def test_a_consent_withdrawn_while_the_job_waits_stops_the_work(sheet: Sheet) -> None:
    case = sheet.record_set.case
    owner = case.patient.portfolio.owner
    assigned(owner, sheet.record_set, "face_rest")
    consent = ConsentFactory(patient=case.patient, media=["faces"])
    signed_in(owner).post(address(case), {"edition": "examiner", "paper": "a4", "faces": "on"})
    type(consent).objects.filter(pk=consent.pk).update(withdrawn_on="2026-03-03")
    job = Job.objects.get()
    work.run_job(job.pk)
    job.refresh_from_db()
    assert job.state == "failed"
    assert "is withdrawn" in job.message


def test_every_picture_of_a_full_record_is_printed_once_with_its_label(sheet: Sheet, tmp_path: Path) -> None:
    case = sheet.record_set.case
    owner = case.patient.portfolio.owner
    ConsentFactory(patient=case.patient, media=["faces", "mouth"])
    views = ("face_rest", "face_smiling", "profile", "right", "front", "left", "upper", "lower", "overjet")
    for number, view in enumerate(views):
        assigned(owner, sheet.record_set, view, jpeg(corner((300 + number, 200))))
    pdf = printed(case, tmp_path, faces="on")
    assert picture_count(pdf) == len(views)
    words = words_of(pdf)
    for label in ("Face at rest", "Profile", "Right side", "Upper arch", "Overjet close-up"):
        assert label in words


def test_a_missing_picture_stops_the_print_and_is_named(sheet: Sheet) -> None:
    case = sheet.record_set.case
    owner = case.patient.portfolio.owner
    item = assigned(owner, sheet.record_set, "front")
    assert item.print_file is not None
    filing_folder.place(item.print_file.storage_key).unlink()
    answer = signed_in(owner).post(address(case), {"edition": "examiner", "paper": "a4"})
    assert answer.status_code == 422
    assert "The stored file of a picture is missing: Initial, Front" in answer.content.decode()


def test_a_character_without_a_glyph_is_told_before_printing(sheet: Sheet) -> None:
    case = sheet.record_set.case
    Case.objects.filter(pk=case.pk).update(note="smile 🦷")
    client = signed_in(case.patient.portfolio.owner)
    answer = client.post(address(case), {"edition": "candidate", "paper": "a4"})
    assert answer.status_code == 422
    assert "U+1F9B7" in answer.content.decode()
    assert client.post(address(case), {"edition": "examiner", "paper": "a4"}).status_code == 302


def test_a_double_click_makes_one_job_and_the_same_inputs_are_not_printed_twice(sheet: Sheet) -> None:
    case = sheet.record_set.case
    client = signed_in(case.patient.portfolio.owner)
    wanted = {"edition": "examiner", "paper": "a4"}
    first = client.post(address(case), wanted)["Location"]
    assert client.post(address(case), wanted)["Location"] == first
    work.run_job(Job.objects.get().pk)
    assert client.post(address(case), wanted)["Location"] == first
    change(sheet, "overbite", "11", "-7")
    assert client.post(address(case), wanted)["Location"] != first


def test_a_cancelled_print_leaves_no_file(sheet: Sheet, monkeypatch: pytest.MonkeyPatch) -> None:
    case = sheet.record_set.case
    client = signed_in(case.patient.portfolio.owner)
    client.post(address(case), {"edition": "examiner", "paper": "a4"})
    job = Job.objects.get()
    lay_out = printing.lay_out

    def and_then_cancel(*given: object) -> None:
        lay_out(*given)  # type: ignore[arg-type]
        client.post(f"/jobs/{job.public_id}/cancel/")

    monkeypatch.setattr(printing, "lay_out", and_then_cancel)
    work.run_job(job.pk)
    job.refresh_from_db()
    assert job.state == "cancelled"
    assert not StoredFile.objects.exists()


def test_an_erased_case_leaves_no_print_behind(sheet: Sheet, tmp_path: Path) -> None:
    case = sheet.record_set.case
    printed(case, tmp_path)
    erase_case(case, case.code)
    assert not Job.objects.exists()
    assert not StoredFile.objects.exists()


def test_words_of_the_owner_cannot_reach_out_of_the_page(sheet: Sheet, tmp_path: Path) -> None:
    case = sheet.record_set.case
    said = '<link rel=attachment href=file:///etc/passwd><img src="http://127.0.0.1/">'
    Case.objects.filter(pk=case.pk).update(note=said)
    pdf = printed(case, tmp_path, "candidate")
    assert "<link rel=attachment" in words_of(pdf)
    assert b"root:" not in everything_in(pdf)


def test_mixed_directions_and_a_long_comment_are_printed_whole(sheet: Sheet, tmp_path: Path) -> None:
    case = sheet.record_set.case
    Finding.objects.filter(sheet=sheet, quantity="overbite", site="11").update(
        note="12 מבט קדמי " + "word " * 90
    )
    words = words_of(printed(case, tmp_path, "candidate"))
    assert words.count("word") >= 90
    assert "מבט" in words


def test_the_head_of_a_table_stands_on_every_page_of_it(sheet: Sheet, tmp_path: Path) -> None:
    case = sheet.record_set.case
    Finding.objects.filter(sheet=sheet).update(note="a comment of some length, over and over again " * 5)
    pdf = printed(case, tmp_path, "candidate")
    with_rows = [text for n in range(1, page_count(pdf) + 1) if "over and over" in (text := words_of(pdf, n))]
    assert len(with_rows) >= 2
    assert all("Quantity" in text for text in with_rows)


def test_no_type_is_smaller_than_eight_points() -> None:
    styles = [path.read_text(encoding="utf-8") for path in pages.HERE.rglob("*.css")]
    sizes = [
        float(size) for style in styles for size in re.findall(r"(?:font-size|font): ?([\d.]+)pt", style)
    ]
    assert len(sizes) > 5
    assert min(sizes) >= 8
    assert not re.search(r"font-size: ?[\d.]+(?!pt)[a-z%]", "".join(styles).replace("pt", "pt "))
