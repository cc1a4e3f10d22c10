"""Stored chances are a copy: they hold while sheet, choices and errors are the same, and deleting them changes nothing."""

from __future__ import annotations

from decimal import Decimal

import pytest
from django.db import connection
from django.test.utils import CaptureQueriesContext

from accounts.models import User
from portfolio.models import Sheet
from portfolio.repeating.all_readings import all_readings
from portfolio.repeating.selectors import own_errors
from portfolio.selectors import reading
from scoring import registry, services
from scoring.models import StandingScore
from scoring.selectors import standing_scores, tails_of
from scoring.uncertainty import ErrorModel, Tails, law_of
from tests.factories.accounts import person
from tests.factories.repeat_sheets import handed_in
from tests.factories.scoring import OPEN_FRONT, change, loaded, measured_sheet

pytestmark = pytest.mark.django_db
KEYS = ("discrepancy", "par", "space", "outcome")


@pytest.fixture
def owner() -> User:
    return person(name="Odile Marchetti")


def told(sheet: Sheet, key: str = "discrepancy") -> Tails:
    found = tails_of([loaded(sheet)], (key,))[sheet.pk, key]
    assert isinstance(found, Tails)
    return found


def alone(sheet: Sheet, key: str = "discrepancy", **choices: str) -> dict[int, float]:
    """The same from the law of the sheet, as the page of chances asks for it."""
    row, found = loaded(sheet), reading(loaded(sheet))
    errors = ErrorModel(own_errors(row.reader), all_readings(row, found).by_place, Decimal(row.step))
    total = law_of(registry.index(key), found, errors, choices=choices).total
    return {n: total.at_least(n) for n in range(60)}


def close(found: Tails, wanted: dict[int, float]) -> bool:
    return all(found.at_least(n) == pytest.approx(chance, abs=1e-12) for n, chance in wanted.items())


def test_chances_of_several_sheets_and_indices_are_those_of_each_alone_and_are_stored(owner: User) -> None:
    sheets = [measured_sheet(owner, f"overjet 11 {n}.2", f"anb mouth {n}.4") for n in (2, 4, 6)]
    standing_scores([loaded(sheets[0])], "discrepancy")
    found = tails_of([loaded(s) for s in sheets], KEYS)
    for sheet in sheets:
        for key in ("discrepancy", "par"):
            one = found[sheet.pk, key]
            assert isinstance(one, Tails)
            assert close(one, alone(sheet, key))
        assert isinstance(found[sheet.pk, "space"], str), "no total, and the reason in words"
        assert (sheet.pk, "outcome") not in found, "no meaning before treatment"
    rows = StandingScore.objects.filter(sheet__in=sheets)
    assert rows.count() == 9
    assert all(row.spread for row in rows)
    stored = rows.get(sheet=sheets[0], index="par")
    assert stored.spread is not None
    stored.spread["first"] = 50
    stored.save()
    assert told(sheets[0], "par").first == 50, "what still holds is read and not worked out again"
    StandingScore.objects.all().delete()
    assert tails_of([loaded(s) for s in sheets], KEYS) == found


def test_a_changed_finding_choice_or_repeat_makes_them_stale(owner: User) -> None:
    sheet = measured_sheet(owner, "overjet 11 5.2", *OPEN_FRONT)
    before = told(sheet)
    change(sheet, "overjet", "11", "7.3")
    after = told(sheet)
    assert after != before
    assert close(after, alone(sheet))
    services.choose_set(sheet.record_set.case.patient.portfolio, "discrepancy", "as_printed")
    printed = told(sheet)
    assert close(printed, alone(sheet, open_bite_start="edge_point_plus", crowding_1="1"))
    assert printed != after
    handed_in(loaded(sheet), {("overjet", "11"): "6.3"})
    again = told(sheet)
    assert again != printed
    assert close(again, alone(sheet, open_bite_start="edge_point_plus", crowding_1="1"))
    assert told(sheet) == again


def test_chances_of_another_state_are_not_believed_beside_a_score_that_holds(owner: User) -> None:
    """A request that was slower than a change may store its chances into the new row."""
    sheet = measured_sheet(owner, "overjet 11 5.2")
    told(sheet)
    slow = StandingScore.objects.get(sheet=sheet).spread
    change(sheet, "overjet", "11", "9.6")
    standing_scores([loaded(sheet)], "discrepancy")
    StandingScore.objects.filter(sheet=sheet).update(spread=slow)
    assert close(told(sheet), alone(sheet))


def test_the_database_is_asked_as_often_for_many_sheets_as_for_few(owner: User) -> None:
    sheets = [loaded(measured_sheet(owner, f"overjet 11 {n}")) for n in range(2, 8)]
    counts = []
    for some in (sheets[:2], sheets[2:]):
        with CaptureQueriesContext(
            connection,
        ) as asked:
            tails_of(some, ("discrepancy",))
        with CaptureQueriesContext(connection) as again:
            tails_of(some, ("discrepancy",))
        counts.append((len(asked), len(again)))
    assert counts[0] == counts[1]
    assert counts[0][1] < counts[0][0] <= 12
