"""Repeat tracings: what may be repeated and what the pairs tell, the blind page, and one pair told."""

import uuid
from typing import Any
from uuid import UUID

from django.contrib import messages
from django.http import HttpRequest, HttpResponse, JsonResponse
from django.shortcuts import get_object_or_404, redirect, render
from django.utils import timezone
from django.views.decorators.http import require_http_methods, require_POST, require_safe

from accounts.admission import signed_in, signed_in_person
from imaging.cephalometry.landmarks import DEFAULT_POINT_SD_MM, GROUPS
from imaging.models import RepeatTracing
from imaging.repeats import selectors, services
from imaging.repeats.access import visible_repeats
from imaging.steps.answers import Refused
from imaging.tracing.forms import read_save
from imaging.tracing.selectors import picture_data
from imaging.tracing.services import Wanted
from imaging.views.answering import picture_or_404
from imaging.views.tracing import answers
from portfolio.repeats import FEWEST_PAIRS_USED
from portfolio.selectors import stage_label
from portfolio.services.saving import ChangedMeanwhile, OutOfDate
from portfolio.views.answering import CONFLICT, REFUSED


@signed_in
@require_safe
def repeats(request: HttpRequest) -> HttpResponse:
    """The reader's traced radiographs with their repeats, and the figures of all pairs."""
    now = timezone.now()
    shown = {
        "rows": [(one, uuid.uuid4()) for one in selectors.repeatable(request.user, now)],
        "figures": selectors.figures(request.user),
        "enough": FEWEST_PAIRS_USED,
        "default_sd": DEFAULT_POINT_SD_MM,
        "wait_days": selectors.WAIT_DAYS,
    }
    return render(request, "imaging/repeats.html", shown)


@signed_in
@require_POST
def begin_repeat(request: HttpRequest, picture: UUID) -> HttpResponse:
    """Begin a repeat of the person's own tracing, or go on with one that is begun."""
    item, by = picture_or_404(request, picture), signed_in_person(request)
    try:
        public_id = UUID(request.POST.get("public_id", ""))
    except ValueError:
        public_id = uuid.uuid4()
    try:
        repeat = services.begin_repeat(by, item, public_id, timezone.now())
    except services.CannotRepeat as fault:
        messages.warning(request, str(fault))
    except OutOfDate:
        messages.warning(request, "This page was out of date. Begin once more.")
    else:
        return redirect("imaging:repeat", repeat.tracing.public_id)
    return redirect("imaging:repeats")


@signed_in
@require_safe
def repeat(request: HttpRequest, repeat: UUID) -> HttpResponse:
    """An unfinished repeat: the picture and the names of points, nothing of the first. A finished one: the pair."""
    row = _own_or_404(request, repeat)
    here = row.tracing.item.record_set
    place = {
        "repeat": row.tracing.public_id,
        "number": row.tracing.repeat,
        "case_id": here.case.public_id,
        "case_code": here.case.code,
        "stage": here.stage,
        "ordinal": here.ordinal,
        "label": stage_label(here.stage, here.ordinal),
    }
    if row.finished_at is not None:
        told = selectors.pair_told(request.user, row)
        return render(request, "imaging/repeat_pair.html", {**place, "pair": told})
    shown = {
        **place,
        "picture": row.tracing.item.public_id,
        "picture_version": row.tracing.item.version,
        "shown": picture_data(row.tracing.item),
        "state": _state(row),
        "groups": _groups(row),
    }
    return render(request, "imaging/repeat.html", shown)


def _groups(row: RepeatTracing) -> list[dict[str, Any]]:
    """Names and definitions of the points that the first tracing has: names only, no place of any."""
    wanted = row.first_then["points"]
    groups: list[dict[str, Any]] = []
    for group, ones in GROUPS:
        entries = [
            {"key": one.key, "short": one.key, "name": one.name, "definition": one.definition, "note": ""}
            for one in ones
            if one.key in wanted
        ]
        if entries:
            groups.append({"label": group, "entries": entries, "first": not groups})
    return groups


@answers
def save_repeat(request: HttpRequest, repeat: UUID) -> HttpResponse:
    """Save points of an unfinished repeat and answer with its own points alone."""
    row, by, body = _own_or_404(request, repeat), signed_in_person(request), read_save(request.body)
    wanted = Wanted(body.wanted.points)
    try:
        answer = services.save_repeat(by, row, wanted, body.seen, body.request_key, timezone.now())
    except services.CannotRepeat as fault:
        return JsonResponse({"message": str(fault)}, status=REFUSED)
    except ChangedMeanwhile:
        row.tracing.refresh_from_db(fields=["points", "version"])
        return JsonResponse(_state(row), status=CONFLICT)
    if isinstance(answer, Refused):
        faults = [{"point": one.name, "message": one.words} for one in answer.faults]
        return JsonResponse({"faults": faults}, status=REFUSED)
    row.tracing.refresh_from_db(fields=["points", "version"])
    return JsonResponse(_state(row))


@signed_in
@require_POST
def finish_repeat(request: HttpRequest, repeat: UUID) -> HttpResponse:
    """Close a repeat and show the pair."""
    row = _own_or_404(request, repeat)
    try:
        services.finish_repeat(row, timezone.now())
    except services.CannotRepeat as fault:
        messages.warning(request, str(fault))
    return redirect("imaging:repeat", row.tracing.public_id)


@signed_in
@require_http_methods(["GET", "HEAD", "POST"])
def discard_repeat(request: HttpRequest, repeat: UUID) -> HttpResponse:
    """Throw an unfinished repeat away, after a question."""
    row = _own_or_404(request, repeat)
    if request.method == "POST" or row.finished_at is not None:
        try:
            services.discard_repeat(row)
        except services.CannotRepeat as fault:
            messages.warning(request, str(fault))
            return redirect("imaging:repeat", row.tracing.public_id)
        messages.success(request, "The unfinished repeat is thrown away.")
        return redirect("imaging:repeats")
    return render(
        request, "imaging/repeat_discard.html", {"repeat": repeat, "points": len(row.tracing.points)}
    )


def _state(row: RepeatTracing) -> dict[str, Any]:
    return {"version": row.tracing.version, "points": row.tracing.points}


def _own_or_404(request: HttpRequest, public_id: UUID) -> RepeatTracing:
    rows = visible_repeats(request.user).select_related("tracing__item__record_set__case", "first")
    return get_object_or_404(rows, tracing__public_id=public_id)
