"""Texts and amounts that break layouts, in the printed case: public bug reports of HTML to PDF, tried on our pages.

The numbers of issues are those of Kozea/WeasyPrint.
"""

from __future__ import annotations

from functools import partial
from pathlib import Path

import pytest
from django.utils import timezone

from dossier import pages, printing
from dossier.reading_direction import direction
from dossier.selectors import Wanted, printable
from filing.models import StoredFile
from jobs.models import Job
from portfolio.ages import latest_day
from portfolio.models import Case, Finding, RecordSet, Sheet
from press import typeface
from press.services import render
from tests.factories.accounts import person, signed_in
from tests.factories.dossier import address, asked, assigned, printed
from tests.factories.portfolio import sheet_of
from tests.factories.scoring import OPEN_FRONT, measured_sheet
from tests.imaging.made_pictures import corner, jpeg, segment
from tests.press.browser_print import chromium_pdf
from tests.press.printed import (
    Word,
    everything_in,
    glyph_boxes,
    page_count,
    picture_count,
    word_places,
    words_of,
)

pytestmark = [pytest.mark.django_db, pytest.mark.any_database]
MIXED = "12/03 מבט קדמי overjet 4 mm אחרי"
ARABIC = "مرحبا 12 mm بعد"


@pytest.fixture
def sheet() -> Sheet:
    return measured_sheet(person(), *OPEN_FRONT)


def with_texts(sheet: Sheet, text: str) -> Case:
    """The text wherever an owner may write one: comments, reason, note, and findings in words."""
    case = sheet.record_set.case
    Finding.objects.filter(sheet=sheet, quantity="overbite").update(note=text[:500])
    Finding.objects.create(
        sheet=sheet, quantity="habit", site="mouth", state="measured", value=text[:300], changed_in=1
    )
    RecordSet.objects.filter(case=case).update(reason=text[:200])
    Case.objects.filter(pk=case.pk).update(note=text[:2000])
    case.refresh_from_db()
    return case


def document_of(case: Case, edition: str = "candidate") -> tuple[str, str]:
    """Page and style sheet of a case, as the child process gets them."""
    owner = case.patient.portfolio.owner
    file = printable(owner, case, Wanted(edition, "a4"), latest_day(timezone.now())).file
    return pages.document(file), pages.style(file)


# Layout that never ends (issues 1020, 2304, 1549, 614).


