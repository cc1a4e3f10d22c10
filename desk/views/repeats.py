"""Repeats of sheets: what is due, the blind page and what it saves, handing in, pairs, a reader's own error."""

import uuid
from collections.abc import Mapping
from uuid import UUID

from django import forms
from django.contrib import messages
from django.http import HttpRequest, HttpResponse, JsonResponse
from django.shortcuts import get_object_or_404, redirect, render
from django.template.loader import render_to_string
from django.utils import timezone
from django.views.decorators.http import require_http_methods, require_POST, require_safe

from accounts.admission import signed_in, signed_in_person
from desk.forms.measuring import read_save, read_undo
from desk.forms.repeats import BeginForm, ReasonForm, WaitForm
from desk.measuring.answers import changed_answer, refused_answer, saved_answer
from desk.measuring.page import Changes, whole_mouth
from desk.measuring.reading import measured
from desk.repeats.blind import blind_changes, blind_page
from desk.repeats.figures import own_error_page
from desk.repeats.pair_page import pair_lines
from desk.repeats.shut import other_open, shut
from desk.views.answering import answers_in_json
from portfolio import readings
from portfolio.access import visible_portfolios
from portfolio.models import RepeatSheet, Sheet
from portfolio.repeating import services
from portfolio.repeating.access import first_sheets, visible_repeat_sheets
from portfolio.repeating.selectors import records_to_repeat, repeat_line, with_statements
from portfolio.selectors import reading, stage_label
from portfolio.selectors.standing import next_undo
from portfolio.services.answers import Answer, Changed, Refused
from portfolio.services.findings import record_findings, state_free
from portfolio.services.saving import OutOfDate
from portfolio.services.undoing import undo
from portfolio.views.answering import REFUSED

EMPTY_LIVE = "<p data-total></p>"
"""The measuring page shows a score here; a repeat has none."""
TURNS = {"leave-out": services.leave_out, "count-again": services.count_again}


@signed_in
@require_http_methods(["GET", "HEAD", "POST"])
def repeats(request: HttpRequest, portfolio: UUID) -> HttpResponse:
    """A portfolio's measured records: repeats due, open and handed in; a POST sets the days to wait."""
    row = get_object_or_404(visible_portfolios(request.user), public_id=portfolio)
    form = WaitForm(
        request.POST if request.method == "POST" else None, initial={"days": row.repeat_wait_days}
    )
    if request.method == "POST" and form.is_valid():
        services.set_wait(row, form.cleaned_data["days"])
        messages.success(request, f"A repeat is due {row.repeat_wait_days} days after the sheet before it.")
        return redirect("desk:repeat_list", row.public_id)
    shown = {
        "portfolio_id": row.public_id,
        "portfolio_name": row.name,
        "wait_days": row.repeat_wait_days,
        "lines": records_to_repeat(request.user, row, timezone.now()),
        "form": form,
    }
    return render(request, "desk/repeats/list.html", shown, status=REFUSED if form.errors else 200)


@signed_in
@require_safe
def own_error(request: HttpRequest, portfolio: UUID) -> HttpResponse:
    """My own measuring error: what all counted repeats of the reader tell."""
    row = get_object_or_404(visible_portfolios(request.user), public_id=portfolio)
    shown = {"portfolio_id": row.public_id, "found": own_error_page(request.user)}
    return render(request, "desk/repeats/own_error.html", shown)


