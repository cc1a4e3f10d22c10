"""The list of plans, and the ways to a new one: from nothing, from a shipped plan, from a file."""

import uuid
from typing import Any

from django.contrib import messages
from django.http import Http404, HttpRequest, HttpResponse
from django.shortcuts import redirect, render
from django.utils import timezone
from django.views.decorators.http import require_http_methods, require_safe

from accounts.admission import signed_in, signed_in_person
from plans import services
from plans.document import Plan
from plans.forms.plans import NewPlanForm, PlanConfirmForm, PlanFileForm
from plans.outline import outline
from plans.plan_file import PlanRefused, read_text, write_text
from plans.selectors.plans import plan_lines
from plans.shipped import shipped as shipped_plans
from plans.views.sent import public_id
from portfolio.services import OutOfDate
from portfolio.views.saving import CHANGED, REFUSED, form_page, save_form

LIST, IMPORT = "plans/plans.html", "plans/import.html"


@signed_in
@require_safe
def plans(request: HttpRequest) -> HttpResponse:
    """The person's plans, and the shipped ones to begin from."""
    return render(
        request,
        LIST,
        {
            "lines": plan_lines(request.user),
            "archived": plan_lines(request.user, archived=True),
            "shipped": [
                {"key": key, "name": plan.name, "about": plan.about, "slots": len(plan.slots)}
                for key, plan in shipped_plans().items()
            ],
        },
    )


@signed_in
@require_http_methods(["GET", "HEAD", "POST"])
def plan_new(request: HttpRequest) -> HttpResponse:
    """Begin a plan with a name and a number of slots."""
    if request.method != "POST":
        return form_page(request, "plans/new.html", NewPlanForm())
    form = NewPlanForm(request.POST)

    def save() -> HttpResponse:
        row = services.make_plan(signed_in_person(request), form.plan(), form.row_key)
        messages.success(request, f"The plan {row.name} is begun. Say now what each slot asks for.")
        return redirect("plans:editor", row.public_id)

    answer, status = save_form(form, save)
    return answer or form_page(request, "plans/new.html", form, status)


@signed_in
@require_http_methods(["GET", "HEAD", "POST"])
def shipped(request: HttpRequest, shipped: str) -> HttpResponse:
    """A shipped plan in sentences; sent, it is copied to the person's own plans."""
    plan = shipped_plans().get(shipped)
    if plan is None:
        raise Http404
    if request.method != "POST":
        shown = {"key": shipped, "plan": outline(plan), "row_key": uuid.uuid4()}
        return render(request, "plans/shipped.html", shown)
    key = public_id(request, "key") or uuid.uuid4()
    try:
        row = services.make_shipped(signed_in_person(request), plan, shipped, key, timezone.now())
    except OutOfDate:
        messages.warning(request, "Not copied: this page was out of date. Press the button once more.")
        return redirect("plans:shipped", shipped)
    messages.success(request, f"{row.name} is copied to your plans, with its first version.")
    return redirect("plans:plan", row.public_id)


@signed_in
@require_http_methods(["GET", "HEAD", "POST"])
def plan_import(request: HttpRequest) -> HttpResponse:
    """Choose a plan file, read it as sentences, and take it in; nothing is saved before that."""
    if request.method != "POST":
        return _import_page(request, form=PlanFileForm())
    if "text" in request.POST:
        return _confirmed(request)
    form = PlanFileForm(request.POST, request.FILES)
    if not form.is_valid():
        return _import_page(request, REFUSED, form=form)
    file = form.cleaned_data["file"]
    try:
        plan = read_text(file.read().decode("utf-8-sig"))
    except UnicodeDecodeError:
        form.add_error("file", "This is not a text file in UTF-8. Take the plan file as it was downloaded.")
        return _import_page(request, REFUSED, form=form)
    except PlanRefused as refusal:
        return _import_page(request, REFUSED, form=PlanFileForm(), faults=refusal.faults, file_name=file.name)
    return _preview(request, plan, file_name=file.name)


def _confirmed(request: HttpRequest) -> HttpResponse:
    form = PlanConfirmForm(request.POST)
    if not form.is_valid():
        messages.error(request, "The preview is out of date. Choose the file again.")
        return redirect("plans:import")
    try:
        plan = read_text(form.cleaned_data["text"])
    except PlanRefused as refusal:
        return _import_page(request, REFUSED, form=PlanFileForm(), faults=refusal.faults)
    try:
        row = services.make_plan(signed_in_person(request), plan, form.cleaned_data["key"], "file")
    except OutOfDate:
        return _preview(request, plan, CHANGED)
    messages.success(
        request, f"{row.name} is among your plans. Keep a version to hold a portfolio against it."
    )
    return redirect("plans:plan", row.public_id)


def _preview(request: HttpRequest, plan: Plan, status: int = 200, **context: Any) -> HttpResponse:
    confirm = PlanConfirmForm.for_preview(write_text(plan))
    return _import_page(request, status, form=PlanFileForm(), plan=outline(plan), confirm=confirm, **context)


def _import_page(request: HttpRequest, status: int = 200, **context: Any) -> HttpResponse:
    return render(request, IMPORT, context, status=status)
