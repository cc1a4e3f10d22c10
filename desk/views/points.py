"""The point-by-point sheet of a score; a value tried for a line is scored and told, and never stored."""

from uuid import UUID

from django.http import Http404, HttpRequest, HttpResponse
from django.shortcuts import render
from django.views.decorators.http import require_safe

from accounts.admission import signed_in
from desk.points.page import can_be_tried, points_page
from desk.points.trying import Tried, tried_value
from desk.views.measuring import sheet_or_404
from scoring import registry, selectors
from scoring.line_names import form_order, line_anchor, line_names

LONGEST_TYPED = 40


@signed_in
@require_safe
def points(request: HttpRequest, sheet: UUID, index: str) -> HttpResponse:
    """Every line with what it rests on."""
    row = sheet_or_404(request, sheet)
    if index not in registry.INDEXES:
        raise Http404
    scored = selectors.scored(row, index)
    tried = _tried(request, scored, row.step)
    return render(request, "desk/points/page.html", {"page": points_page(request.user, row, scored, tried)})


@signed_in
@require_safe
def try_value(request: HttpRequest, sheet: UUID, index: str) -> HttpResponse:
    """What a value typed for a line would score, while it is typed; empty for no value or no such line."""
    row = sheet_or_404(request, sheet)
    if index not in registry.INDEXES:
        raise Http404
    tried = _tried(request, selectors.scored(row, index), row.step)
    return render(request, "desk/points/tried.html", {"tried": tried})


def _tried(request: HttpRequest, scored: selectors.Scored, step: str) -> Tried | None:
    wanted, typed = request.GET.get("line", ""), request.GET.get("value", "").strip()[:LONGEST_TYPED]
    if not typed:
        return None
    lines = form_order(scored.score)
    for place, (name, line) in enumerate(zip(line_names(lines), lines, strict=True)):
        if line_anchor(name) == wanted and can_be_tried(line):
            return tried_value(scored, line, place, wanted, typed, str(step))
    return None
