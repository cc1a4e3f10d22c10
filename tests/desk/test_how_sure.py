"""The page of chances: what it tells is the law of the sheet, and nothing of it touches the recorded score."""

from __future__ import annotations

import html
import re
from decimal import Decimal
from typing import Any

import pytest
from django.test import Client
from pytest_django import DjangoAssertNumQueries

from accounts.models import User
from desk.how_sure import change_page
from desk.how_sure.limits import NamedLimit
from desk.how_sure.plot import totals_plot
from portfolio.models import Case, Finding, Sheet
from portfolio.selectors import reading
from portfolio.services import RecordSetDetails, add_record_set, import_sheet
from scoring import registry
from scoring.models import ScoreRun, StandingScore
from scoring.selectors.repeat_totals import DetectableChange
from scoring.uncertainty import (
    Distribution,
    ErrorModel,
    NumberLaw,
    Question,
    change_law,
    detectable_change,
    law_of,
    number_laws,
    percent,
)
from tests.factories.accounts import person, signed_in
from tests.factories.portfolio import NOON, case_of, recorded
from tests.factories.scoring import OPEN_FRONT, loaded, measured_sheet
from tests.scoring.sheets import neutral_with

pytestmark = [pytest.mark.django_db, pytest.mark.any_database]


@pytest.fixture
def sheet() -> Sheet:
    return measured_sheet(person(), *OPEN_FRONT)


@pytest.fixture
def pages(sheet: Sheet) -> Client:
    return signed_in(sheet.reader)


def address(sheet: Sheet, index: str = "discrepancy") -> str:
    return f"/sheets/{sheet.public_id}/scores/{index}/how-sure/"


def words(pages: Client, where: str, status: int = 200, **query: str) -> str:
    answer = pages.get(where, query)
    assert answer.status_code == status
    return re.sub(r"\s+", " ", html.unescape(re.sub(r"<[^>]+>", " ", answer.content.decode())))


def law(sheet: Sheet, question: Question = Question.TRUE_SCORE) -> Any:
    errors = ErrorModel(step=Decimal(sheet.step))
    return law_of(registry.index("discrepancy"), reading(sheet), errors, question)


def test_each_question_has_its_own_chances_and_the_recorded_score_stays(sheet: Sheet, pages: Client) -> None:
    told = []
    for question in Question:
        found = law(sheet, question)
        said = words(pages, address(sheet), thresholds="36, 30", question=question.value)
        assert "Recorded: 35 points" in said
        assert f"Asked for: {question.words}" in said
        for at in (30, 36):
            assert f"{at} or more {percent(found.total.at_least(at))}" in said
        low, high = found.total.central()
        assert f"Between {low} and {high} 90 %" in said
        told.append(found.total.at_least(36))
    assert told[0] != told[1]
    assert "35 points" in words(pages, f"/sheets/{sheet.public_id}/scores/discrepancy/")
    assert not ScoreRun.objects.exists()
    assert not StandingScore.objects.exclude(spread=None).exists()


def test_without_thresholds_the_recorded_total_is_asked_for(sheet: Sheet, pages: Client) -> None:
    said = words(pages, address(sheet))
    assert f"35 or more {percent(law(sheet).total.at_least(35))}" in said
    assert "What “35 or more” hangs on" in said
    assert "Findings nearest a step" in said
    assert "Errors of different findings are taken as independent" in said


@pytest.mark.parametrize(
    ("typed", "fault"),
    [
        ("abc", "“abc” is no number of points; allowed: whole or decimal numbers"),
        ("1e3", "“1e3” is out of range; allowed: 0 to 1000 points"),
        ("-3", "“-3” is out of range"),
        ("1 2 3 4 5", "5 totals are named; allowed: up to 4"),
        ("2.555", "has too many decimals"),
        ("nan", "“nan” is out of range"),
    ],
)
def test_a_threshold_that_is_none_is_told_beside_its_field(
    sheet: Sheet, pages: Client, typed: str, fault: str
) -> None:
    answer = pages.get(address(sheet), {"thresholds": typed})
    assert answer.status_code == 422
    page = answer.content.decode()
    assert fault in page
    assert f'value="{typed}"' in page
    assert "35 or more" in page


def test_a_comma_is_a_decimal_comma_or_stands_between_numbers(sheet: Sheet, pages: Client) -> None:
    for typed in ("22,5; 30", "22.5, 30", "22,5 30", "22.5,30", "30,22,5"):
        said = words(pages, address(sheet), thresholds=typed)
        assert "22.5 or more" in said
        assert "30 or more" in said


def test_numbers_that_are_no_points_are_told_with_their_errors() -> None:
    owner = person()
    row = case_of(owner)
    sheet = Sheet.objects.get(record_set__case=row)
    recorded(import_sheet(owner, sheet, neutral_with((), "tooth_size"), "widths", NOON))
    here = loaded(Sheet.objects.get(pk=sheet.pk))
    told = number_laws(
        registry.index("tooth_size"), reading(here), ErrorModel(step=Decimal("0.1")), Question.TRUE_SCORE
    )["overall_percent"]
    assert isinstance(told, NumberLaw)
    said = words(signed_in(owner), address(here, "tooth_size"))
    low, high = told.central()
    assert f"Overall ratio of tooth widths {float(told.recorded):.2f} % ± {told.sd:.2f} %" in said
    assert f"{low:.2f} to {high:.2f} %" in said
    assert "Cannot be told." in words(signed_in(owner), address(here, "space"))


def test_nothing_measured_is_said(pages: Client, sheet: Sheet) -> None:
    Finding.objects.filter(sheet=sheet).delete()
    assert "Nothing is on the sheet yet" in words(pages, address(sheet))


