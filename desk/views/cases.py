"""The desk's home, the case page, and the sheet file to take away."""

from uuid import UUID

from django.http import HttpRequest, HttpResponse
from django.shortcuts import get_object_or_404, render
from django.views.decorators.http import require_safe

from accounts import kept_searches
from accounts.admission import signed_in
from desk.case_list import case_list
from desk.case_page import case_page
from desk.forms.case_list import CaseFilter
from desk.views.measuring import sheet_or_404
from portfolio import readings
from portfolio.access import visible_cases
from portfolio.selectors import reading
from portfolio.views.saving import latest_day

WRITERS = {
    "json": (readings.write_json, "application/json"),
    "csv": (readings.write_csv, "text/csv; charset=utf-8"),
}


@signed_in
@require_safe
def home(request: HttpRequest) -> HttpResponse:
    """The person's cases, searched, narrowed and sorted."""
    key, words = kept_searches.searched(request)
    wanted = {**request.GET.dict(), "search": words}
    narrowed = CaseFilter(wanted, queryset=visible_cases(request.user), request=request)
    asked = {"search": key} | {
        name: request.GET.get(name, "") for name in ("state", "stage", "portfolio", "sort")
    }
    asked["page"] = request.GET.get("page", "1")
    cases = case_list(request.user, narrowed, asked)
    return render(request, "desk/home.html", {"cases": cases, "form": narrowed.form, "asked": asked})


@signed_in
@require_safe
def case(request: HttpRequest, case: UUID) -> HttpResponse:
    """One case with its stages, sheets, scores and consents."""
    rows = visible_cases(request.user).select_related("patient__portfolio")
    row = get_object_or_404(rows, public_id=case)
    return render(request, "desk/case.html", {"case": case_page(request.user, row, latest_day())})


@signed_in
@require_safe
def sheet_file(request: HttpRequest, sheet: UUID, kind: str) -> HttpResponse:
    """The sheet in the open format, as a file named after case code and stage only."""
    row = sheet_or_404(request, sheet)
    write, media_type = WRITERS[kind]
    here = row.record_set
    number = f"-{here.ordinal}" if here.stage == "interim" or here.ordinal > 1 else ""
    answer = HttpResponse(write(reading(row)), content_type=media_type)
    name = f"{here.case.code}-{here.stage}{number}.{kind}"
    answer["Content-Disposition"] = f'attachment; filename="{name}"'
    return answer
