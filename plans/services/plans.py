"""Making plans: new, from a file, from a shipped one, from another of one's own; putting them away and back."""

import uuid
from dataclasses import replace
from datetime import datetime

from accounts.models import User
from plans import document, plan_file
from plans.access import visible_plans
from plans.models import Plan
from plans.plan_reading import MOST_NAME
from plans.services.versions import first_version
from portfolio.services.saving import checked, make_once


def make_plan(by: User, plan: document.Plan, public_id: uuid.UUID, made_from: str = "") -> Plan:
    """A plan with a draft and no version yet; the same public id again gives the same plan."""
    return make_once(visible_plans(by), public_id, lambda: _made(by, plan, public_id, made_from))


def make_shipped(by: User, plan: document.Plan, key: str, public_id: uuid.UUID, at: datetime) -> Plan:
    """A copy of a shipped plan with its first version, ready to be chosen; the same public id gives the same plan."""

    def make() -> Plan:
        row = _made(by, plan, public_id, key)
        first_version(by, row, "as shipped", at)
        return row

    return make_once(visible_plans(by), public_id, make)


def copy_plan(by: User, row: Plan, public_id: uuid.UUID) -> Plan:
    """A plan with the draft of another and a name of its own; the same public id again gives the same plan."""
    plan = plan_file.read_plan(row.draft)
    name = f"{plan.name[: MOST_NAME - 5]} copy"
    return make_plan(by, replace(plan, name=name), public_id, str(row.public_id))


def archive(row: Plan, at: datetime) -> None:
    """Put a plan away: it is offered nowhere, portfolios that are held against it stay so."""
    Plan.objects.filter(pk=row.pk, archived_at__isnull=True).update(archived_at=at)


def restore(row: Plan) -> None:
    """Take a plan out of the archive."""
    Plan.objects.filter(pk=row.pk).update(archived_at=None)


def _made(by: User, plan: document.Plan, public_id: uuid.UUID, made_from: str) -> Plan:
    draft = plan_file.as_json(plan)
    row = checked(Plan(owner=by, public_id=public_id, name=plan.name, draft=draft, made_from=made_from))
    row.save(force_insert=True)
    return row
