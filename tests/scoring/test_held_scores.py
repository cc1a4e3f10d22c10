"""Many scores at once, with the totals under every rule choice: the same numbers as one sheet alone."""

from __future__ import annotations

from dataclasses import replace
from decimal import Decimal

import pytest
from django.db import connection
from django.test.utils import CaptureQueriesContext

from accounts.models import User
from portfolio.models import Sheet
from portfolio.selectors import readings_of
from scoring import registry, services
from scoring.kernel import ChoiceTotal
from scoring.models import StandingScore
from scoring.selectors.held import HeldScore, held_scores
from tests.factories.accounts import person
from tests.factories.scoring import OPEN_FRONT, loaded, measured_sheet

pytestmark = pytest.mark.django_db

KEYS = ("discrepancy", "par")


@pytest.fixture
def owner() -> User:
    return person(name="Odile Marchetti")


def held(*sheets: Sheet, under: tuple[str, ...] = ("discrepancy",)) -> dict[tuple[int, str], HeldScore]:
    rows = [loaded(sheet) for sheet in sheets]
    return held_scores(rows, readings_of(rows), KEYS, under)


def test_every_other_value_of_every_choice_has_the_total_that_scoring_by_it_gives(owner: User) -> None:
    sheet = measured_sheet(owner, *OPEN_FRONT)
    read = readings_of([loaded(sheet)])[sheet.pk]
    index = registry.index("discrepancy")
    found = held(sheet)[sheet.pk, "discrepancy"].under
    assert found is not None
    wanted = {
        f"{choice.id}={value}"
        for choice in index.choices
        if choice.alternative
        for value in choice.values
        if value != index.defaults[choice.id]
    }
    assert set(found) == wanted
    for choice, held_one in found.items():
        name, value = choice.split("=")
        alone = registry.score("discrepancy", read, choices={name: value}, detail="totals")
        assert held_one.total == alone.total, choice
        assert bool(held_one.lacks) == (not alone.complete), choice
    assert found["open_bite_start=edge_point_plus"] == ChoiceTotal(Decimal(41))
    waiting = {choice: one.lacks for choice, one in found.items() if one.lacks}
    assert waiting == {"midline_against=face": ("upper_midline_face", "lower_midline_face")}


def test_totals_under_choices_are_worked_out_once_and_again_after_a_change(
    owner: User, monkeypatch: pytest.MonkeyPatch
) -> None:
    sheet = measured_sheet(owner, *OPEN_FRONT)
    first = held(sheet)
    with monkeypatch.context() as barred:
        barred.setattr("scoring.kernel.tallies", _never)
        assert held(sheet) == first
    services.choose(
        sheet.record_set.case.patient.portfolio, "discrepancy", "open_bite_start", "edge_point_plus"
    )
    after = held(sheet)[sheet.pk, "discrepancy"]
    assert after.under is not None
    assert "open_bite_start=edge_point_plus" not in after.under
    assert after.standing.total != first[sheet.pk, "discrepancy"].standing.total


def _never(*_: object, **__: object) -> None:
    raise AssertionError("scored again")


def test_a_row_that_was_stored_without_them_gets_them_when_they_are_asked_for(owner: User) -> None:
    sheet = measured_sheet(owner, *OPEN_FRONT)
    assert held(sheet, under=())[sheet.pk, "discrepancy"].under is None
    assert held(sheet)[sheet.pk, "discrepancy"].under
    assert StandingScore.objects.get(sheet=sheet, index="discrepancy").under


def test_deleting_the_copies_changes_no_number(owner: User) -> None:
    sheet = measured_sheet(owner, *OPEN_FRONT)
    before = held(sheet)
    StandingScore.objects.all().delete()
    after = held(sheet)
    assert {k: replace(v.standing, extra={}) for k, v in after.items()} == {
        k: replace(v.standing, extra={}) for k, v in before.items()
    }
    assert [v.under for v in after.values()] == [v.under for v in before.values()]


def test_the_number_of_queries_does_not_grow_with_the_sheets(owner: User) -> None:
    rows = [loaded(measured_sheet(owner, *OPEN_FRONT)) for _ in range(4)]
    read = readings_of(rows)
    counts = []
    for some in (rows[:1], rows):
        with CaptureQueriesContext(
            connection,
        ) as seen:
            held_scores(some, read, KEYS, KEYS)
        counts.append(len(seen))
    assert counts[1] <= counts[0]
