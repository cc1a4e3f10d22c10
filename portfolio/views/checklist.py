"""Pages of the record checklist: all stages of a case at once, and one stage to fill in."""

from uuid import UUID

from django.contrib import messages
from django.http import HttpRequest, HttpResponse
from django.shortcuts import redirect, render
from django.views.decorators.debug import sensitive_post_parameters
from django.views.decorators.http import require_http_methods, require_safe

from accounts.admission import signed_in
from portfolio.access import visible_cases, visible_record_sets
from portfolio.forms.checklist import RecordStatesForm
from portfolio.models import RecordSet
from portfolio.selectors import checklist, record_states, stage_label
from portfolio.services.record_states import StatedMeanwhile, state_records
from portfolio.views.saving import CHANGED, REFUSED, own


@signed_in
@require_safe
def case_records(request: HttpRequest, case: UUID) -> HttpResponse:
    """The records of a case by stage, with what is told of each."""
    row = own(visible_cases(request.user), case)
    context = {"case_id": row.public_id, "case_code": row.code, "page": checklist(request.user, row)}
    return render(request, "portfolio/case_records.html", context)


@sensitive_post_parameters()
@signed_in
@require_http_methods(["GET", "HEAD", "POST"])
def stage_records(request: HttpRequest, record_set: UUID) -> HttpResponse:
    """State of the records of one stage: where casts and papers lie, what was not taken and why."""
    row = own(visible_record_sets(request.user).select_related("case"), record_set)
    states = record_states(request.user, row)
    if request.method != "POST":
        return _stage_page(request, row, RecordStatesForm(states=states))
    form = RecordStatesForm(request.POST, states=states)
    if not form.is_valid():
        return _stage_page(request, row, form, REFUSED)
    try:
        changed = state_records(row, form.stated(), form.seen())
    except StatedMeanwhile as late:
        form.tell_late(late.keys, record_states(request.user, row))
        return _stage_page(request, row, form, CHANGED)
    label = stage_label(row.stage, row.ordinal)
    told = f"{changed} record{'' if changed == 1 else 's'}" if changed else "nothing changed"
    messages.success(request, f"The {label} records are saved: {told}.")
    return redirect("portfolio:case_records", row.case.public_id)


def _stage_page(
    request: HttpRequest, row: RecordSet, form: RecordStatesForm, status: int = 200
) -> HttpResponse:
    context = {
        "form": form,
        "case_id": row.case.public_id,
        "case_code": row.case.code,
        "record_set_id": row.public_id,
        "label": stage_label(row.stage, row.ordinal),
        "stage": row.stage,
        "ordinal": row.ordinal,
    }
    return render(request, "portfolio/stage_records.html", context, status=status)
