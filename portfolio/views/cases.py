"""Pages of cases: start, change, delete, restore, erase."""

from typing import Any
from uuid import UUID

from django.contrib import messages
from django.http import Http404, HttpRequest, HttpResponse
from django.shortcuts import redirect, render
from django.urls import reverse
from django.utils import timezone
from django.views.decorators.debug import sensitive_post_parameters
from django.views.decorators.http import require_http_methods, require_POST, require_safe

from accounts.admission import signed_in, signed_in_person
from portfolio import access, selectors, services
from portfolio.forms.cases import CaseForm, CaseStartForm, ErasureForm, stored_case
from portfolio.models import Case, Portfolio
from portfolio.services.retention import KEPT_AFTER_DELETION
from portfolio.views.saving import PRIVATE_FIELDS, REFUSED, form_page, latest_day, own, save_form

DELETE_WORDS = (
    "It goes to the deleted cases with all its records and measurements, and can be restored from there for {days} "
    "days. Then it is erased for good, with its pictures and prints."
)


@sensitive_post_parameters(*PRIVATE_FIELDS)
@signed_in
@require_http_methods(["GET", "HEAD", "POST"])
def case_new(request: HttpRequest) -> HttpResponse:
    """Start a case with code, stage and age; `?portfolio=` and `?patient=` choose where and for whom."""
    by = signed_in_person(request)
    portfolios = access.visible_portfolios(by).order_by("-pk")
    if not portfolios:
        return redirect("portfolio:portfolio_new")
    portfolio = _chosen(request, portfolios[0])
    patients = access.visible_patients(by).filter(portfolio=portfolio).order_by("code")
    context: dict[str, Any] = {
        "action": f"{reverse('portfolio:case_new')}?portfolio={portfolio.public_id}",
        "portfolio_name": portfolio.name,
        "others": [(one.public_id, one.name) for one in portfolios if one != portfolio],
    }
    if request.method != "POST":
        initial = {"patient": request.GET.get("patient", "")}
        form = CaseStartForm(initial=initial, patients=patients, latest=latest_day())
        return form_page(request, "portfolio/case_new.html", form, **context)
    form = CaseStartForm(request.POST, patients=patients, latest=latest_day())

    def save() -> HttpResponse:
        case = services.create_case(by, portfolio, form.start(), form.row_key)
        messages.success(
            request,
            f"Case {case.code} is started. Its dentition is taken as permanent with the usual 28 teeth until you "
            "say otherwise.",
        )
        return redirect("desk:case", case.public_id)

    answer, status = save_form(form, save)
    return answer or form_page(request, "portfolio/case_new.html", form, status, **context)


@sensitive_post_parameters(*PRIVATE_FIELDS)
@signed_in
@require_http_methods(["GET", "HEAD", "POST"])
def case_edit(request: HttpRequest, case: UUID) -> HttpResponse:
    """Change state and note of a case."""
    row = _case(request, case)
    context: dict[str, Any] = {
        "case_id": row.public_id,
        "case_code": row.code,
        "patient_id": row.patient.public_id,
    }
    if request.method != "POST":
        return form_page(request, "portfolio/case_edit.html", CaseForm(initial=stored_case(row)), **context)
    form = CaseForm(request.POST)

    def save() -> HttpResponse:
        cleaned = form.cleaned_data
        services.edit_case(row, state=cleaned["state"], note=cleaned["note"], seen_version=form.seen_version)
        messages.success(request, f"Case {row.code} is saved.")
        return redirect("desk:case", row.public_id)

    answer, status = save_form(form, save, lambda: stored_case(_case(request, case)))
    return answer or form_page(request, "portfolio/case_edit.html", form, status, **context)


@signed_in
@require_http_methods(["GET", "HEAD", "POST"])
def case_delete(request: HttpRequest, case: UUID) -> HttpResponse:
    """Put a case among the deleted ones, after a question."""
    row = _case(request, case)
    portfolio_id = row.patient.portfolio.public_id
    if request.method == "POST":
        services.delete_case(row, timezone.now())
        messages.success(request, f"Case {row.code} is deleted. It can be restored here.")
        return redirect("portfolio:deleted_cases", portfolio_id)
    context = {
        "case_id": row.public_id,
        "case_code": row.code,
        "portfolio_id": portfolio_id,
        "text": DELETE_WORDS.format(days=KEPT_AFTER_DELETION.days),
    }
    return render(request, "portfolio/case_delete.html", context)


@signed_in
@require_safe
def deleted_cases(request: HttpRequest, portfolio: UUID) -> HttpResponse:
    """The deleted cases of a portfolio, to restore or to erase."""
    row = own(access.visible_portfolios(request.user), portfolio)
    cases = selectors.deleted_list(request.user, row)
    return render(request, "portfolio/deleted_cases.html", {"portfolio_id": row.public_id, "cases": cases})


@signed_in
@require_POST
def case_restore(request: HttpRequest, case: UUID) -> HttpResponse:
    """Bring a deleted case back."""
    row = own(access.deleted_cases(request.user), case)
    services.restore_case(row)
    messages.success(request, f"Case {row.code} is back.")
    return redirect("desk:case", row.public_id)


@signed_in
@require_http_methods(["GET", "HEAD", "POST"])
def case_erase(request: HttpRequest, case: UUID) -> HttpResponse:
    """Erase a deleted case for good; its code is typed to confirm."""
    row = own(access.deleted_cases(request.user).select_related("patient__portfolio"), case)
    portfolio_id = row.patient.portfolio.public_id
    form, status = ErasureForm(request.POST or None), 200
    if request.method == "POST":
        status = REFUSED
        if form.is_valid():
            try:
                services.erase_case(row, form.cleaned_data["code"])
            except services.WrongCode:
                form.add_error("code", f"This is not the code of the case, {row.code}. Nothing was erased.")
            else:
                messages.success(request, f"Case {row.code} is erased.")
                return redirect("portfolio:deleted_cases", portfolio_id)
    context = {
        "form": form,
        "case_id": row.public_id,
        "case_code": row.code,
        "portfolio_id": portfolio_id,
        "stages": [one.label for one in selectors.record_set_facts(row)],
    }
    return render(request, "portfolio/case_erase.html", context, status=status)


def _case(request: HttpRequest, public_id: UUID) -> Case:
    return own(access.visible_cases(request.user).select_related("patient__portfolio"), public_id)


def _chosen(request: HttpRequest, usual: Portfolio) -> Portfolio:
    asked = request.GET.get("portfolio")
    if not asked:
        return usual
    try:
        return own(access.visible_portfolios(request.user), UUID(asked))
    except ValueError as fault:
        raise Http404 from fault
