"""Pages of coded patients and their consents."""

from typing import Any
from uuid import UUID

from django.contrib import messages
from django.http import HttpRequest, HttpResponse
from django.shortcuts import redirect, render
from django.utils import timezone
from django.views.decorators.debug import sensitive_post_parameters
from django.views.decorators.http import require_http_methods, require_safe

from accounts import kept_searches
from accounts.admission import signed_in, signed_in_person
from portfolio import selectors, services
from portfolio.access import visible_consents, visible_patients, visible_portfolios
from portfolio.forms.patients import (
    ConsentForm,
    PatientForm,
    WithdrawalForm,
    stored_consent,
    stored_patient,
    stored_withdrawal,
)
from portfolio.models import Consent, Patient
from portfolio.views.saving import PRIVATE_FIELDS, form_page, latest_day, own, save_form


@signed_in
@require_safe
def patients(request: HttpRequest, portfolio: UUID) -> HttpResponse:
    """The coded patients of a portfolio, searched."""
    row = own(visible_portfolios(request.user), portfolio)
    key, search = kept_searches.searched(request)
    page, rows = selectors.patient_list(request.user, row, search, request.GET.get("page", "1"))
    context = {
        "portfolio_id": row.public_id,
        "page": page,
        "patients": rows,
        "search": search,
        "search_key": key,
    }
    return render(request, "portfolio/patients.html", context)


@signed_in
@require_safe
def patient(request: HttpRequest, patient: UUID) -> HttpResponse:
    """One coded patient: private layer, cases, consents."""
    row = _patient(request, patient)
    facts = selectors.patient_facts(row, latest_day())
    return render(
        request, "portfolio/patient.html", {"patient": facts, "portfolio_id": row.portfolio.public_id}
    )


@sensitive_post_parameters(*PRIVATE_FIELDS)
@signed_in
@require_http_methods(["GET", "HEAD", "POST"])
def patient_new(request: HttpRequest, portfolio: UUID) -> HttpResponse:
    """Make a coded patient with a random code."""
    row = own(visible_portfolios(request.user), portfolio)
    template = "portfolio/patient_new.html"
    context: dict[str, Any] = {"portfolio_id": row.public_id}
    if request.method != "POST":
        return form_page(request, template, PatientForm(latest=latest_day()), **context)
    form = PatientForm(request.POST, latest=latest_day())

    def save() -> HttpResponse:
        by = signed_in_person(request)
        made = services.create_patient(by, row, form.details(), public_id=form.row_key)
        messages.success(request, f"The coded patient {made.code} is made.")
        return redirect("portfolio:patient", made.public_id)

    answer, status = save_form(form, save)
    return answer or form_page(request, template, form, status, **context)


@sensitive_post_parameters(*PRIVATE_FIELDS)
@signed_in
@require_http_methods(["GET", "HEAD", "POST"])
def patient_edit(request: HttpRequest, patient: UUID) -> HttpResponse:
    """Change sex, locator or the kept birth date of a coded patient."""
    row = _patient(request, patient)
    template, context = "portfolio/patient_edit.html", _named(row)
    if request.method != "POST":
        form = PatientForm(initial=stored_patient(row), latest=latest_day())
        return form_page(request, template, form, **context)
    form = PatientForm(request.POST, latest=latest_day())

    def save() -> HttpResponse:
        services.edit_patient(row, form.details(), form.seen_version)
        messages.success(request, f"The coded patient {row.code} is saved.")
        return redirect("portfolio:patient", row.public_id)

    answer, status = save_form(form, save, lambda: stored_patient(_patient(request, patient)))
    return answer or form_page(request, template, form, status, **context)


@signed_in
@require_http_methods(["GET", "HEAD", "POST"])
def patient_delete(request: HttpRequest, patient: UUID) -> HttpResponse:
    """Remove a coded patient who has no cases, after a question."""
    row = _patient(request, patient)
    if request.method == "POST":
        try:
            services.remove_patient(row)
        except services.StillHasCases:
            messages.error(request, f"{row.code} still has cases; erase them first, the deleted ones too.")
            return redirect("portfolio:patient", row.public_id)
        messages.success(request, f"The coded patient {row.code} is removed, with the consents.")
        return redirect("portfolio:patients", row.portfolio.public_id)
    facts = selectors.patient_facts(row, latest_day())
    return render(request, "portfolio/patient_delete.html", {"patient": facts, **_named(row)})


