"""The measuring page and what it saves, takes back and supposes."""

from collections.abc import Mapping
from dataclasses import replace
from uuid import UUID

from django.contrib import messages
from django.http import HttpRequest, HttpResponse, JsonResponse
from django.shortcuts import get_object_or_404, redirect, render
from django.template.loader import render_to_string
from django.utils import timezone
from django.views.decorators.http import require_POST, require_safe

from accounts.admission import signed_in, signed_in_person
from desk.forms.choosing import IndicesForm
from desk.forms.measuring import read_save, read_settings, read_undo, read_what_if
from desk.measuring.answers import changed_answer, refused_answer, saved_answer, supposed_answer
from desk.measuring.choosing import choosing
from desk.measuring.page import Changes, Measured, make_changes, make_page, options, whole_mouth
from desk.measuring.reading import COMPARED, against_other_stages, measured
from desk.measuring.supposing import Supposed, suppose
from desk.repeats.shut import is_repeated_now, shut_save
from desk.views.answering import answers_in_json
from portfolio.access import visible_sheets
from portfolio.finding_sheet import Sheet as Frame
from portfolio.models import Medium, Sheet, Step
from portfolio.selectors.standing import next_undo
from portfolio.services.answers import Answer, Changed, Refused
from portfolio.services.findings import record_findings, state_free
from portfolio.services.record_sets import SheetClosed, edit_sheet
from portfolio.services.undoing import undo
from scoring import registry, services


def sheet_or_404(request: HttpRequest, sheet: UUID) -> Sheet:
    """The person's sheet with everything the page names, or 404."""
    rows = visible_sheets(request.user).select_related("reader", "record_set__case__patient__portfolio")
    return get_object_or_404(rows, public_id=sheet)


@signed_in
@require_safe
def measure(request: HttpRequest, sheet: UUID) -> HttpResponse:
    """The page to measure with: every field that the indices chosen for its stage read."""
    row = sheet_or_404(request, sheet)
    stands = measured(row)
    return render(
        request,
        "desk/measuring/page.html",
        {
            "sheet": row,
            "sheet_id": row.public_id,
            "record_set": row.record_set,
            "case": row.record_set.case,
            "page": make_page(stands),
            "other_hints": against_other_stages(row, stands),
            "choosing": choosing(stands.sheet, stands.indices),
            "undo_number": next_undo(row),
            "steps": options(Step.choices),
            "media": options(Medium.choices),
            "closed": row.sealed or row.handed_in_at is not None,
        },
    )


@signed_in
@require_POST
def choose_indices(request: HttpRequest, sheet: UUID) -> HttpResponse:
    """Choose what the portfolio's records of this stage are measured for; findings stay as they are."""
    row = sheet_or_404(request, sheet)
    here = row.record_set
    form = IndicesForm(request.POST, frame=Frame(here.stage, here.dentition))
    if not form.is_valid():
        words = " ".join(str(one) for errors in form.errors.values() for one in errors)
        messages.error(request, f"{words} Nothing was changed.")
        return redirect("desk:measure", row.public_id)
    portfolio = here.case.patient.portfolio
    services.choose_indices(portfolio, here.stage, form.cleaned_data["indices"])
    named = ", ".join(registry.index(key).label for key in form.cleaned_data["indices"])
    messages.success(
        request,
        f"{here.get_stage_display().capitalize()} records of {portfolio.name} are measured for: {named}.",
    )
    return redirect("desk:measure", row.public_id)


@answers_in_json
def save_findings(request: HttpRequest, sheet: UUID) -> HttpResponse:
    """Save what was typed, or state regions free, and answer with what stands now."""
    rows = visible_sheets(request.user).select_related("record_set__case__patient__portfolio")
    now = is_repeated_now(request.user, "record_set__case")
    row = get_object_or_404(rows.annotate(is_repeated_now=now), public_id=sheet)
    if getattr(row, "is_repeated_now"):  # noqa: B009 annotated
        return shut_save(row.record_set.case.code)
    body = read_save(request.body)
    by, at = signed_in_person(request), timezone.now()
    if body.entries:
        answer = record_findings(by, row, body.entries, body.request_key, at)
    else:
        statements = whole_mouth(measured(row)) if body.whole_mouth else body.free
        answer = state_free(by, row, statements, body.request_key, at)
    return _answered(row, answer, body.layouts)


