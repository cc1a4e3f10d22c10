"""Slots by cases, the best choice, one case against every slot, what is due."""

from collections.abc import Callable
from functools import wraps
from typing import Any, TypeVar, cast
from uuid import UUID

from django.contrib import messages
from django.core import signing
from django.core.exceptions import ValidationError
from django.http import HttpRequest, HttpResponse, HttpResponseBase
from django.shortcuts import get_object_or_404, redirect, render
from django.utils import timezone
from django.views.decorators.debug import sensitive_post_parameters
from django.views.decorators.http import require_POST, require_safe

from accounts.admission import signed_in, signed_in_person
from plans import calendar_file
from plans.access import visible_portfolio_plans
from plans.forms.submissions import SubmissionDayForm
from plans.selection.program import SolverStopped
from plans.selectors.held import held_plan, held_portfolio
from plans.services import placing
from plans.services.choosing import set_submission_day
from plans.slots.choice_page import choice_page
from plans.slots.due_page import due_of, due_page
from plans.slots.grid import grid
from plans.slots.in_hand import InHand, in_hand
from plans.slots.one_case import case_reasons
from portfolio.access import visible_cases, visible_portfolios
from portfolio.ages import latest_day
from portfolio.models import Case, Portfolio
from portfolio.views.saving import CHANGED, REFUSED, own

View = TypeVar("View", bound=Callable[..., HttpResponseBase])
BUSY = 503
TAKEN_BACK = "plans.take_back"
MOVED = "Not done: cases, scores or the plan have changed since this page was shown. Here is the choice as it stands now."


@signed_in
@require_safe
def slots(request: HttpRequest, portfolio: UUID) -> HttpResponse:
    """The grid of slots by cases."""
    row, hand = _hand(request, portfolio)
    if hand is None:
        return _no_plan(request, row, "Slots by cases")
    shown = {"portfolio": row, "held": hand.held, "grid": grid(hand, request.GET.dict())}
    return render(request, "plans/slots/grid.html", shown)


def told_when_stopped(view: View) -> View:
    """A choice that takes too long is told in words, not by an error page."""

    @wraps(view)
    def guarded(request: HttpRequest, *args: Any, **kwargs: Any) -> HttpResponseBase:
        try:
            return view(request, *args, **kwargs)
        except SolverStopped:
            return render(
                request, "plans/slots/stopped.html", {"portfolio_id": kwargs["portfolio"]}, status=BUSY
            )

    return cast(View, guarded)


@told_when_stopped
@signed_in
@require_safe
def choice(request: HttpRequest, portfolio: UUID) -> HttpResponse:
    """The best choice, with what is weak about it and what would help."""
    row, hand = _hand(request, portfolio)
    if hand is None:
        return _no_plan(request, row, "Best choice")
    return _choice(request, row, hand)


@told_when_stopped
@signed_in
@require_POST
def take_choice(request: HttpRequest, portfolio: UUID) -> HttpResponse:
    """Give the cases of the choice their state, if it is still the one that was shown."""
    row, hand = _hand(request, portfolio)
    if hand is None:
        return redirect("plans:choice", row.public_id)
    codes = choice_page(hand).codes
    if " ".join(codes) != request.POST.get("codes", ""):
        return _choice(request, row, hand, MOVED, CHANGED)
    before = placing.take_choice(signed_in_person(request), row, codes)
    if before:
        request.session[TAKEN_BACK] = signing.dumps({"portfolio": str(row.public_id), "states": before})
    messages.success(request, f"{len(codes)} case{'' if len(codes) == 1 else 's'} stand as chosen.")
    return redirect("plans:choice", row.public_id)


@signed_in
@require_POST
def take_back(request: HttpRequest, portfolio: UUID) -> HttpResponse:
    """Give the cases the states they had before the choice was taken."""
    row = own(visible_portfolios(request.user), portfolio)
    kept = _taken(request, row)
    request.session.pop(TAKEN_BACK, None)
    if not kept:
        messages.warning(request, "There is nothing to take back any more.")
    else:
        number = placing.take_back(signed_in_person(request), row, kept)
        messages.success(
            request, f"{number} case{' has its' if number == 1 else 's have their'} former state."
        )
    return redirect("plans:choice", row.public_id)


@signed_in
@require_safe
def case_slots(request: HttpRequest, case: UUID) -> HttpResponse:
    """One case against every slot."""
    row = _case(request, case)
    hand = _of_case(request, row)
    if hand is None:
        return _no_plan(request, row.patient.portfolio, f"Case {row.code} and the slots")
    return _case_page(request, row, hand)