def test_the_page_asks_the_database_a_few_times(
    sheet: Sheet, pages: Client, django_assert_max_num_queries: DjangoAssertNumQueries
) -> None:
    with django_assert_max_num_queries(13):
        pages.get(address(sheet), {"thresholds": "30, 36"})
    # Own errors are worked out once; after that they are asked for in one query.
    with django_assert_max_num_queries(11):
        pages.get(address(sheet), {"thresholds": "30, 36"})


def test_bars_stand_for_their_chances_and_hold_the_recorded_total() -> None:
    import numpy as np

    told = Distribution(20, np.array([0.1, 0.2, 0.4, 0.3]))
    plot = totals_plot(told, Decimal(22), [Decimal(21)], "points", "total")
    assert [bar.here for bar in plot.bars] == [False, False, True, False]
    tall = [bar.height for bar in plot.bars]
    assert [round(one / tall[2], 2) for one in tall] == [0.25, 0.5, 1.0, 0.75]
    assert plot.thresholds[0].words == "21 or more: 90 %"
    assert all(plot.left <= bar.x and bar.x + bar.width <= plot.right for bar in plot.bars)
    assert plot.words.startswith("Chances of the total in points: recorded 22, middle 22, between 20 and 23")


def changed(owner: User) -> tuple[Case, Sheet, Sheet]:
    """A case measured before and after for PAR, by one reader."""
    case = case_of(owner)
    sheets = []
    for stage, overjet in (("initial", "9.2"), ("final", "2.5")):
        row = Sheet.objects.filter(record_set__case=case, record_set__stage=stage).first()
        if row is None:
            row = add_record_set(owner, case, RecordSetDetails(stage=stage)).sheets.get()
        found = neutral_with([f"overjet 11 {overjet}"], "par", stage=stage)
        recorded(import_sheet(owner, row, found, stage, NOON))
        sheets.append(loaded(row))
    return case, sheets[0], sheets[1]


def test_a_change_is_told_with_the_chances_of_the_published_verdicts() -> None:
    owner = person()
    case, first, last = changed(owner)
    sheets = [reading(Sheet.objects.get(pk=one.pk)) for one in (first, last)]
    laws = [law_of(registry.index("par"), one, ErrorModel(step=Decimal("0.1"))) for one in sheets]
    found = change_law(laws[0], laws[1])
    said = words(signed_in(owner), f"/cases/{case.public_id}/change/how-sure/", index="par")
    assert f"The total fell at all {percent(found.less())}" in said
    assert found.improved is not None
    assert f"Improved, or greatly improved {percent(found.improved)}" in said
    assert "told from 5 pairs of repeated totals" in said
    assert "Both sheets are by one reader" in said
    page = signed_in(owner).get(f"/cases/{case.public_id}/change/").content.decode()
    assert f"/cases/{case.public_id}/change/how-sure/?index=par" in page


def test_a_change_under_what_own_repeats_explain_is_within_measurement_error(
    monkeypatch: pytest.MonkeyPatch,
) -> None:
    owner = person()
    case, _first, _last = changed(owner)
    told = DetectableChange("par", 7, 9.0, detectable_change(9.0))
    monkeypatch.setattr(change_page, "minimal_detectable_change", lambda reader, index: told)
    said = words(signed_in(owner), f"/cases/{case.public_id}/change/how-sure/")
    assert "Within measurement error." in said
    assert "changes under 24.9 points are within measurement error" in said
    monkeypatch.setattr(
        change_page,
        "minimal_detectable_change",
        lambda reader, index: DetectableChange("par", 7, 0.3, detectable_change(0.3)),
    )
    said = words(signed_in(owner), f"/cases/{case.public_id}/change/how-sure/")
    assert "this change is more than measurement error explains" in said


def test_one_stage_missing_findings_or_an_unknown_index_is_told() -> None:
    owner = person()
    sheet = measured_sheet(owner)
    where = f"/cases/{sheet.record_set.case.public_id}/change/how-sure/"
    assert "A change needs findings of two stages" in words(signed_in(owner), where)
    assert signed_in(owner).get(where, {"index": "nothing"}).status_code == 404


def test_limits_of_a_plan_have_their_chances_by_name_and_are_asked_for_where_nothing_is_typed(
    sheet: Sheet, pages: Client, monkeypatch: pytest.MonkeyPatch
) -> None:
    limits = (
        NamedLimit("Northmoor board, case 1", at_least=Decimal(36)),
        NamedLimit("Northmoor board, result", at_most=Decimal(34)),
        NamedLimit("Between", at_least=Decimal(34), at_most=Decimal(36)),
    )
    monkeypatch.setattr("desk.views.how_sure.limits_of", lambda user, row, index: limits)
    law = law_of(
        registry.index("discrepancy"), reading(sheet), ErrorModel(step=Decimal("0.1")), Question.TRUE_SCORE
    )
    chances = law.total.probabilities
    said = words(pages, address(sheet))
    expected = {
        "Northmoor board, case 1: 36 or more": sum(p for total, p in chances.items() if total >= 36),
        "Northmoor board, result: 34 or fewer": sum(p for total, p in chances.items() if total <= 34),
        "Between: 34 or more and 36 or fewer": sum(p for total, p in chances.items() if 34 <= total <= 36),
    }
    for label, chance in expected.items():
        assert f"{label} {percent(chance)}" in said, label
    for total in (34, 35, 36, 37):
        assert f"What “{total} or more” hangs on" in said, "both edges of each limit"
    typed = words(pages, address(sheet), thresholds="20")
    assert "What “20 or more” hangs on" in typed
    assert "What “36 or more” hangs on" not in typed
    assert "Northmoor board, case 1: 36 or more" in typed
    with pytest.raises(ValueError, match="names no total"):
        NamedLimit("Empty")
