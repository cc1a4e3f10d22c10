"""The plan that a portfolio is held against: chosen, moved to another version by a look and a click, let go."""

from uuid import UUID

from django.contrib import messages
from django.http import HttpRequest, HttpResponse
from django.shortcuts import redirect, render
from django.utils import timezone
from django.views.decorators.http import require_http_methods, require_safe

from accounts.admission import signed_in, signed_in_person
from plans import services
from plans.access import visible_versions
from plans.models import PlanVersion
from plans.outline import outline
from plans.selectors import held_plan
from plans.selectors.choosing import move, plan_choices
from plans.shipped import shipped as shipped_plans
from plans.views.sent import public_id
from portfolio.access import visible_portfolios
from portfolio.models import Portfolio
from portfolio.services.saving import ChangedMeanwhile
from portfolio.views.saving import CHANGED, own

OTHER_WINDOW = (
    "Not done: another plan or version was chosen in another window meanwhile. Here it is as it stands now."
)


@signed_in
@require_safe
def portfolio_plan(request: HttpRequest, portfolio: UUID) -> HttpResponse:
    """What the portfolio is held against in sentences, whether a later version is there, and what else may be chosen."""
    row = own(visible_portfolios(request.user), portfolio)
    held = held_plan(request.user, row)
    context = {
        "portfolio": row,
        "held": held,
        "reads": outline(held.plan, row.notation) if held else None,
        "choices": plan_choices(request.user, held),
        "shipped": [{"key": key, "name": plan.name} for key, plan in shipped_plans().items()],
    }
    return render(request, "plans/portfolio_plan.html", context)


@signed_in
@require_http_methods(["GET", "HEAD", "POST"])
def move_to(request: HttpRequest, portfolio: UUID, version: UUID) -> HttpResponse:
    """What changes if the portfolio moves to this version; sent, it moves."""
    row = own(visible_portfolios(request.user), portfolio)
    wanted = own(visible_versions(request.user).select_related("plan"), version)
    if request.method != "POST":
        return _move_page(request, row, wanted)
    by, seen = signed_in_person(request), public_id(request, "seen")
    try:
        let_go = services.choose_version(by, row, wanted, seen, timezone.now())
    except ChangedMeanwhile:
        return _move_page(request, row, wanted, CHANGED)
    words = f"{row.name} is held against {wanted.plan.name}, version {wanted.number}."
    if let_go:
        words += f" {let_go} fixed case{'s are' if let_go > 1 else ' is'} not fixed any more."
    messages.success(request, words)
    return redirect("plans:portfolio_plan", row.public_id)


@signed_in
@require_http_methods(["GET", "HEAD", "POST"])
def no_plan(request: HttpRequest, portfolio: UUID) -> HttpResponse:
    """Ask, and let go of the plan."""
    row = own(visible_portfolios(request.user), portfolio)
    held = held_plan(request.user, row)
    if request.method != "POST":
        if held is None:
            return redirect("plans:portfolio_plan", row.public_id)
        return render(request, "plans/no_plan.html", {"portfolio": row, "held": held})
    try:
        services.take_no_plan(row, public_id(request, "seen"))
    except ChangedMeanwhile:
        messages.warning(request, OTHER_WINDOW)
    else:
        messages.success(request, f"{row.name} is held against no plan now.")
    return redirect("plans:portfolio_plan", row.public_id)


def _move_page(request: HttpRequest, row: Portfolio, wanted: PlanVersion, status: int = 200) -> HttpResponse:
    held = held_plan(request.user, row)
    plan, changes = move(request.user, held, wanted)
    context = {
        "portfolio": row,
        "held": held,
        "wanted": wanted,
        "same_plan": bool(held and held.plan_id == wanted.plan.public_id),
        "already": bool(held and held.version_id == wanted.public_id),
        "move": changes,
        "reads": outline(plan, row.notation),
        "told_changed": status == CHANGED,
    }
    return render(request, "plans/move.html", context, status=status)
