"""How sure a score is: chances of its total, findings near a step, findings that matter for a threshold."""

from uuid import UUID

from django.http import Http404, HttpRequest, HttpResponse
from django.shortcuts import render
from django.views.decorators.http import require_safe

from accounts.admission import signed_in
from desk.forms.how_sure import HowSureForm
from desk.how_sure.page import how_sure_page
from desk.views.measuring import sheet_or_404
from scoring import registry, selectors

REFUSED = 422


@signed_in
@require_safe
def how_sure(request: HttpRequest, sheet: UUID, index: str) -> HttpResponse:
    """The page; what is asked for stands in the address and nothing is stored."""
    row = sheet_or_404(request, sheet)
    if index not in registry.INDEXES:
        raise Http404
    form = HowSureForm(request.GET)
    good = form.is_valid()
    page = how_sure_page(row, selectors.scored(row, index), **form.asked())
    context = {"page": page, "form": form}
    return render(request, "desk/how_sure/page.html", context, status=200 if good else REFUSED)
