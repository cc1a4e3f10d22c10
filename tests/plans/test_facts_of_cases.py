"""What a plan asks of cases: read from rows in a fixed number of queries, and nothing taken for granted."""

from __future__ import annotations

import uuid
from datetime import date
from decimal import Decimal

import pytest
from django.db import connection
from django.test.utils import CaptureQueriesContext

from accounts.models import User
from plans.document import Plan, Slot
from plans.requirements import read
from plans.selectors.facts import CaseInPlan, cases_in_plan
from portfolio.events import Event
from portfolio.models import CaseStatements, Portfolio, RecordItem
from portfolio.treatment.services import add_events
from tests.factories.accounts import person
from tests.factories.portfolio import case_of, record_set_of
from tests.factories.scoring import OPEN_FRONT, measured_sheet

pytestmark = pytest.mark.django_db

TODAY = date(2026, 3, 2)
FIRM = {"kind": "index", "index": "discrepancy", "stage": "initial", "at_least": "30", "firmly": True}


@pytest.fixture
def owner() -> User:
    return person(name="Odile Marchetti")


def plan(**condition: object) -> Plan:
    return Plan("Harbour plan", (Slot("first", "First", read(condition or FIRM)),))


def in_plan(owner: User, of: Plan | None = None) -> tuple[CaseInPlan, ...]:
    portfolio = Portfolio.objects.get(owner=owner)
    return cases_in_plan(owner, portfolio, of or plan(), today=TODAY)


def test_scores_come_with_every_reading_only_where_the_plan_asks_firmly(owner: User) -> None:
    measured_sheet(owner, *OPEN_FRONT)
    [firm] = in_plan(owner)
    score = firm.facts.scores["discrepancy", "initial"]
    assert score.complete
    assert score.under is not None
    assert score.total is not None
    assert score.under["open_bite_start=edge_point_plus"] == score.total + 6
    answer = plan().slots[0].condition.evaluate(firm.facts)  # type: ignore[union-attr]
    assert answer.state == "met"
    loose = plan(**{**FIRM, "firmly": False})
    [plain] = in_plan(owner, loose)
    assert plain.facts.scores["discrepancy", "initial"].media == ("plaster",)


def test_a_case_of_which_nothing_is_known_is_unknown_and_not_missed_out(owner: User) -> None:
    case = case_of(owner)
    [found] = in_plan(owner)
    assert found.code == case.code
    score = found.facts.scores["discrepancy", "initial"]
    assert not score.complete
    assert score.missing
    assert plan().slots[0].condition.evaluate(found.facts).state == "unknown"  # type: ignore[union-attr]
    course = found.facts.course
    assert (course.extracted, course.surgery, course.phases, course.appliances) == (None, None, None, None)
    assert found.facts.presented is None
    assert found.facts.statements == {}


def test_events_statements_and_records_are_handed_on(owner: User) -> None:
    case = case_of(owner)
    events = (
        Event(date(2023, 1, 31), "start", done_by="candidate"),
        Event(date(2023, 2, 10), "extraction", ("14", "24"), "crowding"),
        Event(date(2023, 3, 1), "appliances_on", detail="fixed_labial"),
        Event(date(2024, 5, 1), "surgery", detail="soft_tissue"),
        Event(date(2025, 1, 31), "appliances_off"),
        Event(date(2025, 1, 31), "end"),
    )
    add_events(owner, case, events, uuid.uuid4())
    CaseStatements.objects.create(case=case, asymmetry=False, presented_before=True)
    RecordItem.objects.create(
        record_set=record_set_of(case), view="lateral", state="not_taken", reason="no clinical indication"
    )
    [found] = in_plan(owner)
    course = found.facts.course
    assert course.active_months == 24
    assert course.extracted == frozenset({"14", "24"})
    assert course.surgery is False
    assert "surgery" not in course.days
    assert course.days["appliances_off"] == date(2025, 1, 31)
    assert course.share_percent == {"candidate": Decimal(100)}
    assert found.facts.statements == {"asymmetry": False}
    assert found.facts.presented is True
    record = found.facts.stages["initial"].records["lateral"]
    assert (record.state, record.reason) == ("not_taken", "no clinical indication")


def test_treatment_that_goes_on_has_no_active_time_yet(owner: User) -> None:
    case = case_of(owner)
    add_events(owner, case, (Event(date(2025, 1, 31), "start", done_by="candidate"),), uuid.uuid4())
    [found] = in_plan(owner)
    assert found.facts.course.active_months is None


def test_nobody_elses_case_and_no_deleted_one_is_among_them(owner: User) -> None:
    measured_sheet(owner)
    other = person(name="Ferran Oyelaran")
    measured_sheet(other)
    assert len(in_plan(owner)) == 1
    assert cases_in_plan(other, Portfolio.objects.get(owner=owner), plan(), today=TODAY) == ()


def test_the_number_of_queries_does_not_grow_with_the_cases(owner: User) -> None:
    measured_sheet(owner, *OPEN_FRONT)
    counts = []
    for more in (0, 3):
        for _ in range(more):
            measured_sheet(owner, *OPEN_FRONT)
        in_plan(owner)
        with CaptureQueriesContext(connection) as seen:
            in_plan(owner)
        counts.append(len(seen))
    assert counts[0] == counts[1] <= 12
