"""How a print fills its pages: sections follow one another, and what belongs together stands together."""

from __future__ import annotations

from pathlib import Path

import pytest

from dossier.case_file import PAPERS
from portfolio.models import Case, Sheet
from scoring import presets, services
from tests.factories.accounts import person
from tests.factories.dossier import assigned, printed
from tests.factories.scoring import OPEN_FRONT, measured_sheet
from tests.imaging.made_pictures import corner, jpeg
from tests.press.printed import page_count, words_of

pytestmark = [pytest.mark.django_db, pytest.mark.any_database]
FEW = 13
"""Lines of a page that would look left over."""


@pytest.fixture
def sheet() -> Sheet:
    return measured_sheet(person(), *OPEN_FRONT)


def measured_for(sheet: Sheet, preset: str) -> None:
    portfolio = sheet.record_set.case.patient.portfolio
    services.choose_indices(portfolio, "initial", presets.PRESETS[preset][1])


def lines(pdf: Path, page: int) -> list[str]:
    """The lines of a page without its number."""
    return [line for line in words_of(pdf, page).splitlines() if line.strip()][:-1]


@pytest.mark.parametrize("paper", PAPERS)
@pytest.mark.parametrize("edition", ["examiner", "candidate"])
def test_no_page_after_the_title_holds_only_a_few_lines(
    sheet: Sheet, tmp_path: Path, edition: str, paper: str
) -> None:
    measured_for(sheet, "full")
    pdf = printed(sheet.record_set.case, tmp_path, edition, paper)
    counts = [len(lines(pdf, page)) for page in range(2, page_count(pdf) + 1)]
    assert len(counts) >= 3
    assert min(counts) > FEW, counts


def test_a_score_goes_on_where_the_one_before_it_ended(sheet: Sheet, tmp_path: Path) -> None:
    measured_for(sheet, "full")
    pdf = printed(sheet.record_set.case, tmp_path)
    by_page = [lines(pdf, page) for page in range(2, page_count(pdf) + 1)]
    further_down = [line for page in by_page for line in page[1:] if line.endswith(", initial")]
    assert len(further_down) >= 2, by_page


def test_a_total_never_stands_on_a_page_without_a_line_it_sums(sheet: Sheet, tmp_path: Path) -> None:
    measured_for(sheet, "full")
    for paper in PAPERS:
        pdf = printed(sheet.record_set.case, tmp_path, "candidate", paper)
        for page in range(2, page_count(pdf) + 1):
            body = [line for line in lines(pdf, page) if not line.startswith("Where")]
            assert not body[0].startswith("Total"), (paper, page)


@pytest.mark.parametrize(
    ("views", "heading"),
    [
        (("front",), "Photographs, initial"),
        (("panoramic",), "Radiographs, initial"),
        (("front", "lateral"), "Photographs and radiographs, initial"),
    ],
)
def test_the_heading_over_pictures_names_what_they_are(
    sheet: Sheet, tmp_path: Path, views: tuple[str, ...], heading: str
) -> None:
    case: Case = sheet.record_set.case
    for number, view in enumerate(views):
        assigned(case.patient.portfolio.owner, sheet.record_set, view, jpeg(corner((90 + number, 60))))
    pdf = printed(case, tmp_path)
    assert any(line.startswith(heading) for line in lines(pdf, 2)), lines(pdf, 2)
