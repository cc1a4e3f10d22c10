"""A long case in print: no row and no picture is split over two pages, heads repeat, pages are numbered."""

from __future__ import annotations

import re
from html.parser import HTMLParser
from pathlib import Path

import pytest
from django.utils import timezone

from dossier import pages
from dossier.case_file import PAPERS
from dossier.selectors import Wanted, printable
from portfolio.ages import latest_day
from portfolio.models import Case
from press.services import render
from tests.factories.accounts import person
from tests.factories.dossier import assigned, long_case, printed
from tests.factories.portfolio import ConsentFactory
from tests.imaging.made_pictures import corner, jpeg
from tests.press.printed import page_count, pictures_placed, structure_of, words_of

pytestmark = [pytest.mark.django_db, pytest.mark.any_database]
COPIES = ("examiner", "candidate")
VIEWS = (
    "face_rest",
    "face_smiling",
    "profile",
    "right",
    "front",
    "left",
    "upper",
    "lower",
    "overjet",
    "casts_front",
)


class _Rows(HTMLParser):
    """Counts the rows of table bodies."""

    def __init__(self) -> None:
        super().__init__()
        self.rows, self.in_head = 0, False

    def handle_starttag(self, tag: str, attrs: object) -> None:
        self.in_head = (self.in_head or tag == "thead") and tag != "tbody"
        self.rows += tag == "tr" and not self.in_head


def rows_of_page(case: Case, edition: str, paper: str) -> int:
    owner = case.patient.portfolio.owner
    found = printable(owner, case, Wanted(edition, paper), latest_day(timezone.now()))
    counted = _Rows()
    counted.feed(pages.document(found.file))
    return counted.rows


@pytest.fixture
def case() -> Case:
    """Three stages, 400 findings with comments of every length, ten pictures of every shape."""
    case = long_case(person(), 400)
    owner = case.patient.portfolio.owner
    ConsentFactory(patient=case.patient, media=["faces", "mouth"])
    for record_set in case.record_sets.all():
        for number, view in enumerate(VIEWS):
            size = ((600, 400), (400, 600), (500, 500), (900, 300), (200, 900))[number % 5]
            assigned(owner, record_set, view, jpeg(corner((size[0] + number, size[1]))))
    return case


@pytest.mark.parametrize(("edition", "paper"), list(zip(COPIES, PAPERS, strict=True)))
def test_no_row_and_no_picture_of_a_long_case_is_split(
    case: Case, tmp_path: Path, edition: str, paper: str
) -> None:
    pdf = printed(case, tmp_path, edition, paper, faces="on")
    count = page_count(pdf)
    assert count >= 20
    texts = {number: words_of(pdf, number) for number in range(1, count + 1)}
    whole = structure_of(pdf)

    # Rows: a row that goes on over a page has a row element on each of the two.
    rows = [row for body in whole.all_of("/TBody") for row in body.all_of("/TR")]
    assert len(rows) == rows_of_page(case, edition, paper) > 400
    assert all(len(row.pages) == 1 for row in rows)

    # Heads: each part of a table on a page has one, and other programs read its words there.
    for table in whole.all_of("/Table"):
        assert len(table.pages) == 1
        if "Patient, coded" not in texts[table.page]:
            assert len(list(table.all_of("/THead"))) == 1, table.page

    # Comments: begin and end of each stand on one page.
    if edition == "candidate":
        begins = {key: n for n, text in texts.items() for key in re.findall(r"BEGIN(\d+)", text)}
        ends = {key: n for n, text in texts.items() for key in re.findall(r"END(\d+)", text)}
        assert len(begins) == 400
        assert begins == ends
    else:
        assert not any("BEGIN" in text or "END" in text for text in texts.values())

    # Pictures: each whole, inside the margins, and its label on the same page.
    placed = pictures_placed(pdf)
    assert len(placed) == 3 * len(VIEWS)
    millimetre = 72 / 25.4
    for one in placed:
        assert one.left >= 14.9 * millimetre
        assert one.bottom >= 17.9 * millimetre
        assert one.right <= one.paper[0] - 14.9 * millimetre
        assert one.top <= one.paper[1] - 17.9 * millimetre
    drawn = [figure for figure in whole.all_of("/Figure") if figure.alt.startswith("Taken ")]
    assert bool(drawn) == (edition == "candidate"), "drawings of places on the casts"
    figures = [figure for figure in whole.all_of("/Figure") if figure not in drawn]
    assert len(figures) == len(placed)
    for figure in figures:
        assert figure.alt in texts[figure.page], (figure.alt, figure.page)

    # Numbers: case, a dash, n of m, at the foot and nowhere else on the page.
    for number, text in texts.items():
        assert re.findall(r"(\S+) – (\d+) of (\d+)", text) == [(case.code, str(number), str(count))]
        assert f"{case.code} – {number} of {count}" in text.strip().splitlines()[-1]


def test_the_count_of_rows_tells_a_split_row(tmp_path: Path) -> None:
    rows = "".join(f"<tr><td>{'word ' * 150}</td></tr>" for _ in range(20))
    (tmp_path / "page.html").write_text(
        '<!doctype html><html lang="en"><title>x</title><link rel="stylesheet" href="fonts.css">'
        f"<table><thead><tr><th>Head</th></tr></thead><tbody>{rows}</tbody></table>",
        encoding="utf-8",
    )
    whole = structure_of(render(tmp_path))
    assert len([row for body in whole.all_of("/TBody") for row in body.all_of("/TR")]) > 20
