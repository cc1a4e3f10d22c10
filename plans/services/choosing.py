"""Holding a portfolio against a version of a plan, moving it to another, and letting go."""

from datetime import date, datetime
from uuid import UUID

from django.db import transaction

from accounts.models import User
from plans.models import Placement, PlacementKind, PlanVersion, PortfolioPlan
from portfolio.models import Portfolio
from portfolio.services.saving import ChangedMeanwhile


def choose_version(
    by: User, portfolio: Portfolio, version: PlanVersion, seen: UUID | None, at: datetime
) -> int:
    """Hold the portfolio against a version; `seen` is the version that the page had shown as chosen, None for none.

    Cases fixed to slots that the version does not have are let go, on another plan all of them; excluded cases stay
    excluded.  Gives how many were let go.  Raises ChangedMeanwhile where another one was chosen meanwhile.
    """
    with transaction.atomic():
        held = _held_as_seen(portfolio, seen)
        if held is None:
            PortfolioPlan.objects.create(
                portfolio=portfolio, plan_version=version, chosen_at=at, chosen_by=by
            )
            return 0
        fixed = Placement.objects.filter(portfolio_plan=held, kind=PlacementKind.FIXED)
        if held.plan_version.plan_id == version.plan_id:
            fixed = fixed.exclude(slot__in=[slot["key"] for slot in version.document["slots"]])
        let_go, _ = fixed.delete()
        held.plan_version, held.chosen_at, held.chosen_by = version, at, by
        held.save()
    return let_go


def set_submission_day(held_pk: int, day: date | None) -> None:
    """Keep the day on which the portfolio is meant to be handed in; None for none."""
    PortfolioPlan.objects.filter(pk=held_pk).update(submission_on=day)


def take_no_plan(portfolio: Portfolio, seen: UUID | None) -> None:
    """Let go of the plan, and of every case that was fixed or excluded under it.  Raises ChangedMeanwhile."""
    with transaction.atomic():
        held = _held_as_seen(portfolio, seen)
        if held is not None:
            held.delete()


def _held_as_seen(portfolio: Portfolio, seen: UUID | None) -> PortfolioPlan | None:
    Portfolio.objects.select_for_update().get(pk=portfolio.pk)
    held = PortfolioPlan.objects.filter(portfolio=portfolio).select_related("plan_version").first()
    if (held.plan_version.public_id if held else None) != seen:
        raise ChangedMeanwhile
    return held