@signed_in
@require_POST
def place(request: HttpRequest, case: UUID) -> HttpResponseBase:
    """Fix the case to a slot, exclude it with a reason, or let it go."""
    row = _case(request, case)
    held = get_object_or_404(
        visible_portfolio_plans(request.user).select_related("plan_version"),
        portfolio=row.patient.portfolio,
    )
    now = timezone.now()
    try:
        match request.POST.get("do"):
            case "fix":
                placing.fix(held, row, request.POST.get("slot", ""), now)
                messages.success(request, f"Case {row.code} is fixed. “Let go” takes it back.")
            case "exclude":
                placing.exclude(held, row, request.POST.get("reason", ""), now)
                messages.success(request, f"Case {row.code} is excluded. “Let go” takes it back.")
            case _:
                placing.let_go(held, row)
                messages.success(request, f"Case {row.code} is neither fixed nor excluded.")
    except placing.SlotTaken as taken:
        messages.warning(request, f"Not done: case {taken} is fixed to this slot. Let that one go first.")
    except ValidationError as refused:
        hand = _of_case(request, row)
        return _case_page(request, row, hand, " ".join(refused.messages), REFUSED) if hand else redirect("/")
    return redirect("plans:case_slots", row.public_id)


@signed_in
@require_safe
def due(request: HttpRequest, portfolio: UUID) -> HttpResponse:
    """What is due by the plan's windows."""
    row, hand = _hand(request, portfolio)
    if hand is None:
        return _no_plan(request, row, "What is due")
    return _due_page(
        request, row, hand, SubmissionDayForm(initial={"submission_on": hand.held.submission_on})
    )


@sensitive_post_parameters("submission_on")
@signed_in
@require_POST
def submission_day(request: HttpRequest, portfolio: UUID) -> HttpResponse:
    """Keep the day on which the portfolio is meant to be handed in."""
    row, hand = _hand(request, portfolio)
    if hand is None:
        return redirect("plans:due", row.public_id)
    form = SubmissionDayForm(request.POST)
    if not form.is_valid():
        return _due_page(request, row, hand, form, REFUSED)
    set_submission_day(hand.held.pk, form.cleaned_data["submission_on"])
    messages.success(request, "The day is kept.")
    return redirect("plans:due", row.public_id)


@signed_in
@require_safe
def due_file(request: HttpRequest, portfolio: UUID) -> HttpResponse:
    """The days that are still to come as a calendar file; it names codes only."""
    row, hand = _hand(request, portfolio)
    due_now = due_of(hand, latest_day(timezone.now())) if hand else ()
    days = calendar_file.days_due(due_now, str(row.public_id))
    if not days:
        messages.info(request, "Nothing with a day is still to come, so there is no calendar file.")
        return redirect("plans:due", row.public_id)
    answer = HttpResponse(
        calendar_file.write(days, timezone.now()), content_type="text/calendar; charset=utf-8"
    )
    answer["Content-Disposition"] = 'attachment; filename="due.ics"'
    return answer


def _due_page(
    request: HttpRequest, row: Portfolio, hand: InHand, form: SubmissionDayForm, status: int = 200
) -> HttpResponse:
    due_now = due_page(hand, latest_day(timezone.now()))
    shown = {"portfolio": row, "held": hand.held, "due": due_now, "form": form}
    return render(request, "plans/slots/due.html", shown, status=status)


def _hand(request: HttpRequest, portfolio: UUID) -> tuple[Portfolio, InHand | None]:
    found = held_portfolio(request.user, portfolio)
    if found is None:
        return own(visible_portfolios(request.user), portfolio), None
    return found[0], in_hand(request.user, *found, latest_day(timezone.now()))


def _case(request: HttpRequest, case: UUID) -> Case:
    return own(visible_cases(request.user).select_related("patient__portfolio"), case)


def _of_case(request: HttpRequest, row: Case) -> InHand | None:
    portfolio = row.patient.portfolio
    held = held_plan(request.user, portfolio)
    return in_hand(request.user, portfolio, held, latest_day(timezone.now())) if held else None


def _choice(
    request: HttpRequest, row: Portfolio, hand: InHand, told: str = "", status: int = 200
) -> HttpResponse:
    shown = {
        "portfolio": row,
        "held": hand.held,
        "choice": choice_page(hand),
        "told": told,
        "can_take_back": bool(_taken(request, row)),
    }
    return render(request, "plans/slots/choice.html", shown, status=status)


def _case_page(
    request: HttpRequest, row: Case, hand: InHand, fault: str = "", status: int = 200
) -> HttpResponse:
    shown = {
        "portfolio": row.patient.portfolio,
        "held": hand.held,
        "case": case_reasons(hand, hand.case(row.code)),
        "fault": fault,
        "typed": request.POST.get("reason", ""),
    }
    return render(request, "plans/slots/case.html", shown, status=status)


def _taken(request: HttpRequest, row: Portfolio) -> dict[str, Any]:
    """States before the choice was taken, of this portfolio; empty where there is nothing to take back."""
    try:
        kept = signing.loads(request.session.get(TAKEN_BACK, ""))
    except signing.BadSignature:
        return {}
    return kept["states"] if kept["portfolio"] == str(row.public_id) else {}


def _no_plan(request: HttpRequest, row: Portfolio, heading: str) -> HttpResponse:
    return render(request, "plans/slots/no_plan.html", {"portfolio": row, "heading": heading})
