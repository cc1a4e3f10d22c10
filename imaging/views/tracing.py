"""The tracing of a radiograph: beginning it, its page, and what the page saves as one works."""

from typing import Any
from uuid import UUID

from django.contrib import messages
from django.http import HttpRequest, HttpResponse, JsonResponse
from django.shortcuts import get_object_or_404, redirect, render
from django.utils import timezone
from django.views.decorators.http import require_http_methods

from accounts.admission import signed_in, signed_in_person
from accounts.models import User
from imaging.cephalometry.sketch import paths, window
from imaging.models import MandibularPlane, Tracing
from imaging.norms.selectors import own_norms
from imaging.repeats.selectors import open_repeat
from imaging.steps.answers import Refused
from imaging.steps.forms import read_step
from imaging.tracing import selectors, services
from imaging.tracing.access import visible_tracings
from imaging.tracing.forms import FACES, BeginForm, read_save, read_take
from imaging.tracing.formulas import page_data
from imaging.tracing.offers import own_sheet
from imaging.tracing.on_picture import Way
from imaging.tracing.pictures import VIEW, traceable_fault
from imaging.tracing.taking_over import take_over
from imaging.views.answering import picture_or_404
from portfolio.models import RecordItem
from portfolio.selectors import stage_label
from portfolio.services.answers import Changed, Recorded
from portfolio.services.saving import ChangedMeanwhile, OutOfDate
from portfolio.views.answering import CONFLICT, REFUSED, answers_in_json

answers = answers_in_json(Tracing.DoesNotExist, "This tracing has been removed with its picture.")


@signed_in
@require_http_methods(["GET", "HEAD", "POST"])
def tracing_of(request: HttpRequest, picture: UUID) -> HttpResponse:
    """The person's tracing of a picture, or the two questions with which it begins."""
    item, by = picture_or_404(request, picture), signed_in_person(request)
    row = selectors.tracing_on(by, item)
    if row is not None and request.method != "POST":
        return render(request, "imaging/tracing.html", _page(by, row, item))
    form = BeginForm(request.POST) if request.method == "POST" else _fresh_form(by, item)
    if request.method == "POST" and form.is_valid():
        given = form.cleaned_data
        try:
            services.begin(by, item, given["public_id"], Way(given["faces"]), given["mandibular_plane"])
        except services.CannotTrace as fault:
            messages.warning(request, str(fault))
        except OutOfDate:
            messages.warning(request, "This page was out of date. Begin once more.")
        return redirect("imaging:tracing_of", item.public_id)
    shown = {**_place(item), "form": form, "fault": traceable_fault(item)}
    return render(
        request, "imaging/tracing_begin.html", shown, status=REFUSED if request.method == "POST" else 200
    )


@answers
def save(request: HttpRequest, tracing: UUID) -> HttpResponse:
    """Save points, the mandibular plane or the side faced, and answer with what stands now."""
    row, by, body = _own_or_404(request, tracing), signed_in_person(request), read_save(request.body)
    try:
        answer = services.save(by, row, body.wanted, body.seen, body.request_key, timezone.now())
    except ChangedMeanwhile:
        return _answer(by, row, status=CONFLICT)
    if isinstance(answer, Refused):
        faults = [{"point": one.name, "message": one.words} for one in answer.faults]
        return JsonResponse({"faults": faults}, status=REFUSED)
    return _answer(by, row)


@answers
def step(request: HttpRequest, tracing: UUID) -> HttpResponse:
    """Undo the newest change, or do the newest undone one again."""
    row, by, body = _own_or_404(request, tracing), signed_in_person(request), read_step(request.body)
    try:
        services.step(by, row, body.action, body.number, body.request_key, timezone.now())
    except ChangedMeanwhile:
        return _answer(by, row, status=CONFLICT)
    return _answer(by, row)


@answers
def take(request: HttpRequest, tracing: UUID) -> HttpResponse:
    """Take measures over as findings of the person's sheet."""
    row, by, body = _own_or_404(request, tracing), signed_in_person(request), read_take(request.body)
    if body.seen != row.version:
        return _answer(by, row, status=CONFLICT)
    answer = take_over(by, row, body.take, body.request_key, timezone.now())
    if isinstance(answer, Recorded):
        return _answer(by, row, taken=len(body.take))
    if isinstance(answer, Changed):
        words = " ".join(
            f"{one.by_name} has recorded {one.value or 'nothing'} for {one.quantity} meanwhile."
            for one in answer.theirs
        )
        return _answer(by, row, status=CONFLICT, message=f"Not taken over. {words}")
    faults = [{"point": "", "message": fault.message} for fault in answer.faults]
    return JsonResponse({"faults": faults}, status=REFUSED)


def _own_or_404(request: HttpRequest, tracing: UUID) -> Tracing:
    rows = visible_tracings(request.user).filter(reader=signed_in_person(request), repeat=0)
    return get_object_or_404(rows.select_related("item__record_set__case"), public_id=tracing)


def _answer(by: User, row: Tracing, *, status: int = 200, **more: object) -> JsonResponse:
    row.refresh_from_db(fields=["points", "outlines", "mandibular_plane", "forward", "version"])
    return JsonResponse({**selectors.state(row, by), **more}, status=status)


def _fresh_form(by: User, item: RecordItem) -> BeginForm:
    return BeginForm.fresh(selectors.plane_of_case(by, item))


def _place(item: RecordItem) -> dict[str, Any]:
    here = item.record_set
    return {
        "picture": item.public_id,
        "picture_version": item.version,
        "record_set": here.public_id,
        "case_id": here.case.public_id,
        "case_code": here.case.code,
        "stage": {
            "stage": here.stage,
            "ordinal": here.ordinal,
            "label": stage_label(here.stage, here.ordinal),
        },
    }


def _page(by: User, row: Tracing, item: RecordItem) -> dict[str, Any]:
    row.item = item
    sheet, portfolio = own_sheet(by, item), item.record_set.case.patient.portfolio
    return {
        **_place(item),
        "tracing": row.public_id,
        "state": selectors.state(row, by),
        "shown": selectors.picture_data(item),
        "formulas": page_data(item.record_set.age_months, own_norms(portfolio)),
        "portfolio": portfolio.public_id,
        "planes": MandibularPlane.choices,
        "sides": FACES,
        "sheet": sheet.public_id if sheet else None,
        "still_lateral": item.view == VIEW,
        "open_repeat": open_repeat(row),
        "sketch": {"window": " ".join(f"{number:g}" for number in window()), "paths": paths()},
    }
