"""Slots by cases: what a page says of a case, what can be placed by hand, which choice comes of it."""

from __future__ import annotations

import html
import re
from datetime import date
from uuid import uuid4

import pytest
from django.db import connection
from django.test import Client
from django.test.utils import CaptureQueriesContext
from django.urls import reverse

from accounts.models import User
from plans.document import GroupRule, Plan, Slot, Window, WindowLimit
from plans.models import Placement
from plans.requirements import read
from plans.selection.program import SolverStopped
from portfolio.events import Event
from portfolio.models import Case, CaseState, Portfolio
from portfolio.treatment.services import add_events
from tests.factories.accounts import person, signed_in
from tests.factories.plans import held_against
from tests.factories.portfolio import PortfolioFactory, case_of
from tests.factories.repeat_sheets import repeat_sheet_of
from tests.factories.scoring import OPEN_FRONT, measured_sheet

pytestmark = pytest.mark.django_db
MOST_QUERIES = 14
"""Eleven, and three for what chances hang on: repeats, own errors, errors that the portfolio sets."""


def at_least(points: int, *, firmly: bool = False) -> dict[str, object]:
    return {
        "kind": "index",
        "index": "discrepancy",
        "stage": "initial",
        "at_least": str(points),
        "firmly": firmly,
    }


PLAN = Plan(
    "Harbour plan",
    (
        Slot(
            "open",
            "Open bite",
            read(
                {
                    "kind": "all",
                    "of": [
                        at_least(30),
                        {
                            "kind": "open_bite",
                            "region": "anterior",
                            "stage": "initial",
                            "teeth_at_least": 1,
                            "at_least": "0",
                        },
                    ],
                }
            ),
        ),
        Slot("firm", "High whatever the reading", read(at_least(36, firmly=True))),
        Slot("any", "Any case"),
    ),
)


@pytest.fixture
def owner() -> User:
    return person(name="Odile Marchetti")


@pytest.fixture
def client(owner: User) -> Client:
    return signed_in(owner)


@pytest.fixture
def portfolio(owner: User) -> Portfolio:
    made: Portfolio = PortfolioFactory(owner=owner)
    held_against(made, PLAN)
    return made


def seen(client: Client, name: str, argument: object, status: int = 200, **query: str) -> str:
    answer = client.get(reverse(f"plans:{name}", args=[argument]), query)
    assert answer.status_code == status
    return " ".join(html.unescape(re.sub(r"<[^>]+>", " ", answer.content.decode())).split())


def place(client: Client, case: Case, **sent: str) -> int:
    return client.post(reverse("plans:place", args=[case.public_id]), sent).status_code


def test_the_grid_tells_met_not_met_depends_and_unknown(
    client: Client, owner: User, portfolio: Portfolio
) -> None:
    open_bite = measured_sheet(owner, *OPEN_FRONT).record_set.case
    low = measured_sheet(owner).record_set.case
    empty = case_of(owner)
    said = seen(client, "slots", portfolio.public_id)
    line = said[said.index(open_bite.code) :]
    assert line.index("met 5 points to spare") < line.index("met under")
    rows = {case.code: said[said.index(case.code) :] for case in (low, empty)}
    assert "not met" in rows[low.code][:200]
    assert "unknown" in rows[empty.code][:200]


def test_the_reasons_show_every_clause_with_its_value_and_the_way_to_what_is_missing(
    client: Client, owner: User, portfolio: Portfolio
) -> None:
    case = measured_sheet(owner, *OPEN_FRONT).record_set.case
    answer = client.get(reverse("plans:case_slots", args=[case.public_id]))
    page = answer.content.decode()
    said = " ".join(html.unescape(re.sub(r"<[^>]+>", " ", page)).split())
    assert "The discrepancy index before treatment is at least 36, under every rule choice." in said
    assert "35; 41 under open_bite_start=edge_point_plus" in said
    empty = case_of(owner)
    page = client.get(reverse("plans:case_slots", args=[empty.public_id])).content.decode()
    sheet = empty.record_sets.get().sheets.get()
    assert reverse("desk:measure", args=[sheet.public_id]) in page


def test_a_choice_is_made_taken_and_taken_back(client: Client, owner: User, portfolio: Portfolio) -> None:
    first = measured_sheet(owner, *OPEN_FRONT).record_set.case
    second = measured_sheet(owner, "overjet 11 11").record_set.case
    said = seen(client, "choice", portfolio.public_id)
    assert "2 of 3 slots filled" in said
    assert "No case serves High whatever the reading: one case more is needed." in said
    assert f"Open bite {first.code} 5 points to spare" in said
    codes = " ".join(sorted([first.code, second.code]))
    take = reverse("plans:take_choice", args=[portfolio.public_id])
    assert client.post(take, {"codes": first.code}).status_code == 409
    assert not Case.objects.filter(state=CaseState.CHOSEN).exists()
    assert client.post(take, {"codes": codes}).status_code == 302
    assert Case.objects.filter(state=CaseState.CHOSEN).count() == 2
    client.post(reverse("plans:take_back", args=[portfolio.public_id]))
    assert not Case.objects.filter(state=CaseState.CHOSEN).exists()