@signed_in
@require_http_methods(["GET", "HEAD", "POST"])
def begin(request: HttpRequest, record_set: UUID) -> HttpResponse:
    """What blindness means and when the repeat is due; a POST begins it."""
    by = signed_in_person(request)
    rows = first_sheets(by).select_related("record_set__case__patient__portfolio")
    first = get_object_or_404(rows, record_set__public_id=record_set)
    already = (
        visible_repeat_sheets(by).filter(first=first, sheet__sealed=False).select_related("sheet").first()
    )
    if already:
        return redirect("desk:repeat_sheet", already.sheet.public_id)
    due, now = services.due_at(first), timezone.now()
    form = BeginForm(request.POST if request.method == "POST" else None, initial={"public_id": uuid.uuid4()})
    if request.method == "POST" and form.is_valid():
        try:
            made = services.begin(by, first, form.cleaned_data["public_id"], now, form.cleaned_data["reason"])
        except services.TooEarly as fault:
            form.add_error("reason", str(fault))
        except services.CannotRepeat as fault:
            form.add_error(None, str(fault))
        except OutOfDate:
            messages.warning(request, "This page was out of date. Begin once more.")
            return redirect("desk:repeat_begin", record_set)
        else:
            return redirect("desk:repeat_sheet", made.sheet.public_id)
    here = first.record_set
    shown = {
        "case_id": here.case.public_id,
        "case_code": here.case.code,
        "record_set": here.public_id,
        "label": stage_label(here.stage, here.ordinal),
        "portfolio_id": here.case.patient.portfolio.public_id,
        "wait_days": here.case.patient.portfolio.repeat_wait_days,
        "due": due,
        "early": due is not None and now < due,
        "form": form,
    }
    return render(request, "desk/repeats/begin.html", shown, status=REFUSED if form.errors else 200)


@signed_in
@require_safe
def repeat_sheet(request: HttpRequest, repeat_sheet: UUID) -> HttpResponse:
    """An open repeat: the blind page. One that was handed in: first and repeat side by side."""
    row = _own_or_404(request, repeat_sheet)
    if row.sheet.sealed and (other := other_open(request.user, row.sheet.record_set.case_id, repeat_sheet)):
        return shut(request, other)
    if row.sheet.handed_in_at is not None:
        return _pair(request, row, ReasonForm())
    if row.sheet.sealed:
        return render(request, "desk/repeats/given_up.html", {**_place(row), "line": repeat_line(row)})
    shown = {
        **_place(row),
        "sheet": row.sheet,
        "page": blind_page(measured(row.sheet), row.sheet.public_id),
        "undo_number": next_undo(row.sheet),
    }
    return render(request, "desk/repeats/sheet.html", shown)


def _pair(request: HttpRequest, row: RepeatSheet, form: forms.Form, status: int = 200) -> HttpResponse:
    line = repeat_line(row)
    lines = pair_lines(row, row.sheet.record_set.case.patient.portfolio.notation)
    shown = {
        **_place(row),
        "line": line,
        "pairs": lines,
        "differing": sum(one.differs for one in lines),
        "form": form,
        "counted": line.state == "handed in",
    }
    return render(request, "desk/repeats/pair.html", shown, status=status)


@answers_in_json
def save_findings(request: HttpRequest, repeat_sheet: UUID) -> HttpResponse:
    """Save what was typed or stated free on an open repeat; the answer holds the repeat's own findings alone."""
    row = _own_or_404(request, repeat_sheet).sheet
    body = read_save(request.body)
    by, at = signed_in_person(request), timezone.now()
    if body.entries:
        answer = record_findings(by, row, body.entries, body.request_key, at)
    else:
        statements = whole_mouth(measured(row)) if body.whole_mouth else body.free
        answer = state_free(by, row, statements, body.request_key, at)
    return _answered(row, answer, body.layouts)


@answers_in_json
def undo_change(request: HttpRequest, repeat_sheet: UUID) -> HttpResponse:
    """Take one change of an open repeat back."""
    row = _own_or_404(request, repeat_sheet).sheet
    body = read_undo(request.body)
    answer = undo(signed_in_person(request), row, body.number, body.request_key, timezone.now())
    return _answered(row, answer, body.layouts)


def _answered(row: Sheet, answer: Answer, layouts: Mapping[str, str]) -> HttpResponse:
    if isinstance(answer, Refused):
        return JsonResponse(refused_answer(answer), status=REFUSED)
    stands = measured(row)
    if isinstance(answer, Changed):
        return JsonResponse(changed_answer(answer, stands), status=409)
    fresh = tuple((f.quantity, f.site) for f in answer.findings)
    changes = blind_changes(stands, row.public_id, layouts, fresh)
    return JsonResponse(saved_answer(answer, changes, _fragments(changes), next_undo(row)))


def _fragments(changes: Changes) -> dict[str, object]:
    rows = {
        row.key: render_to_string("desk/measuring/row.html", {"row": row, "blind": True})
        for row in changes.rows
    }
    return {"live": EMPTY_LIVE, "rows": rows}