@answers_in_json
def undo_change(request: HttpRequest, sheet: UUID) -> HttpResponse:
    """Take one change back and answer with what stands now."""
    row = sheet_or_404(request, sheet)
    body = read_undo(request.body)
    answer = undo(signed_in_person(request), row, body.number, body.request_key, timezone.now())
    return _answered(row, answer, body.layouts, is_undo=True)


@answers_in_json
def what_if(request: HttpRequest, sheet: UUID) -> HttpResponse:
    """Score the sheet with other values put in; nothing is stored."""
    row = sheet_or_404(request, sheet)
    body = read_what_if(request.body)
    stands = measured(row)
    wanted = body.wanted
    if body.whole_mouth:
        wanted += tuple(Supposed(q, s, free=True) for q, s in _supposed_whole_mouth(stands, wanted, row.step))
    supposed = suppose(stands.sheet, stands.stored, wanted, row.step, stands.notation)
    after = replace(stands, sheet=supposed.sheet, stored=supposed.stored)
    fresh = tuple((w.quantity, w.site) for w in wanted[-1:])
    changes = make_changes(after, body.layouts, fresh, supposed=bool(wanted))
    return JsonResponse(supposed_answer(supposed, wanted, changes, _fragments(changes, row.public_id)))


@answers_in_json
def settings(request: HttpRequest, sheet: UUID) -> HttpResponse:
    """Set on what the sheet is measured and the step of rounding; recorded values stay."""
    row = sheet_or_404(request, sheet)
    body = read_settings(request.body)
    try:
        edit_sheet(row, medium=body.medium, step=body.step)
    except SheetClosed:
        return JsonResponse({"message": "This sheet is closed; nothing was changed."}, status=422)
    return JsonResponse({"said": "Kept. Values already recorded stay as they are."})


def _supposed_whole_mouth(
    stands: Measured, wanted: tuple[Supposed, ...], step: str
) -> tuple[tuple[str, str], ...]:
    before = suppose(stands.sheet, stands.stored, wanted, step, stands.notation)
    return whole_mouth(replace(stands, sheet=before.sheet, stored=before.stored))


def _answered(
    row: Sheet, answer: Answer, layouts: Mapping[str, str], *, is_undo: bool = False
) -> HttpResponse:
    if isinstance(answer, Refused):
        return JsonResponse(refused_answer(answer), status=422)
    stands = measured(row)
    if isinstance(answer, Changed):
        return JsonResponse(changed_answer(answer, stands), status=409)
    fresh = tuple((f.quantity, f.site) for f in answer.findings)
    changes = make_changes(stands, layouts, fresh)
    fresh_change = answer.number > 0 and not answer.repeated and not is_undo
    # A change just made is the one to undo next; only after an undo, or when nothing changed, it has to be looked up.
    undo_number = answer.number if fresh_change else next_undo(row)
    fragments = _fragments(changes, row.public_id)
    if any(f.quantity in COMPARED for f in answer.findings):
        found = against_other_stages(row, stands)
        context = {"hints": found, "title": "Against other records of the case", "key": "others"}
        fragments["other_hints"] = render_to_string("desk/measuring/hints.html", context)
    return JsonResponse(saved_answer(answer, changes, fragments, undo_number))


def _fragments(changes: Changes, sheet: UUID) -> dict[str, object]:
    """The parts of the page that are made anew on the server."""
    return {
        "live": render_to_string(
            "desk/measuring/live.html", {"lives": changes.lives, "sheet": sheet, "hints": changes.hints}
        ),
        "rows": {
            row.key: render_to_string("desk/measuring/row.html", {"row": row, "sheet_id": sheet})
            for row in changes.rows
        },
    }
