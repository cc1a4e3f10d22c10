"""What the findings of a sheet rest on."""

from uuid import UUID

from django.http import HttpRequest, HttpResponse
from django.shortcuts import get_object_or_404, render
from django.views.decorators.http import require_safe

from accounts.admission import signed_in
from imaging.evidence import shown_evidence
from portfolio.access import visible_sheets
from portfolio.selectors import stage_label


@signed_in
@require_safe
def evidence(request: HttpRequest, sheet: UUID) -> HttpResponse:
    """Every finding of a sheet that has evidence, with its pictures and marks."""
    rows = visible_sheets(request.user).select_related("record_set__case__patient__portfolio")
    row = get_object_or_404(rows, public_id=sheet)
    here = row.record_set
    notation = here.case.patient.portfolio.notation
    context = {
        "sheet": row.public_id,
        "record_set": here.public_id,
        "stage": stage_label(here.stage, here.ordinal),
        "case_id": here.case.public_id,
        "case_code": here.case.code,
        "found": shown_evidence(request.user, row, notation),
    }
    return render(request, "imaging/evidence.html", context)
