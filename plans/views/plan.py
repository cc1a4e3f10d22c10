"""One plan: its page, its versions, what differs between two of them, its files; copying it and putting it away."""

import re
import uuid
from uuid import UUID

from django.contrib import messages
from django.http import HttpRequest, HttpResponse
from django.shortcuts import redirect, render
from django.utils import timezone
from django.views.decorators.http import require_POST, require_safe

from accounts.admission import signed_in, signed_in_person
from plans import document, services
from plans.access import visible_plans, visible_versions
from plans.differences import differences
from plans.outline import outline
from plans.plan_file import write_text
from plans.selectors.plans import draft_plan, plan_shown, version_plan
from plans.views.sent import public_id
from portfolio.services import OutOfDate
from portfolio.views.saving import own

DRAFT = "draft"


@signed_in
@require_safe
def plan(request: HttpRequest, plan: UUID) -> HttpResponse:
    """A plan as sentences, slot by slot: its newest version, or the draft while nothing was kept."""
    row = own(visible_plans(request.user), plan)
    shown = plan_shown(request.user, row)
    newest = row.versions.order_by("-number").first()
    reads = outline(version_plan(newest)) if newest else shown.draft
    return render(request, "plans/plan.html", {"plan": shown, "reads": reads, "copy_key": uuid.uuid4()})


@signed_in
@require_safe
def version(request: HttpRequest, version: UUID) -> HttpResponse:
    """A kept version as sentences."""
    row = own(visible_versions(request.user).select_related("plan", "made_by"), version)
    shown = {"version": row, "plan_id": row.plan.public_id, "reads": outline(version_plan(row))}
    return render(request, "plans/version.html", shown)


@signed_in
@require_safe
def version_file(request: HttpRequest, version: UUID) -> HttpResponse:
    """The plan file of a kept version."""
    row = own(visible_versions(request.user), version)
    return _file(version_plan(row), f"-version-{row.number}")


@signed_in
@require_safe
def plan_file(request: HttpRequest, plan: UUID) -> HttpResponse:
    """The plan file of the draft."""
    return _file(draft_plan(own(visible_plans(request.user), plan)), "")


@signed_in
@require_safe
def compare(request: HttpRequest, plan: UUID) -> HttpResponse:
    """What differs between two versions, or between a version and the draft."""
    row = own(visible_plans(request.user), plan)
    versions = {str(one.number): one for one in row.versions.order_by("number")}
    names = [(number, f"version {number}") for number in versions] + [(DRAFT, "the draft")]
    keys = [key for key, _ in names]

    def held(key: str) -> document.Plan:
        return draft_plan(row) if key == DRAFT else version_plan(versions[key])

    # The draft beside the newest version, or the last two versions where the draft has nothing new.
    usual = keys[-2:] if len(keys) > 1 else [DRAFT, DRAFT]
    if len(keys) > 2 and held(keys[-2]) == held(DRAFT):
        usual = keys[-3:-1]
    old, new = (
        asked if (asked := request.GET.get(name, "")) in keys else default
        for name, default in zip(("old", "new"), usual, strict=True)
    )
    shown = {
        "plan_id": row.public_id,
        "plan_name": row.name,
        "names": names,
        "old": old,
        "new": new,
        "old_words": dict(names)[old],
        "new_words": dict(names)[new],
        "differences": differences(held(old), held(new)),
    }
    return render(request, "plans/compare.html", shown)


@signed_in
@require_POST
def plan_copy(request: HttpRequest, plan: UUID) -> HttpResponse:
    """Make a plan of one's own from the draft of another."""
    row = own(visible_plans(request.user), plan)
    try:
        made = services.copy_plan(signed_in_person(request), row, public_id(request, "key") or uuid.uuid4())
    except OutOfDate:
        messages.warning(request, "Not copied: this page was out of date. Press the button once more.")
        return redirect("plans:plan", row.public_id)
    messages.success(request, f"This is the copy, {made.name}. Give it a name of its own.")
    return redirect("plans:editor", made.public_id)


@signed_in
@require_POST
def plan_archive(request: HttpRequest, plan: UUID) -> HttpResponse:
    """Put a plan away; it can be taken out again, and portfolios stay held against it."""
    row = own(visible_plans(request.user), plan)
    services.archive(row, timezone.now())
    messages.success(request, f"{row.name} is put away. It stands at the end of the list of plans.")
    return redirect("plans:plans")


@signed_in
@require_POST
def plan_restore(request: HttpRequest, plan: UUID) -> HttpResponse:
    """Take a plan out of the archive."""
    row = own(visible_plans(request.user), plan)
    services.restore(row)
    messages.success(request, f"{row.name} is among your plans again.")
    return redirect("plans:plan", row.public_id)


def _file(found: document.Plan, tail: str) -> HttpResponse:
    name = re.sub(r"[^a-z0-9]+", "-", found.name.lower()).strip("-")[:60] or "plan"
    answer = HttpResponse(write_text(found), content_type="application/json; charset=utf-8")
    answer.headers["Content-Disposition"] = f'attachment; filename="{name}{tail}.json"'
    return answer
