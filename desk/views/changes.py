"""Before and after: one case, many cases, the downloads of many."""

from uuid import UUID

from django.contrib import messages
from django.http import Http404, HttpRequest, HttpResponse
from django.shortcuts import get_object_or_404, redirect, render
from django.urls import reverse
from django.utils import timezone
from django.views.decorators.http import require_POST, require_safe

from accounts.admission import signed_in, signed_in_person
from desk.change import export, rescoring
from desk.change.case import change_page
from desk.change.many import OFFERED, Many, many
from desk.change.many_page import many_page
from desk.forms.changes import LimitForm, ManyForm
from jobs.selectors import latest
from portfolio.access import visible_cases
from portfolio.models import Case
from scoring import services

SPREADSHEET = "application/vnd.openxmlformats-officedocument.spreadsheetml.sheet"


@signed_in
@require_safe
def case_change(request: HttpRequest, case: UUID) -> HttpResponse:
    """One case between two of its stages, `?before=` and `?after=`; `residual=1` adds the need that is left."""
    page = change_page(
        request.user,
        case_or_404(request, case),
        request.GET.get("before", ""),
        request.GET.get("after", ""),
        residual=request.GET.get("residual") == "1",
    )
    return render(request, "desk/change/case.html", {"page": page})


@signed_in
@require_POST
def result_limit(request: HttpRequest, case: UUID) -> HttpResponse:
    """Hold results of the whole portfolio against another total than the published one."""
    portfolio = case_or_404(request, case).patient.portfolio
    form = LimitForm(request.POST)
    if form.is_valid():
        limit = form.cleaned_data["limit"]
        services.choose_limit(portfolio, "outcome", limit)
        said = "the published limit again" if limit is None else f"{limit} points"
        messages.success(request, f"Results of {portfolio.name} are held against {said}.")
    else:
        messages.error(request, "A limit is a whole number from 0 to 200, or nothing. Nothing was changed.")
    return redirect(f"{reverse('desk:case_change', args=[case])}#outcome")


@signed_in
@require_safe
def changes(request: HttpRequest) -> HttpResponse:
    """Many cases by one index, with the caseload's figures."""
    form = ManyForm(_asked(request), user=request.user)
    found = _many(request, form)
    job = latest(signed_in_person(request), rescoring.KEY, found.wanted.index, timezone.now())
    asked = {name: form.data.get(name, "") for name in form.fields}
    asked |= {"sort": request.GET.get("sort", ""), "page": request.GET.get("page", "1")}
    context = {"page": many_page(found, asked), "form": form, "job": job if job and job.unfinished else None}
    return render(request, "desk/change/many.html", context)


@signed_in
@require_POST
def rescore(request: HttpRequest, index: str) -> HttpResponse:
    """Work out the scores that no longer hold, in the background."""
    if index not in OFFERED:
        raise Http404
    rescoring.ask(signed_in_person(request), index, timezone.now())
    return redirect(f"{reverse('desk:changes')}?index={index}")


@signed_in
@require_safe
def changes_file(request: HttpRequest, kind: str) -> HttpResponse:
    """The table to take away, under a name that tells nothing of persons."""
    found = _many(request, ManyForm(_asked(request), user=request.user))
    if kind == "csv":
        answer = HttpResponse(export.csv_text(found), content_type="text/csv; charset=utf-8")
    else:
        answer = HttpResponse(export.workbook(found), content_type=SPREADSHEET)
    name = f"change-{found.wanted.index}-{found.wanted.before}-{found.wanted.after}.{kind}"
    answer["Content-Disposition"] = f'attachment; filename="{name}"'
    return answer


def _asked(request: HttpRequest) -> dict[str, str]:
    usual = {"index": "par", "before": "initial", "after": "final"}
    return usual | {key: value for key, value in request.GET.items() if isinstance(value, str) and value}


def _many(request: HttpRequest, form: ManyForm) -> Many:
    """The caseload; a few scores that no longer hold are worked out first, many are left to the job."""
    person, wanted = signed_in_person(request), form.wanted()
    found = many(person, wanted)
    if not 0 < len(found.stale) <= rescoring.AT_ONCE:
        return found
    rescoring.score_anew(person, wanted.index, found.stale)
    return many(person, wanted)


def case_or_404(request: HttpRequest, case: UUID) -> Case:
    rows = visible_cases(request.user).select_related("patient__portfolio")
    return get_object_or_404(rows, public_id=case)
