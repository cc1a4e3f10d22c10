"""The bench sheet to print, for a case and blank."""

from uuid import UUID

from django.http import HttpRequest, HttpResponse
from django.shortcuts import render
from django.views.decorators.http import require_safe

from accounts.admission import signed_in
from desk.measuring.bench import bench_sheet, blank_bench_sheet
from desk.measuring.reading import measured
from desk.transfer_sheet import transfer_sheet
from desk.views.measuring import sheet_or_404
from portfolio.models import Notation
from scoring.presets import PRESETS


@signed_in
@require_safe
def bench(request: HttpRequest, sheet: UUID) -> HttpResponse:
    """The bench sheet of a case, by its code only."""
    row = sheet_or_404(request, sheet)
    record_set = row.record_set
    stage = f"{record_set.get_stage_display()} {record_set.ordinal}"
    page = bench_sheet(measured(row), record_set.case.code, stage)
    return render(
        request, "desk/measuring/bench.html", {"bench": page, "sheet": row, "case": record_set.case}
    )


@signed_in
@require_safe
def transfer(request: HttpRequest, sheet: UUID) -> HttpResponse:
    """Totals by row of every index chosen, to copy onto the board's form."""
    row = sheet_or_404(request, sheet)
    return render(request, "desk/scores/transfer.html", {"page": transfer_sheet(row)})


@signed_in
@require_safe
def blank(request: HttpRequest) -> HttpResponse:
    """A blank bench sheet; `?notation=` takes another notation than ISO 3950, `?for=` a set of indices."""
    asked = request.GET.get("notation", "")
    notation = asked if asked in Notation.values else Notation.ISO3950
    preset = request.GET.get("for", "")
    preset = preset if preset in PRESETS else ""
    offered = [(key, label) for key, (label, _) in PRESETS.items()]
    context = {
        "bench": blank_bench_sheet(notation, preset),
        "notations": Notation.choices,
        "notation": notation,
        "presets": offered,
        "preset": preset,
    }
    return render(request, "desk/measuring/bench.html", context)