def test_a_print_over_the_limit_ends_with_words_that_name_the_case_and_others_go_on(
    sheet: Sheet, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    case = sheet.record_set.case
    with monkeypatch.context() as short:
        short.setattr(printing, "render", partial(render, seconds=0))
        job = asked(case)
    assert job.state == "failed"
    assert job.message.startswith(f"Case {case.code}: The page took longer to print than is allowed.")
    assert not StoredFile.objects.exists()
    other = measured_sheet(case.patient.portfolio.owner)
    assert page_count(printed(other.record_set.case, tmp_path)) >= 3


@pytest.mark.parametrize(
    ("text", "paper"),
    [("w" * 2000, "a4"), ("word " * 400, "letter"), ("wo\u00a0rd" * 400, "a4"), ("W-" * 1000, "letter")],
)
def test_very_long_words_stay_within_the_margins(sheet: Sheet, tmp_path: Path, text: str, paper: str) -> None:
    pdf = printed(with_texts(sheet, text), tmp_path, "candidate", paper)
    fifteen = 15 * 72 / 25.4
    for one in word_places(pdf):
        assert one.left >= fifteen - 0.5
        assert one.right <= one.paper_width - fifteen + 0.5, one


# Header row disappears, row cut across pages (issues 2679, 1547, 1868).


def test_the_longest_comment_in_one_word_leaves_head_and_row_on_one_page(
    sheet: Sheet, tmp_path: Path
) -> None:
    pdf = printed(with_texts(sheet, "W" * 2000), tmp_path, "candidate")
    for number in range(1, page_count(pdf) + 1):
        words = words_of(pdf, number)
        if "WWWWWW" in words and "Overbite" in words:
            assert "Quantity" in words


# Features of drawings (issues 2483, 1441, 1258, 1374, 999): see tests/press/test_drawings.py.
# Photo grid breaks over a page: see test_printed_rows. A missing picture (issue 103): see test_case_print.


def test_phone_pictures_do_not_bloat_the_print(sheet: Sheet, tmp_path: Path) -> None:
    """Issue 1777: 2.5 MB of segments in a picture of a few kB."""
    small = jpeg(corner((600, 400)))
    fat = small[:2] + segment(0xE5, b"x" * 65000) * 39 + small[2:]
    assert len(fat) > 2_500_000
    assigned(sheet.reader, sheet.record_set, "front", fat)
    pdf = printed(sheet.record_set.case, tmp_path)
    assert picture_count(pdf) == 1
    assert pdf.stat().st_size < 250_000


# Local files and internal addresses (issues 2098 and 1288, GHSA-35jj-wx47-4w8r, GHSA-983w-rhvv-gwmv).


def test_words_that_look_like_markup_are_printed_as_words(sheet: Sheet, tmp_path: Path) -> None:
    markup = (
        "<link rel=attachment href=file:///etc/passwd>",
        '<img src="file:///etc/passwd">',
        "<style>@import url(file:///etc/passwd)</style>",
        '<img src="http://127.0.0.1:9/redirect">',
        "{% include '/etc/passwd' %}{{ file.patient_code }}",
        '</p><script src="x.js"></script>',
    )
    case = with_texts(sheet, " ".join(markup))
    pdf = printed(case, tmp_path, "candidate")
    squeezed = "".join(words_of(pdf).split())
    for said in markup:
        assert squeezed.count("".join(said.split())) >= 2, said
    assert b"root:" not in everything_in(pdf)


# No fonts in the container (issues 1038, 677, 170).


def test_only_our_typefaces_are_embedded_and_no_box_stands_for_a_letter(sheet: Sheet, tmp_path: Path) -> None:
    case = with_texts(sheet, "Ωμέγα Журнал −12° ≤ → ½ é q̣̂ 1️ שלום مرحبا")
    boxes, fonts = glyph_boxes(printed(case, tmp_path, "candidate"))
    assert boxes == 0
    assert fonts
    assert all(name.startswith(("Source-Sans-3", "DejaVu-Sans")) for name in fonts)


def test_without_the_fallback_typeface_other_scripts_are_refused_by_name(
    sheet: Sheet, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    case = with_texts(sheet, "שלום")
    monkeypatch.setattr(typeface, "fallback_file", lambda: None)
    typeface._drawable.cache_clear()
    try:
        answer = signed_in(sheet.reader).post(address(case), {"edition": "candidate", "paper": "a4"})
        assert answer.status_code == 422
        assert "U+05E9" in answer.content.decode()
        Finding.objects.filter(quantity="habit").delete()
        boxes, fonts = glyph_boxes(printed(case, tmp_path, "examiner"))
    finally:
        monkeypatch.undo()
        typeface._drawable.cache_clear()
    assert boxes == 0
    assert all(name.startswith("Source-Sans-3") for name in fonts)


@pytest.mark.parametrize(
    ("text", "code"),
    [("🦷", "U+1F9B7"), ("1️⃣", "U+20E3"), ("歯", "U+6B6F"), ("फ", "U+092B"), ("\ue000", "U+E000")],
)
@pytest.mark.parametrize("edition", ["examiner", "candidate"])
def test_a_character_that_print_cannot_draw_is_named_in_whichever_copy_it_would_stand(
    sheet: Sheet, text: str, code: str, edition: str
) -> None:
    case = with_texts(sheet, f"left {text} right")
    answer = signed_in(sheet.reader).post(address(case), {"edition": edition, "paper": "a4"})
    assert answer.status_code == 422
    assert code in answer.content.decode()
    assert not Job.objects.exists()


# Right-to-left and mixed text (issues 1724, 2386, 1793).


def test_mixed_directions_stand_in_the_same_order_as_in_a_browser(sheet: Sheet, tmp_path: Path) -> None:
    texts = (MIXED, ARABIC, "abc שלום 12", "(שלום) 3.5 mm", "3.5 שלום (עולם) – x")
    case = with_texts(sheet, MIXED)
    for number, one in enumerate(Finding.objects.filter(sheet=sheet).order_by("pk")):
        Finding.objects.filter(pk=one.pk).update(note=texts[number % len(texts)])
    ours = printed(case, tmp_path, "candidate")
    page, style = document_of(case)
    folder = tmp_path / "browser"
    folder.mkdir()
    typeface.put_typeface(folder)
    (folder / "page.html").write_text(page, encoding="utf-8")
    (folder / "page.css").write_text(style, encoding="utf-8")
    theirs = chromium_pdf(folder)
    for text in texts:
        assert len(_orders(ours, text)) >= 2, text
        assert _orders(ours, text) == _orders(theirs, text)


def _orders(pdf: Path, text: str) -> list[list[str]]:
    """For each line of a PDF that holds the text, its words from left to right as they stand on paper.

    Programs tell the letters of a word in either order, so they are told sorted here.
    """
    wanted = {"".join(sorted(word)) for word in text.split()}
    lines: list[list[Word]] = []
    for one in word_places(pdf):
        if "".join(sorted(one.text)) in wanted:
            same = (
                line for line in lines if line[0].page == one.page and abs(line[0].bottom - one.bottom) < 6
            )
            line = next(same, None)
            if line is None:
                lines.append([one])
            else:
                line.append(one)
    ordered = [["".join(sorted(one.text)) for one in sorted(line, key=lambda w: w.left)] for line in lines]
    return sorted(line for line in ordered if len(line) >= len(wanted))


@pytest.mark.parametrize(
    ("text", "expected"),
    [("12/03 שלום x", "rtl"), ("x שלום", "ltr"), ("مرحبا", "rtl"), ("12 – 3", "ltr"), ("", "ltr"),
     ("\u2068שלום\u2069 x", "ltr"), ("\u2069שלום", "rtl")],
)  # fmt: skip
def test_the_first_letter_of_known_direction_decides(text: str, expected: str) -> None:
    assert direction(text) == expected


def test_controls_of_direction_in_one_comment_turn_nothing_outside_it(sheet: Sheet, tmp_path: Path) -> None:
    controls = ("\u202e", "\u2067", "\u202b", "\u061c", "\u200f")
    case = with_texts(sheet, "QQABC")
    Finding.objects.filter(sheet=sheet).update(note="QQABC")
    plain = _without_comment(printed(case, tmp_path, "candidate"))
    noted = Finding.objects.filter(sheet=sheet).order_by("pk")
    assert len(noted) >= len(controls)
    for number, one in enumerate(noted):
        Finding.objects.filter(pk=one.pk).update(note=f"QQ{controls[number % len(controls)]}ABC")
    Case.objects.filter(pk=case.pk).update(note=f"QQ{controls[0]}ABC")
    RecordSet.objects.filter(case=case).update(reason=f"QQ{controls[1]}ABC")
    assert _without_comment(printed(case, tmp_path, "candidate")) == plain


def _without_comment(pdf: Path) -> list[str]:
    return [one.text for one in word_places(pdf) if not {"A", "B", "C"} & set(one.text)]


def test_combining_characters_are_printed_with_their_letters(sheet: Sheet, tmp_path: Path) -> None:
    text = "e\u0301 o\u0308 n\u0303 " + "a" + "\u0301" * 40
    pdf = printed(with_texts(sheet, text), tmp_path, "candidate")
    assert glyph_boxes(pdf)[0] == 0
    words = words_of(pdf)
    assert "é" in words or "e\u0301" in words


# Amounts.


def test_a_case_without_findings_is_printed_without_empty_tables(tmp_path: Path) -> None:
    case = sheet_of(person()).record_set.case
    for edition in ("examiner", "candidate"):
        pdf = printed(case, tmp_path, edition)
        assert page_count(pdf) == 1
        assert "Findings" not in words_of(pdf)
        assert "Sources" not in words_of(pdf)


def test_a_case_without_records_is_printed_and_says_so(tmp_path: Path) -> None:
    case = sheet_of(person()).record_set.case
    RecordSet.objects.filter(case=case).delete()
    assert "No records yet" in words_of(printed(case, tmp_path))


@pytest.mark.cold_press
def test_a_job_whose_print_breaks_off_leaves_no_process_and_no_folder(
    sheet: Sheet, monkeypatch: pytest.MonkeyPatch, tmp_path: Path
) -> None:
    monkeypatch.setattr("tempfile.tempdir", str(tmp_path))
    monkeypatch.setattr(printing, "render", partial(render, memory_bytes=30_000_000))
    job = asked(sheet.record_set.case)
    assert job.state == "failed"
    assert "more memory or time" in job.message
    assert not list(tmp_path.glob("foliowright-print-*"))
    assert not any(str(tmp_path).encode() in command for command in _commands("press.child"))


def _commands(program: str) -> list[bytes]:
    """Command lines of running processes of a program."""
    found = []
    for place in Path("/proc").glob("[0-9]*/cmdline"):
        try:
            command = place.read_bytes()
        except OSError:
            continue
        if program.encode() in command:
            found.append(command)
    return found
