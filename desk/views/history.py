"""The history of a sheet: who changed what and when, and taking a change back."""

import uuid

from django.contrib import messages
from django.http import HttpRequest, HttpResponse
from django.shortcuts import redirect, render
from django.utils import timezone
from django.views.decorators.http import require_http_methods

from accounts.admission import signed_in, signed_in_person
from desk.forms.history import UndoForm
from desk.views.measuring import sheet_or_404
from portfolio.models import Sheet
from portfolio.selectors import history
from portfolio.services.answers import Changed, Refused
from portfolio.services.undoing import undo


@signed_in
@require_http_methods(["GET", "HEAD", "POST"])
def sheet_history(request: HttpRequest, sheet: uuid.UUID) -> HttpResponse:
    """All changes of a sheet, newest first; a POST takes one back."""
    row = sheet_or_404(request, sheet)
    if request.method == "POST":
        return _take_back(request, row)
    case = row.record_set.case
    return render(
        request,
        "desk/measuring/history.html",
        {
            "sheet": row,
            "case": case,
            "record_set": row.record_set,
            "entries": history(row, case.patient.portfolio.notation),
            "request_key": uuid.uuid4().hex,
            "closed": row.sealed or row.handed_in_at is not None,
        },
    )


def _take_back(request: HttpRequest, row: Sheet) -> HttpResponse:
    form = UndoForm(request.POST)
    if not form.is_valid():
        messages.error(request, "This page was out of date; nothing was changed. Try again.")
        return redirect("desk:sheet_history", row.public_id)
    number, key = (
        form.cleaned_data["number"],
        f"{form.cleaned_data['request_key']}-{form.cleaned_data['number']}",
    )
    answer = undo(signed_in_person(request), row, number, key, timezone.now())
    if isinstance(answer, Refused):
        messages.error(request, f"Not taken back. {' '.join(f.message for f in answer.faults)}")
    elif isinstance(answer, Changed):
        who = ", ".join(dict.fromkeys(one.by_name for one in answer.theirs)) or "Somebody"
        messages.error(request, f"Not taken back: {who} has changed a value of change {number} since.")
    else:
        messages.success(request, f"Change {number} is taken back.")
    return redirect("desk:sheet_history", row.public_id)
