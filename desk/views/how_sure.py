"""How sure a score is: chances of its total, findings near a step, findings that matter for a threshold."""

from uuid import UUID

from django.http import Http404, HttpRequest, HttpResponse
from django.shortcuts import render
from django.views.decorators.http import require_safe

from accounts.admission import signed_in
from desk.forms.how_sure import HowSureForm
from desk.how_sure.change_page import INDICES, sure_change_page
from desk.how_sure.limits import limits_of
from desk.how_sure.page import how_sure_page
from desk.views.changes import case_or_404
from desk.views.measuring import sheet_or_404
from scoring import registry, selectors

REFUSED = 422


@signed_in
@require_safe
def sure_change(request: HttpRequest, case: UUID) -> HttpResponse:
    """How sure the change between two stages is, `?index=`, `?before=` and `?after=`."""
    row = case_or_404(request, case)
    index = request.GET.get("index", "par")
    if index not in INDICES:
        raise Http404
    page = sure_change_page(
        request.user, row, index, request.GET.get("before", ""), request.GET.get("after", "")
    )
    return render(request, "desk/how_sure/change.html", {"page": page})


@signed_in
@require_safe
def how_sure(request: HttpRequest, sheet: UUID, index: str) -> HttpResponse:
    """The page; what is asked for stands in the address and nothing is stored."""
    row = sheet_or_404(request, sheet)
    if index not in registry.INDEXES:
        raise Http404
    form = HowSureForm(request.GET)
    good = form.is_valid()
    limits = limits_of(request.user, row, index)
    page = how_sure_page(row, selectors.scored(row, index), **form.asked(), limits=limits)
    context = {"page": page, "form": form}
    return render(request, "desk/how_sure/page.html", context, status=200 if good else REFUSED)
