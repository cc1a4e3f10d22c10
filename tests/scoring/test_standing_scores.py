"""Standing scores are a copy: deleted or out of date, every number stays the same."""

from __future__ import annotations

from decimal import Decimal

import pytest
from django.db import connection
from django.test.utils import CaptureQueriesContext

from accounts.models import User
from portfolio import teeth
from portfolio.models import Sheet
from portfolio.selectors import reading
from scoring import registry, services
from scoring.models import StandingScore
from scoring.selectors import chosen as choices_of
from scoring.selectors import standing_now, standing_scores
from tests.factories.accounts import person
from tests.factories.scoring import OPEN_FRONT, change, loaded, measured_sheet, other_teeth

pytestmark = pytest.mark.django_db


@pytest.fixture
def owner() -> User:
    return person(name="Odile Marchetti")


def total(sheet: Sheet) -> Decimal | None:
    return standing_scores([loaded(sheet)], "discrepancy")[sheet.pk].total


def test_the_copy_says_what_the_rules_say(owner: User) -> None:
    sheet = measured_sheet(owner, *OPEN_FRONT)
    for _ in range(2):
        standing = standing_scores([loaded(sheet)], "discrepancy")[sheet.pk]
        score = registry.score("discrepancy", reading(loaded(sheet)))
        assert (standing.total, standing.complete) == (score.total, score.complete)
        assert standing.categories == {k: None if v is None else str(v) for k, v in score.categories.items()}
    assert StandingScore.objects.filter(sheet=sheet).count() == 1


def test_deleting_the_copies_changes_no_number(owner: User) -> None:
    sheets = [measured_sheet(owner, f"overjet 11 {n}") for n in (2, 4, 6, 8, 11)]
    before = standing_scores([loaded(s) for s in sheets], "discrepancy")
    StandingScore.objects.all().delete()
    assert standing_scores([loaded(s) for s in sheets], "discrepancy") == before
    assert [before[s.pk].total for s in sheets] == [0, 2, 3, 4, 5]


def test_a_copy_that_is_wrong_for_today_is_not_believed(owner: User) -> None:
    sheet = measured_sheet(owner, "overjet 11 11")
    assert total(sheet) == 5
    StandingScore.objects.filter(sheet=sheet).update(total_hundredths=9900, rules_digest="of yesterday")
    assert total(sheet) == 5


def test_a_copy_that_still_holds_is_read_instead_of_scoring_again(owner: User) -> None:
    sheet = measured_sheet(owner, "overjet 11 11")
    total(sheet)
    StandingScore.objects.filter(sheet=sheet).update(total_hundredths=9950)
    assert total(sheet) == Decimal("99.5")


def test_a_changed_finding_changes_the_standing_score(owner: User) -> None:
    sheet = measured_sheet(owner, "overjet 11 11")
    assert total(sheet) == 5
    change(sheet, "overjet", "11", "8")
    assert total(sheet) == 4


def test_another_rule_choice_changes_the_standing_score(owner: User) -> None:
    sheet = measured_sheet(owner, *OPEN_FRONT)
    assert total(sheet) == 35
    services.choose_set(sheet.record_set.case.patient.portfolio, "discrepancy", "as_printed")
    assert total(sheet) == 41


def test_other_teeth_change_the_standing_score_though_no_finding_changes(owner: User) -> None:
    sheet = measured_sheet(owner, "overjet 11 11")
    assert standing_scores([sheet], "discrepancy")[sheet.pk].complete
    without = tuple(t for t in teeth.DEFAULT_PERMANENT if t != "16")
    other_teeth(sheet, dentition="permanent", teeth=without)
    assert not standing_scores([loaded(sheet)], "discrepancy")[sheet.pk].complete


def test_an_incomplete_sheet_stands_as_a_floor_with_what_is_missing(owner: User) -> None:
    sheet = measured_sheet(owner, "overjet 11 11", "- anb mouth", "- overbite 13")
    standing = standing_scores([sheet], "discrepancy")[sheet.pk]
    assert standing.total == 5
    assert not standing.complete
    assert set(standing.missing) == {"overbite", "anb"}


def test_a_sheet_that_was_read_already_needs_no_copy(owner: User) -> None:
    sheet = measured_sheet(owner, *OPEN_FRONT)
    portfolio = sheet.record_set.case.patient.portfolio
    assert standing_now(reading(sheet), choices_of(portfolio, "discrepancy"), "discrepancy").total == 35
    assert not StandingScore.objects.exists()


def test_the_number_of_queries_does_not_grow_with_the_sheets(owner: User) -> None:
    sheets = [loaded(measured_sheet(owner, f"overjet 11 {n}")) for n in (4, 6)]
    with CaptureQueriesContext(connection) as fresh_two:
        standing_scores(sheets, "discrepancy")
    with CaptureQueriesContext(connection) as kept_two:
        standing_scores(sheets, "discrepancy")
    sheets += [loaded(measured_sheet(owner, f"overjet 11 {n}")) for n in (2, 8, 9, 10, 11)]
    StandingScore.objects.all().delete()
    with CaptureQueriesContext(connection) as fresh_seven:
        standing_scores(sheets, "discrepancy")
    with CaptureQueriesContext(connection) as kept_seven:
        standing_scores(sheets, "discrepancy")
    assert len(fresh_seven) == len(fresh_two)
    assert len(kept_seven) == len(kept_two) == 2


def test_no_sheets_stand_at_nothing(owner: User) -> None:
    assert standing_scores([], "discrepancy") == {}
