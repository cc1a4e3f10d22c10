"""The page of chances: what it tells is the law of the sheet, and nothing of it touches the recorded score."""

from __future__ import annotations

import re
from decimal import Decimal
from typing import Any

import pytest
from django.test import Client
from pytest_django import DjangoAssertNumQueries

from desk.how_sure.plot import totals_plot
from portfolio.models import Finding, Sheet
from portfolio.selectors import reading
from scoring import registry
from scoring.models import ScoreRun, StandingScore
from scoring.uncertainty import Distribution, ErrorModel, Question, law_of, percent
from tests.factories.accounts import person, signed_in
from tests.factories.scoring import OPEN_FRONT, measured_sheet

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
    return re.sub(r"\s+", " ", re.sub(r"<[^>]+>", " ", answer.content.decode()))


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
    for typed in ("22,5; 30", "22.5, 30", "22,5 30"):
        said = words(pages, address(sheet), thresholds=typed)
        assert "22.5 or more" in said
        assert "30 or more" in said


def test_an_index_without_a_sum_says_why_nothing_can_be_told(sheet: Sheet, pages: Client) -> None:
    assert "Cannot be told." in words(pages, address(sheet, "tooth_size"))


def test_nothing_measured_is_said(pages: Client, sheet: Sheet) -> None:
    Finding.objects.filter(sheet=sheet).delete()
    assert "Nothing is on the sheet yet" in words(pages, address(sheet))


def test_the_page_asks_the_database_a_few_times(
    sheet: Sheet, pages: Client, django_assert_max_num_queries: DjangoAssertNumQueries
) -> None:
    with django_assert_max_num_queries(12):
        pages.get(address(sheet), {"thresholds": "30, 36"})


def test_bars_stand_for_their_chances_and_hold_the_recorded_total() -> None:
    import numpy as np

    told = Distribution(20, np.array([0.1, 0.2, 0.4, 0.3]))
    plot = totals_plot(told, Decimal(22), [Decimal(21)], "points")
    assert [bar.here for bar in plot.bars] == [False, False, True, False]
    tall = [bar.height for bar in plot.bars]
    assert [round(one / tall[2], 2) for one in tall] == [0.25, 0.5, 1.0, 0.75]
    assert plot.thresholds[0].words == "21 or more: 90 %"
    assert all(plot.left <= bar.x and bar.x + bar.width <= plot.right for bar in plot.bars)
    assert plot.words.startswith("Chances of the total in points: recorded 22, middle 22, between 20 and 23")
