"""Pages of record sets."""

from typing import Any
from uuid import UUID

from django.contrib import messages
from django.http import HttpRequest, HttpResponse
from django.shortcuts import redirect
from django.views.decorators.debug import sensitive_post_parameters
from django.views.decorators.http import require_http_methods

from accounts.admission import signed_in, signed_in_person
from portfolio import selectors, services
from portfolio.access import visible_cases, visible_record_sets
from portfolio.case_log.answers import read_answers
from portfolio.forms.record_sets import RecordSetForm, stored_record_set
from portfolio.forms.saving import RowForm
from portfolio.models import Case, RecordSet, Stage
from portfolio.views.saving import CHANGED, PRIVATE_FIELDS, form_page, latest_day, own, save_form

TEMPLATE = "portfolio/record_set.html"


@sensitive_post_parameters(*PRIVATE_FIELDS)
@signed_in
@require_http_methods(["GET", "HEAD", "POST"])
def record_set_new(request: HttpRequest, case: UUID) -> HttpResponse:
    """Add the records of one stage to a case."""
    row = _case(request, case)
    context = _named(row)
    if request.method != "POST":
        initial = _first_filled(request, row)
        return form_page(request, TEMPLATE, _form(row, initial=initial), **context)
    form = _form(row, data=request.POST)

    def save() -> HttpResponse:
        by = signed_in_person(request)
        made = services.add_record_set(by, row, form.details(), form.row_key, form.kept)
        label = selectors.stage_label(made.stage, made.ordinal)
        messages.success(request, f"The {label} records are added.")
        _warn(request, _case(request, case))
        return redirect("desk:case", row.public_id)

    answer, status = save_form(form, save)
    return answer or form_page(request, TEMPLATE, form, status, **context)


def _first_filled(request: HttpRequest, case: Case) -> dict[str, Any]:
    """What a new form offers: the stage asked for, and before treatment what the case log says of age and dentition."""
    begun = visible_record_sets(request.user).filter(case=case, stage=Stage.INITIAL).exists()
    asked = request.GET.get("stage", "")
    stage = asked if asked in Stage.values else str(Stage.FINAL if begun else Stage.INITIAL)
    said, _ = read_answers(case.estimate)
    offered: dict[str, Any] = {"stage": stage}
    if stage == Stage.INITIAL and said.age_months:
        offered["age_months"] = int(said.age_months)
    if stage == Stage.INITIAL and said.dentition:
        offered["dentition"] = said.dentition
    return offered


@sensitive_post_parameters(*PRIVATE_FIELDS)
@signed_in
@require_http_methods(["GET", "HEAD", "POST"])
def record_set_edit(request: HttpRequest, record_set: UUID) -> HttpResponse:
    """Change stage, age, dentition, bite or the teeth that stand; findings stay and contradictions are told."""
    row = _record_set(request, record_set)
    case = row.case
    context = {**_named(case), "record_set_id": row.public_id, "label": _label(row)}
    if request.method != "POST":
        return form_page(request, TEMPLATE, _form(case, initial=stored_record_set(row)), **context)
    form = _form(case, data=request.POST, initial={"dentition": row.dentition})

    def save() -> HttpResponse:
        services.edit_record_set(row, form.details(), form.seen_version, form.kept)
        messages.success(request, f"The {selectors.stage_label(row.stage, row.ordinal)} records are saved.")
        _warn(request, _case(request, case.public_id))
        return redirect("desk:case", case.public_id)

    answer, status = save_form(form, save, lambda: stored_record_set(_record_set(request, record_set)))
    return answer or form_page(request, TEMPLATE, form, status, **context)


@signed_in
@require_http_methods(["GET", "HEAD", "POST"])
def record_set_delete(request: HttpRequest, record_set: UUID) -> HttpResponse:
    """Remove a record set with its sheets and their history, after a question."""
    row = _record_set(request, record_set)
    label, status = _label(row), 200
    form = RowForm(request.POST) if request.method == "POST" else RowForm(initial={"version": row.version})
    if request.method == "POST" and form.is_valid():
        try:
            services.remove_record_set(row, form.seen_version)
        except services.ChangedMeanwhile:
            form, status = RowForm(initial={"version": row.version}), CHANGED
        else:
            messages.success(request, f"The {label} records of case {row.case.code} are removed.")
            return redirect("desk:case", row.case.public_id)
    context = {**_named(row.case), "label": label, "record_set_id": row.public_id}
    found = [one for one in selectors.record_set_facts(row.case) if one.public_id == row.public_id]
    return form_page(
        request,
        "portfolio/record_set_delete.html",
        form,
        status,
        findings=found[0].findings if found else 0,
        moved_on=status == CHANGED,
        **context,
    )


def _form(case: Case, data: Any = None, initial: dict[str, Any] | None = None) -> RecordSetForm:
    return RecordSetForm(
        data,
        initial=initial,
        latest=latest_day(),
        notation=case.patient.portfolio.notation,
        kept_birth_date=case.patient.birth_date,
    )


def _warn(request: HttpRequest, case: Case) -> None:
    """Tell contradictions; nothing is changed because of them. They name stages and ages, never dates."""
    for words in selectors.case_warnings(case, latest_day()):
        messages.warning(request, words)


def _case(request: HttpRequest, public_id: UUID) -> Case:
    return own(visible_cases(request.user).select_related("patient__portfolio"), public_id)


def _record_set(request: HttpRequest, public_id: UUID) -> RecordSet:
    return own(visible_record_sets(request.user).select_related("case__patient__portfolio"), public_id)


def _label(row: RecordSet) -> str:
    return selectors.stage_label(row.stage, row.ordinal)


def _named(case: Case) -> dict[str, Any]:
    return {"case_id": case.public_id, "case_code": case.code, "patient_id": case.patient.public_id}