def test_a_case_is_fixed_excluded_and_let_go_and_the_choice_follows(
    client: Client, owner: User, portfolio: Portfolio
) -> None:
    first = measured_sheet(owner, *OPEN_FRONT).record_set.case
    second = measured_sheet(owner, "overjet 11 11").record_set.case
    assert place(client, first, do="fix", slot="any") == 302
    said = seen(client, "choice", portfolio.public_id)
    assert "1 of 3 slots filled" in said
    assert f"Any case {first.code} fixed" in said
    place(client, second, do="fix", slot="any")
    assert Placement.objects.get().case == first
    assert place(client, second, do="fix", slot="no-such-slot") == 422
    assert place(client, second, do="exclude", reason="w" * 301) == 422
    place(client, first, do="let_go")
    assert place(client, first, do="exclude", reason="casts are lost") == 302
    said = seen(client, "choice", portfolio.public_id)
    assert f"{first.code} : excluded: casts are lost" in said
    assert "1 of 3 slots filled" in said
    place(client, first, do="let_go")
    assert "2 of 3 slots filled" in seen(client, "choice", portfolio.public_id)


def test_rules_that_cannot_be_kept_are_named_together(
    client: Client, owner: User, portfolio: Portfolio
) -> None:
    rule = GroupRule("surgical", "Surgical cases", read({"kind": "surgery", "wanted": True}), at_least=1)
    held_against(portfolio, Plan("Harbour plan", (Slot("any", "Any case"),), groups=(rule,)))
    measured_sheet(owner)
    said = seen(client, "choice", portfolio.public_id)
    assert "These cannot all be had together" in said
    assert "at least 1 of: Surgical cases" in said


def test_what_is_missing_and_would_fill_a_slot_is_offered_with_its_page(
    client: Client, owner: User, portfolio: Portfolio
) -> None:
    held_against(
        portfolio,
        Plan("Harbour plan", (Slot("surgical", "Surgical", read({"kind": "surgery", "wanted": True})),)),
    )
    case = case_of(owner)
    answer = client.get(reverse("plans:choice", args=[portfolio.public_id])).content.decode()
    assert "1 slot more could be filled" in answer
    assert reverse("portfolio:treatment", args=[case.public_id]) in answer


def test_a_case_that_is_measured_again_shows_nothing_and_is_not_chosen(
    client: Client, owner: User, portfolio: Portfolio
) -> None:
    sheet = measured_sheet(owner, *OPEN_FRONT)
    repeat_sheet_of(sheet)
    said = seen(client, "slots", portfolio.public_id)
    assert "shut while you measure it again" in said
    assert "to spare" not in said
    assert "0 of 3 slots filled" in seen(client, "choice", portfolio.public_id)


def test_what_is_due_is_told_by_day_and_leaves_as_a_calendar_file(
    client: Client, owner: User, portfolio: Portfolio
) -> None:
    window = Window(
        "results", "Final records", "appliances_off", "records_final", (WindowLimit(at_most_months=3),)
    )
    held_against(portfolio, Plan("Harbour plan", (Slot("any", "Any case"),), windows=(window,)))
    empty = client.get(reverse("plans:due_file", args=[portfolio.public_id]))
    assert empty.status_code == 302
    case = case_of(owner)
    add_events(owner, case, (Event(date(2098, 11, 30), "appliances_off"),), uuid4())
    said = seen(client, "due", portfolio.public_id)
    assert f"{case.code} Final records" in said
    assert "radiographs only as your local rules" in said
    answer = client.get(reverse("plans:due_file", args=[portfolio.public_id]))
    assert answer["Content-Type"].startswith("text/calendar")
    text = answer.content.decode()
    # Three months after 30 November are complete on 1 March.
    assert "DTSTART;VALUE=DATE:20990301" in text
    assert case.code in text
    assert owner.name not in text


def test_windows_up_to_the_submission_are_counted_to_the_day_that_is_kept(
    client: Client, owner: User, portfolio: Portfolio
) -> None:
    window = Window(
        "fresh", "Fresh results", "appliances_off", "submission", (WindowLimit(at_most_months=12),)
    )
    held_against(portfolio, Plan("Harbour plan", (Slot("any", "Any case"),), windows=(window,)))
    add_events(owner, case_of(owner), (Event(date(2024, 2, 29), "appliances_off"),), uuid4())
    address = reverse("plans:submission_day", args=[portfolio.public_id])
    assert client.post(address, {"submission_on": "next week"}).status_code == 422
    for day, told in (("2025-03-01", "done in time"), ("2025-03-02", "done late")):
        assert client.post(address, {"submission_on": day}).status_code == 302
        assert told in seen(client, "due", portfolio.public_id)
    client.post(address, {"submission_on": ""})
    assert "done" not in seen(client, "due", portfolio.public_id)


def test_a_choice_that_takes_too_long_is_told_and_leads_on(
    client: Client, owner: User, portfolio: Portfolio, monkeypatch: pytest.MonkeyPatch
) -> None:
    def stopped(*_: object) -> None:
        raise SolverStopped

    monkeypatch.setattr("plans.selection.choose", stopped)
    for name in ("choice", "submission_new"):
        assert "took too long" in seen(client, name, portfolio.public_id, 503)


def test_pages_without_a_plan_lead_to_one(client: Client, owner: User) -> None:
    bare = PortfolioFactory(owner=owner, name="Bare")
    for name in ("slots", "choice", "due"):
        assert "Choose a plan" in seen(client, name, bare.public_id)


def test_the_number_of_queries_does_not_grow_with_the_cases(
    client: Client, owner: User, portfolio: Portfolio
) -> None:
    address = reverse("plans:slots", args=[portfolio.public_id])
    counts = []
    for more in (1, 4):
        for _ in range(more):
            measured_sheet(owner, *OPEN_FRONT)
        client.get(address)
        with CaptureQueriesContext(connection) as asked:
            client.get(address)
        counts.append(len(asked))
    assert counts[0] == counts[1] <= MOST_QUERIES
