"""The plan that a portfolio is held against, with its document read, and the cases placed by hand."""

from dataclasses import dataclass
from datetime import date, datetime
from typing import Any
from uuid import UUID

from django.db.models import OuterRef, QuerySet, Subquery

from plans import plan_file
from plans.access import visible_placements, visible_portfolio_plans
from plans.document import Plan
from plans.models import PlanVersion, PortfolioPlan
from portfolio.access import Asker
from portfolio.models import Portfolio


@dataclass(frozen=True, slots=True)
class HeldPlan:
    """The version that a portfolio is held against.

    `pk` is that of the row placements hang on.  `newest` is the number of the newest kept version of the same plan
    and `newest_id` its public id: later ones are told, and never come in by themselves.
    """

    pk: int
    plan_id: UUID
    version_id: UUID
    number: int
    digest: str
    plan: Plan
    chosen_at: datetime
    newest: int
    newest_id: UUID
    submission_on: date | None
    """The day on which the owner means to hand it in; private."""

    @property
    def name(self) -> str:
        return self.plan.name

    @property
    def is_newest(self) -> bool:
        return self.number == self.newest


@dataclass(frozen=True, slots=True)
class PlacedCase:
    """A case that was fixed to a slot (`slot` is its key) or excluded with a reason (`slot` is empty)."""

    case_pk: int
    case_id: UUID
    code: str
    slot: str
    reason: str
    at: datetime

    @property
    def fixed(self) -> bool:
        return bool(self.slot)


def held_plan(user: Asker, portfolio: Portfolio) -> HeldPlan | None:
    """What a visible portfolio is held against; one query."""
    row = _with_newest(visible_portfolio_plans(user).filter(portfolio=portfolio)).first()
    return None if row is None else _held(row)


def held_portfolio(user: Asker, public_id: UUID) -> tuple[Portfolio, HeldPlan] | None:
    """A visible portfolio with what it is held against, in one query; None where it is held against nothing."""
    rows = visible_portfolio_plans(user).filter(portfolio__public_id=public_id).select_related("portfolio")
    row = _with_newest(rows).first()
    return None if row is None else (row.portfolio, _held(row))


def _with_newest(rows: QuerySet[PortfolioPlan]) -> QuerySet[PortfolioPlan]:
    later = PlanVersion.objects.filter(plan=OuterRef("plan_version__plan")).order_by("-number")
    return rows.select_related("plan_version__plan").annotate(
        newest=Subquery(later.values("number")[:1]), newest_id=Subquery(later.values("public_id")[:1])
    )


def _held(row: Any) -> HeldPlan:
    """The row with its annotations, its document read."""
    version = row.plan_version
    return HeldPlan(
        row.pk,
        version.plan.public_id,
        version.public_id,
        version.number,
        version.digest,
        plan_file.read_plan(version.document),
        row.chosen_at,
        row.newest,
        row.newest_id,
        row.submission_on,
    )


def placed_cases(user: Asker, held: HeldPlan) -> tuple[PlacedCase, ...]:
    """Cases placed by hand under a held plan, by code; one query."""
    rows = (
        visible_placements(user).filter(portfolio_plan=held.pk).select_related("case").order_by("case__code")
    )
    return tuple(
        PlacedCase(row.case_id, row.case.public_id, row.case.code, row.slot, row.reason, row.at)
        for row in rows
    )
