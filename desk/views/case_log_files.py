"""Files of the case log: a table imported after a preview, imports taken back, the log and an empty table to take away."""

import uuid
from typing import Any
from uuid import UUID

from django.contrib import messages
from django.http import HttpRequest, HttpResponse
from django.shortcuts import redirect, render
from django.template.defaultfilters import pluralize
from django.urls import reverse
from django.utils import timezone
from django.views.decorators.http import require_http_methods, require_POST, require_safe

from accounts.admission import signed_in, signed_in_person
from desk.case_log import export
from desk.case_log.preview import digest, preview
from desk.case_log.rows import reading_of
from desk.case_log.table_file import COLUMNS, Asked
from desk.forms.case_log_import import DecisionForm, TableForm, UndoForm
from desk.repeats.shut import SHUT_WORDS, open_cases
from desk.views.case_log import portfolio_or_404
from portfolio.access import visible_cases
from portfolio.case_log import services
from portfolio.case_log.selectors import imports, touches
from portfolio.models import Portfolio
from portfolio.views.answering import REFUSED

TEMPLATE = "desk/case_log/import.html"
CSV = "text/csv; charset=utf-8"


@signed_in
@require_http_methods(["GET", "HEAD", "POST"])
def case_log_import(request: HttpRequest, portfolio: UUID) -> HttpResponse:
    """Send a table, see what it would do, decide what is doubtful, and import it; nothing is saved before that."""
    row = portfolio_or_404(request, portfolio)
    if request.method != "POST":
        return _page(request, row, form=TableForm())
    if "content" in request.POST:
        return _decided(request, row)
    form = TableForm(request.POST, request.FILES)
    if not form.is_valid():
        return _page(request, row, REFUSED, form=form)
    pasted = form.cleaned_data["text"]
    return _previewed(request, row, form.content(), Asked(), form=TableForm(initial={"text": pasted}))


@signed_in
@require_POST
def case_log_import_undo(request: HttpRequest, portfolio: UUID) -> HttpResponse:
    """Take one import back as a whole."""
    row = portfolio_or_404(request, portfolio)
    form, by = UndoForm(request.POST), signed_in_person(request)
    back = redirect("desk:case_log_import", row.public_id)
    if not form.is_valid():
        messages.error(request, "This page is out of date; look at the imports again.")
        return back
    number = form.cleaned_data["number"]
    if touches(by, row, number, open_cases(by)):
        messages.error(request, f"A case of this import is {SHUT_WORDS}; nothing was taken back.")
        return back
    answer = services.undo(by, row, number, str(form.cleaned_data["key"]), timezone.now())
    if isinstance(answer, services.Refused):
        messages.error(request, " ".join(answer.faults.values()))
    else:
        messages.success(request, answer.words)
    return back


@signed_in
@require_safe
def case_log_csv(request: HttpRequest, portfolio: UUID) -> HttpResponse:
    """The whole log as CSV; cases that are being measured again are left out."""
    row = portfolio_or_404(request, portfolio)
    cases = (
        visible_cases(request.user).filter(patient__portfolio=row).exclude(pk__in=open_cases(request.user))
    )
    return _download(export.csv_text(cases.order_by("pk"), reading_of(row)), "case-log.csv")


@signed_in
@require_safe
def case_log_template(request: HttpRequest, portfolio: UUID) -> HttpResponse:
    """A table with the heading alone."""
    portfolio_or_404(request, portfolio)
    return _download(export.template(), "case-log-empty.csv")


def _download(text: str, name: str) -> HttpResponse:
    answer = HttpResponse(text, content_type=CSV)
    answer["Content-Disposition"] = f'attachment; filename="{name}"'
    return answer


def _decided(request: HttpRequest, row: Portfolio) -> HttpResponse:
    form = DecisionForm(request.POST)
    if not form.is_valid():
        messages.error(request, "The preview is out of date. Send the table again.")
        return redirect("desk:case_log_import", row.public_id)
    content, asked = form.cleaned_data["content"], form.asked
    if not form.cleaned_data["confirmed"]:
        return _previewed(request, row, content, asked)
    reading = reading_of(row)
    found = preview(request.user, row, content, asked, reading)
    if found.again:
        messages.info(request, "This table is in the log already; nothing was imported a second time.")
        return redirect("desk:case_log", row.public_id)
    if found.file.unknown and not form.cleaned_data["leave_out"]:
        fault = "Say that these columns are left out, or take them out of the file."
        return _previewed(request, row, content, asked, REFUSED, leave_out_fault=fault)
    if not found.can_import:
        return _previewed(request, row, content, asked, REFUSED)
    by, key = signed_in_person(request), str(form.cleaned_data["key"])
    answer = services.import_rows(
        by, row, found.file.rows, digest(content), reading.plane, key, timezone.now()
    )
    if isinstance(answer, services.Refused):
        return _previewed(request, row, content, asked, REFUSED, refusal=" ".join(answer.faults.values()))
    if answer.again:
        messages.info(request, "This table is in the log already; nothing was imported a second time.")
    else:
        messages.success(request, f"Imported: {answer.made} new, {answer.changed} changed.")
    return redirect("desk:case_log", row.public_id)


def _previewed(
    request: HttpRequest, row: Portfolio, content: bytes, asked: Asked, status: int = 200, **context: Any
) -> HttpResponse:
    found = preview(request.user, row, content, asked, reading_of(row))
    context = {"form": TableForm(), "decision": DecisionForm.holding(content, asked), **context}
    return _page(request, row, REFUSED if found.faults else status, preview=found, **context)


def _page(request: HttpRequest, row: Portfolio, status: int = 200, **context: Any) -> HttpResponse:
    steps = [
        (
            one,
            f"{one.made} new, {one.changed} changed row{pluralize(one.changed)}",
            UndoForm(initial={"number": one.number, "key": uuid.uuid4()}, auto_id=f"undo-{one.number}-%s"),
        )
        for one in imports(request.user, row)
    ]
    shown = {
        "portfolio_id": row.public_id,
        "portfolio_name": row.name,
        "action": reverse("desk:case_log_import", args=[row.public_id]),
        "names": COLUMNS,
        "imports": steps,
        **context,
    }
    return render(request, TEMPLATE, shown, status=status)