@signed_in
@require_http_methods(["GET", "HEAD", "POST"])
def hand_in(request: HttpRequest, repeat_sheet: UUID) -> HttpResponse:
    """Ask once more, then seal a repeat and show it beside the first."""
    row = _own_or_404(request, repeat_sheet)
    if request.method == "POST":
        try:
            services.hand_in(row, timezone.now())
        except services.CannotRepeat as fault:
            messages.warning(request, str(fault))
        return redirect("desk:repeat_sheet", repeat_sheet)
    if row.sheet.sealed:
        return redirect("desk:repeat_sheet", repeat_sheet)
    return render(request, "desk/repeats/hand_in.html", _place(row))


@signed_in
@require_http_methods(["GET", "HEAD", "POST"])
def give_up(request: HttpRequest, repeat_sheet: UUID) -> HttpResponse:
    """Close a repeat that will not be finished, with a reason."""
    row = _own_or_404(request, repeat_sheet)
    if row.sheet.sealed:
        return redirect("desk:repeat_sheet", repeat_sheet)
    form = ReasonForm(request.POST if request.method == "POST" else None)
    if request.method == "POST" and form.is_valid():
        try:
            services.give_up(signed_in_person(request), row, form.cleaned_data["reason"], timezone.now())
        except services.CannotRepeat as fault:
            messages.warning(request, str(fault))
            return redirect("desk:repeat_sheet", repeat_sheet)
        messages.success(
            request, "The repeat is given up; it is kept with its reason. The case is open again."
        )
        return redirect("desk:repeat_list", _place(row)["portfolio_id"])
    shown = {**_place(row), "form": form}
    return render(request, "desk/repeats/give_up.html", shown, status=REFUSED if form.errors else 200)


@signed_in
@require_POST
def turn(request: HttpRequest, repeat_sheet: UUID, turn: str) -> HttpResponse:
    """Leave a repeat that was handed in out of the figures, or count it again, with a reason."""
    row = _own_or_404(request, repeat_sheet)
    form = ReasonForm(request.POST)
    if row.sheet.handed_in_at is None:
        messages.warning(request, "Only a repeat that was handed in can be left out or counted.")
        return redirect("desk:repeat_sheet", repeat_sheet)
    if other := other_open(request.user, row.sheet.record_set.case_id, repeat_sheet):
        return shut(request, other)
    if not form.is_valid():
        return _pair(request, row, form, REFUSED)
    TURNS[turn](signed_in_person(request), row, form.cleaned_data["reason"], timezone.now())
    messages.success(request, "Kept with its reason.")
    return redirect("desk:repeat_sheet", repeat_sheet)


@signed_in
@require_safe
def sheet_file(request: HttpRequest, repeat_sheet: UUID) -> HttpResponse:
    """A repeat that was handed in, in the open format; an open one has none."""
    row = _own_or_404(request, repeat_sheet)
    here = row.sheet.record_set
    if row.sheet.handed_in_at is None:
        messages.warning(request, "An open repeat has no sheet file. Hand it in first.")
        return redirect("desk:repeat_sheet", repeat_sheet)
    if other := other_open(request.user, here.case_id, repeat_sheet):
        return shut(request, other)
    answer = HttpResponse(readings.write_json(reading(row.sheet)), content_type="application/json")
    name = f"{here.case.code}-{here.stage}-repeat-{row.sheet.occasion - 1}.json"
    answer["Content-Disposition"] = f'attachment; filename="{name}"'
    return answer


def _place(row: RepeatSheet) -> dict[str, object]:
    here = row.sheet.record_set
    return {
        "repeat": row.sheet.public_id,
        "number": row.sheet.occasion - 1,
        "case_id": here.case.public_id,
        "case_code": here.case.code,
        "record_set": here,
        "label": stage_label(here.stage, here.ordinal),
        "portfolio_id": here.case.patient.portfolio.public_id,
        "begun_at": row.begun_at,
    }


def _own_or_404(request: HttpRequest, public_id: UUID) -> RepeatSheet:
    rows = with_statements(visible_repeat_sheets(request.user))
    return get_object_or_404(
        rows.select_related("sheet__record_set__case__patient__portfolio"), sheet__public_id=public_id
    )
