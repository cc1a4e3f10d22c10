"""The page a case is printed from."""

from uuid import UUID

from django.http import HttpRequest, HttpResponse, HttpResponseBase
from django.shortcuts import get_object_or_404, redirect, render
from django.utils import timezone
from django.views.decorators.http import require_http_methods

from accounts.admission import signed_in, signed_in_person
from dossier.forms import PrintForm
from dossier.printing import KIND
from dossier.radiographs import size_lines
from dossier.selectors import Wanted
from dossier.services import Stopped, ask_for_print
from jobs.selectors import latest
from portfolio.access import visible_cases
from portfolio.models import Case

REFUSED = 422


@signed_in
@require_http_methods(["GET", "HEAD", "POST"])
def case_print(request: HttpRequest, case: UUID) -> HttpResponseBase:
    """Choose copy and paper, ask for the print, follow it and fetch it."""
    rows = visible_cases(request.user).select_related("patient__portfolio")
    row = get_object_or_404(rows, public_id=case)
    form = PrintForm(request.POST or None, initial={"paper": row.patient.portfolio.paper})
    stopped: tuple[str, ...] = ()
    if request.method == "POST" and form.is_valid():
        answer = ask_for_print(signed_in_person(request), row, Wanted(**form.cleaned_data), timezone.now())
        if not isinstance(answer, Stopped):
            return redirect("jobs:status", answer.public_id)
        stopped = answer.words
    return _page(request, row, form, stopped)


def _page(request: HttpRequest, row: Case, form: PrintForm, stopped: tuple[str, ...]) -> HttpResponse:
    by, case = signed_in_person(request), str(row.public_id)
    shown = {
        "case": case,
        "code": row.code,
        "form": form,
        "stopped": stopped,
        "job": latest(by, KIND, case, timezone.now()),
        "sizes": size_lines(by, row),
    }
    return render(
        request, "dossier/case_print.html", shown, status=REFUSED if request.method == "POST" else 200
    )
