"""What a plan asks of a total is told on the page of its chances, under the names of its slots."""

from __future__ import annotations

import html
import re
from decimal import Decimal

import pytest
from django.urls import reverse

from accounts.models import User
from plans.document import GroupRule, Plan, Slot
from plans.requirements import read
from plans.selectors.limits import PlanLimit, limits_for
from tests.factories.accounts import person, signed_in
from tests.factories.plans import held_against
from tests.factories.scoring import OPEN_FRONT, measured_sheet

pytestmark = pytest.mark.django_db


def total(index: str = "discrepancy", stage: str = "initial", **limits: str) -> dict[str, object]:
    return {"kind": "index", "index": index, "stage": stage, **limits}


@pytest.fixture
def owner() -> User:
    return person(name="Odile Marchetti")


def plan() -> Plan:
    inside = {"kind": "any", "of": [total(at_least="30"), {"kind": "surgery", "wanted": True}]}
    slots = (
        Slot("hard", "Hard", read(total(at_least="30"))),
        Slot("either", "Hard or surgical", read(inside)),
        Slot("after", "Good result", read(total("par", "final", at_most="5"))),
        Slot("open", "Open"),
    )
    rule = GroupRule("mild", "At most one mild", read(total(at_most="15")), at_most=1)
    return Plan("Quay examination", slots, groups=(rule,))


def test_limits_come_from_slots_and_rules_also_inside_groups_each_once(owner: User) -> None:
    portfolio = measured_sheet(owner).record_set.case.patient.portfolio
    assert limits_for(owner, portfolio, "discrepancy", "initial") == ()
    held_against(portfolio, plan())
    assert limits_for(owner, portfolio, "discrepancy", "initial") == (
        PlanLimit("Hard; Hard or surgical", Decimal(30), None),
        PlanLimit("At most one mild", None, Decimal(15)),
    )
    assert limits_for(owner, portfolio, "par", "final") == (PlanLimit("Good result", None, Decimal(5)),)
    assert limits_for(person(name="Ferran Oyelaran"), portfolio, "par", "final") == ()


def test_the_page_of_chances_names_the_slots_with_their_chances(owner: User) -> None:
    sheet = measured_sheet(owner, *OPEN_FRONT)
    held_against(sheet.record_set.case.patient.portfolio, plan())
    answer = signed_in(owner).get(reverse("desk:how_sure", args=[sheet.public_id, "discrepancy"]))
    said = " ".join(html.unescape(re.sub(r"<[^>]+>", " ", answer.content.decode())).split())
    assert re.search(r"Hard; Hard or surgical.{0,40}30 or more", said)
    assert re.search(r"At most one mild.{0,40}15 or fewer", said)
