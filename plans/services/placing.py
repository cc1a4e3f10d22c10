"""Placing cases by hand: fixed to a slot, left out of the choice, let go; and taking a choice over into their states."""

from collections.abc import Collection, Mapping
from datetime import datetime

from django.core.exceptions import ValidationError
from django.db import IntegrityError, transaction
from django.db.models import F

from accounts.models import User
from plans.models import Placement, PlacementKind, PortfolioPlan
from portfolio.access import visible_cases
from portfolio.models import Case, CaseState, Portfolio

LONGEST_REASON = 300


class SlotTaken(Exception):
    """Another case is fixed to the slot; its code is the argument. Nothing has been written."""


def fix(held: PortfolioPlan, case: Case, slot: str, at: datetime) -> None:
    """Fix a case to a slot, in place of where it stood before.

    Raises ValidationError for a slot that the plan does not have, SlotTaken where another case is fixed to it.
    """
    if slot not in {one["key"] for one in held.plan_version.document["slots"]}:
        raise ValidationError({"slot": "This plan has no such slot. Choose one of its slots."})
    # A patient who was handed over leaves no case behind that could hold a slot.
    Placement.objects.filter(portfolio_plan=held).exclude(case__patient__portfolio=held.portfolio_id).delete()
    try:
        with transaction.atomic():
            _place(held, case, {"kind": PlacementKind.FIXED, "slot": slot, "reason": "", "at": at})
    except IntegrityError as error:
        other = Placement.objects.filter(portfolio_plan=held, slot=slot, kind=PlacementKind.FIXED)
        raise SlotTaken(other.values_list("case__code", flat=True).first() or "") from error


def exclude(held: PortfolioPlan, case: Case, reason: str, at: datetime) -> None:
    """Leave a case out of the choice, with the reason in the owner's words. Raises ValidationError for a long one."""
    words = " ".join(reason.split())
    if len(words) > LONGEST_REASON:
        said = f"The reason has {len(words)} characters; {LONGEST_REASON} are allowed. Shorten it."
        raise ValidationError({"reason": said})
    if not words.isprintable():
        raise ValidationError({"reason": "The reason holds control characters. Type it anew."})
    _place(held, case, {"kind": PlacementKind.EXCLUDED, "slot": "", "reason": words, "at": at})


def let_go(held: PortfolioPlan, case: Case) -> None:
    """Neither fixed nor excluded any more. Letting go twice changes nothing."""
    Placement.objects.filter(portfolio_plan=held, case=case).delete()


def _place(held: PortfolioPlan, case: Case, fields: Mapping[str, object]) -> None:
    Placement.objects.update_or_create(portfolio_plan=held, case=case, defaults=dict(fields))


def take_choice(by: User, portfolio: Portfolio, codes: Collection[str]) -> dict[str, str]:
    """Give these cases the state chosen, and those that were chosen and are not among them possible.

    Gives code → state before, of every case that changed, so that it can be taken back.
    """
    with transaction.atomic():
        Portfolio.objects.select_for_update().get(pk=portfolio.pk)
        rows = visible_cases(by).filter(patient__portfolio=portfolio)
        before = dict(rows.values_list("code", "state"))
        wanted = {
            code: CaseState.CHOSEN if code in codes else CaseState.POSSIBLE
            for code, state in before.items()
            if code in codes or state == CaseState.CHOSEN
        }
        return _set(by, portfolio, wanted, before)


def take_back(by: User, portfolio: Portfolio, states: Mapping[str, str]) -> int:
    """Give cases the states they had; gives how many changed. Unknown codes and states are passed over."""
    with transaction.atomic():
        Portfolio.objects.select_for_update().get(pk=portfolio.pk)
        rows = visible_cases(by).filter(patient__portfolio=portfolio)
        before = dict(rows.values_list("code", "state"))
        wanted = {
            code: state for code, state in states.items() if code in before and state in CaseState.values
        }
        return len(_set(by, portfolio, wanted, before))


def _set(
    by: User, portfolio: Portfolio, wanted: Mapping[str, str], before: Mapping[str, str]
) -> dict[str, str]:
    changed = {code: state for code, state in wanted.items() if before[code] != state}
    rows = visible_cases(by).filter(patient__portfolio=portfolio)
    for state in set(changed.values()):
        some = [code for code, one in changed.items() if one == state]
        rows.filter(code__in=some).update(state=state, version=F("version") + 1)
    return {code: before[code] for code in changed}