@sensitive_post_parameters(*PRIVATE_FIELDS)
@signed_in
@require_http_methods(["GET", "HEAD", "POST"])
def consent_new(request: HttpRequest, patient: UUID) -> HttpResponse:
    """Note that a consent was signed."""
    row = _patient(request, patient)
    if request.method != "POST":
        return form_page(request, "portfolio/consent.html", ConsentForm(latest=latest_day()), **_named(row))
    form = ConsentForm(request.POST, latest=latest_day())

    def save() -> HttpResponse:
        services.add_consent(signed_in_person(request), row, form.details(), form.row_key)
        messages.success(request, f"The consent of {row.code} is recorded.")
        return redirect("portfolio:patient", row.public_id)

    answer, status = save_form(form, save)
    return answer or form_page(request, "portfolio/consent.html", form, status, **_named(row))


@sensitive_post_parameters(*PRIVATE_FIELDS)
@signed_in
@require_http_methods(["GET", "HEAD", "POST"])
def consent_edit(request: HttpRequest, consent: UUID) -> HttpResponse:
    """Correct what was noted of a consent."""
    row = _consent(request, consent)
    context = {**_named(row.patient), "consent_id": row.public_id}
    if request.method != "POST":
        form = ConsentForm(initial=stored_consent(row), latest=latest_day())
        return form_page(request, "portfolio/consent.html", form, **context)
    form = ConsentForm(request.POST, latest=latest_day())

    def save() -> HttpResponse:
        removed = services.edit_consent(row, form.details(), form.seen_version, timezone.now())
        messages.success(request, f"The consent of {row.patient.code} is saved.{_removed_words(removed)}")
        return redirect("portfolio:patient", row.patient.public_id)

    answer, status = save_form(form, save, lambda: stored_consent(_consent(request, consent)))
    return answer or form_page(request, "portfolio/consent.html", form, status, **context)


@sensitive_post_parameters(*PRIVATE_FIELDS)
@signed_in
@require_http_methods(["GET", "HEAD", "POST"])
def consent_withdraw(request: HttpRequest, consent: UUID) -> HttpResponse:
    """Note the day a consent was withdrawn, or take that note back."""
    row = _consent(request, consent)
    template, context = "portfolio/consent_withdraw.html", _named(row.patient)
    days = {"latest": latest_day(), "signed_on": row.signed_on}
    if request.method != "POST":
        form = WithdrawalForm(initial=stored_withdrawal(row), **days)
        return form_page(request, template, form, **context)
    form = WithdrawalForm(request.POST, **days)

    def save() -> HttpResponse:
        day = form.cleaned_data["withdrawn_on"]
        removed = services.withdraw_consent(row, day, form.seen_version, timezone.now())
        withdrawn = day is not None
        words = "The withdrawal is noted." if withdrawn else "The consent stands as not withdrawn."
        messages.success(request, words + _removed_words(removed))
        return redirect("portfolio:patient", row.patient.public_id)

    answer, status = save_form(form, save, lambda: stored_withdrawal(_consent(request, consent)))
    return answer or form_page(request, template, form, status, **context)


def _removed_words(removed: int) -> str:
    """What became of finished prints that no consent covers any more."""
    if not removed:
        return ""
    prints = "1 finished print" if removed == 1 else f"{removed} finished prints"
    return f" {prints} with photographs of the face can no longer be fetched here."


def _patient(request: HttpRequest, public_id: UUID) -> Patient:
    return own(visible_patients(request.user).select_related("portfolio"), public_id)


def _consent(request: HttpRequest, public_id: UUID) -> Consent:
    return own(visible_consents(request.user).select_related("patient__portfolio"), public_id)


def _named(row: Patient) -> dict[str, Any]:
    return {
        "patient_id": row.public_id,
        "patient_code": row.code,
        "portfolio_id": row.portfolio.public_id,
    }
