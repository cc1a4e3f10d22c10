"""Pages of the course of a case: its events, what follows from them, and what is stated about the case."""

from typing import Any
from uuid import UUID

from django.contrib import messages
from django.http import HttpRequest, HttpResponse
from django.shortcuts import redirect, render
from django.utils import timezone
from django.views.decorators.debug import sensitive_post_parameters
from django.views.decorators.http import require_http_methods, require_POST

from accounts.admission import signed_in, signed_in_person
from portfolio.access import visible_cases
from portfolio.forms.saving import RowForm
from portfolio.forms.treatment import (
    EventForm,
    SeveralEventsForm,
    StatementsForm,
    event_words,
    stored_event,
    stored_statements,
    with_more_rows,
)
from portfolio.models import Case, TreatmentEvent
from portfolio.selectors import course_page
from portfolio.services import ChangedMeanwhile, OutOfDate
from portfolio.treatment import services
from portfolio.treatment.access import removed_events, visible_events
from portfolio.views.saving import CHANGED, REFUSED, form_page, latest_day, own, save_form


@sensitive_post_parameters()
@signed_in
@require_http_methods(["GET", "HEAD", "POST"])
def treatment(request: HttpRequest, case: UUID) -> HttpResponse:
    """The course of a case: what follows from its events, the events, rows to add several, statements."""
    row = _case(request, case)
    if request.method != "POST":
        return _page(request, row)
    if "more" in request.POST:
        return _page(request, row, several=with_more_rows(request.POST, **_asked(row)))
    form = SeveralEventsForm(request.POST, **_asked(row))
    if not form.is_valid():
        return _page(request, row, several=form, status=REFUSED)
    try:
        made = services.add_events(signed_in_person(request), row, form.events(), form.cleaned_data["key"])
    except OutOfDate:
        form.add_error(
            None, "This form is out of date. Open the page again; what you typed still stands here."
        )
        return _page(request, row, several=form, status=CHANGED)
    count = len(made)
    messages.success(request, f"{count} event{'' if count == 1 else 's'} of case {row.code} saved.")
    return redirect("portfolio:treatment", row.public_id)


@sensitive_post_parameters()
@signed_in
@require_POST
def statements(request: HttpRequest, case: UUID) -> HttpResponse:
    """Keep what is stated about a case as a whole."""
    row = _case(request, case)
    form = StatementsForm(request.POST)

    def save() -> HttpResponse:
        stated = {name: form.cleaned_data[name] for name in services.STATEMENTS}
        services.save_statements(row, stated, form.cleaned_data["note"], form.seen_version)
        messages.success(request, f"The statements about case {row.code} are saved.")
        return redirect("portfolio:treatment", row.public_id)

    def stored() -> dict[str, Any]:
        return stored_statements(course_page(_case(request, case), latest_day()).statements)

    answer, status = save_form(form, save, stored)
    return answer or _page(request, row, stating=form, status=status)


@sensitive_post_parameters()
@signed_in
@require_http_methods(["GET", "HEAD", "POST"])
def event_edit(request: HttpRequest, event: UUID) -> HttpResponse:
    """Change one event."""
    row = _event(request, event)
    case = row.case
    asked: dict[str, Any] = {key: value for key, value in _asked(case).items() if key != "hand"}
    context = {**_named(case), "event_id": row.public_id, "event_words": event_words(row)}
    if request.method != "POST":
        form = EventForm(initial=stored_event(row, asked["notation"], typed=True), **asked)
        return form_page(request, "portfolio/treatment_event.html", form, **context)
    form = EventForm(request.POST, **asked)

    def save() -> HttpResponse:
        services.edit_event(row, form.event(), form.seen_version)
        messages.success(request, f"{event_words(row)}: saved.")
        return redirect("portfolio:treatment", case.public_id)

    def stored() -> dict[str, Any]:
        return stored_event(_event(request, event), asked["notation"], typed=False)

    answer, status = save_form(form, save, stored)
    return answer or form_page(request, "portfolio/treatment_event.html", form, status, **context)


@signed_in
@require_POST
def event_remove(request: HttpRequest, event: UUID) -> HttpResponse:
    """Take an event out of the course; it can be put back."""
    row = _event(request, event)
    form = RowForm(request.POST)
    try:
        if not form.is_valid():
            raise ChangedMeanwhile
        services.remove_event(row, timezone.now(), form.seen_version)
    except ChangedMeanwhile:
        messages.warning(
            request, f"{event_words(row)} was changed in another window meanwhile; it was not removed."
        )
    else:
        messages.success(request, f"{event_words(row)}: removed. It can be put back under “Removed events”.")
    return redirect("portfolio:treatment", row.case.public_id)


@signed_in
@require_POST
def event_put_back(request: HttpRequest, event: UUID) -> HttpResponse:
    """Put a removed event back."""
    row = _removed(request, event)
    services.put_back(row)
    messages.success(request, f"{event_words(row)}: put back.")
    return redirect("portfolio:treatment", row.case.public_id)


@signed_in
@require_http_methods(["GET", "HEAD", "POST"])
def event_erase(request: HttpRequest, event: UUID) -> HttpResponse:
    """Erase a removed event for good, after a question."""
    row = _removed(request, event)
    if request.method != "POST":
        context = {**_named(row.case), "event_id": row.public_id, "event_words": event_words(row)}
        return render(request, "portfolio/treatment_event_erase.html", context)
    services.erase_event(row)
    messages.success(request, f"{event_words(row)}: erased for good.")
    return redirect("portfolio:treatment", row.case.public_id)


def _page(
    request: HttpRequest,
    case: Case,
    *,
    several: SeveralEventsForm | None = None,
    stating: StatementsForm | None = None,
    status: int = 200,
) -> HttpResponse:
    page = course_page(case, latest_day())
    asked = _asked(case)
    context = {
        **_named(case),
        "page": page,
        "several": several or SeveralEventsForm(**(asked | {"hand": page.hand})),
        "stating": stating or StatementsForm(initial=stored_statements(page.statements)),
    }
    return render(request, "portfolio/treatment.html", context, status=status)


def _asked(case: Case) -> dict[str, Any]:
    """What the forms of events need to know of the case."""
    patient = case.patient
    return {
        "notation": patient.portfolio.notation,
        "latest": latest_day(),
        "birth_date": patient.birth_date,
        "hand": "",
    }


def _case(request: HttpRequest, public_id: UUID) -> Case:
    return own(visible_cases(request.user).select_related("patient__portfolio"), public_id)


def _event(request: HttpRequest, public_id: UUID) -> TreatmentEvent:
    return own(visible_events(request.user).select_related("case__patient__portfolio"), public_id)


def _removed(request: HttpRequest, public_id: UUID) -> TreatmentEvent:
    return own(removed_events(request.user).select_related("case__patient__portfolio"), public_id)


def _named(case: Case) -> dict[str, Any]:
    return {"case_id": case.public_id, "case_code": case.code}
