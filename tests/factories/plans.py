"""Plans for tests, made through the services a page would use."""

from __future__ import annotations

import uuid
from typing import Any

from accounts.models import User
from plans import services
from plans.document import Plan, Slot
from plans.models import Plan as PlanRow
from plans.models import PlanVersion, PortfolioPlan
from plans.plan_file import read_plan
from plans.requirements import read
from portfolio.models import Portfolio
from tests.factories.portfolio import NOON

AT_LEAST_20 = {"kind": "index", "index": "discrepancy", "stage": "initial", "at_least": "20"}
SURGERY = {"kind": "surgery", "wanted": True}


def plan(name: str = "Quay examination", **more: Any) -> Plan:
    """A plan of two slots: one with a condition, one that takes any case."""
    slots = (Slot("slot-1", "Hard", read(AT_LEAST_20)), Slot("slot-2", "Open"))
    return Plan(name, **{"slots": slots, **more})


def plan_data(**more: Any) -> Plan:
    """A plan from data, where a test needs what dataclasses would make long."""
    return read_plan({"plan": 1, "name": "Quay examination", **more})


def plan_of(owner: User, document: Plan | None = None) -> PlanRow:
    """A plan with a draft and no version."""
    return services.make_plan(owner, document or plan(), uuid.uuid4())


def version_of(owner: User, document: Plan | None = None) -> PlanVersion:
    """The first version of a new plan."""
    row = plan_of(owner, document)
    return services.keep_version(owner, row, row.version, "", NOON)


def held_against(portfolio: Portfolio, document: Plan | None = None) -> PlanVersion:
    """The portfolio held against the first version of a new plan of its owner."""
    version = version_of(portfolio.owner, document)
    held = PortfolioPlan.objects.filter(portfolio=portfolio).select_related("plan_version").first()
    seen = held.plan_version.public_id if held else None
    services.choose_version(portfolio.owner, portfolio, version, seen, NOON)
    return version
