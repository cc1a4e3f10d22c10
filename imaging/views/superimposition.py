"""Tracings of two or three stages laid on each other, and the marks on stable structures that they are laid by."""

from itertools import count
from typing import Any
from uuid import UUID

from django.http import HttpRequest, HttpResponse, JsonResponse
from django.shortcuts import get_object_or_404, render
from django.views.decorators.http import require_safe

from accounts.admission import signed_in, signed_in_person
from imaging.cephalometry.face import STRUCTURES
from imaging.cephalometry.stable_structures import STRUCTURE_LABELS, marks_of
from imaging.cephalometry.superimpose import ON
from imaging.models import Tracing
from imaging.superimposing import selectors, services
from imaging.superimposing.drawing import sketch, style_of
from imaging.superimposing.staged import (
    MOST_STAGES,
    NOISE_WORDS,
    ON_LABELS,
    ON_WORDS,
    TracedStage,
    first_way,
    mark_names,
    overlay,
)
from imaging.tracing.access import visible_tracings
from imaging.tracing.forms import read_save
from imaging.tracing.selectors import picture_data
from imaging.views.tracing import answers
from portfolio.access import visible_cases
from portfolio.selectors import stage_label
from portfolio.services.saving import ChangedMeanwhile
from portfolio.sources import SOURCES
from portfolio.views.answering import CONFLICT, REFUSED

CITED = ("ceph_superimposing", "kabsch_1976", "ceph_point_error")


@signed_in
@require_safe
def superimposition(request: HttpRequest, case: UUID) -> HttpResponse:
    """The stages that the address names, laid on the first of them in the way it names."""
    row = get_object_or_404(visible_cases(request.user), public_id=case)
    lines = selectors.stage_lines(signed_in_person(request), row)
    traced = selectors.traced_stages(lines)
    chosen, faults = _chosen(request, traced)
    on = request.GET.get("on", "")
    if on and on not in ON:
        faults.append("The address names a way of laying that does not exist; another one is shown.")
    if on not in ON:
        on = first_way(chosen) if len(chosen) > 1 else ON[0]
    laid = overlay(chosen, on) if len(chosen) > 1 else None
    shown = {
        "case_id": row.public_id,
        "case_code": row.code,
        "lines": lines,
        "traced": len(traced),
        "chosen": [stage.key for stage in chosen],
        "most": MOST_STAGES,
        "on": on,
        "ways": [(key, ON_LABELS[key]) for key in ON],
        "way_words": ON_WORDS[on],
        "structure": on if on in STRUCTURES else STRUCTURES[0],
        "structure_labels": [STRUCTURE_LABELS[key] for key in STRUCTURES],
        "overlay": laid,
        "sketch": sketch(laid) if laid else None,
        "later": [(one, style_of(one.stage), mark_names(one.marks)) for one in laid.later] if laid else [],
        "faults": faults,
        "noise_words": NOISE_WORDS,
        "sources": [str(SOURCES[key]) for key in CITED],
    }
    return render(request, "imaging/superimposition.html", shown)


def _chosen(request: HttpRequest, traced: tuple[TracedStage, ...]) -> tuple[list[TracedStage], list[str]]:
    """The stages to be shown, and what is wrong with those that the address names."""
    asked = request.GET.getlist("stage")
    if not asked:
        return list(traced if len(traced) < 2 else (traced[0], traced[-1])), []
    found = [stage for stage in traced if stage.key in asked]
    faults = []
    if len(set(asked)) > len(found):
        faults.append("The address names a stage that has no tracing of yours; it is left out.")
    if len(found) > MOST_STAGES:
        faults.append(
            f"{len(found)} stages are chosen; the first {MOST_STAGES} of them are shown. Choose up to {MOST_STAGES}."
        )
    if len(found) < 2:
        faults.append("Choose two or three stages.")
    return found[:MOST_STAGES], faults


@signed_in
@require_safe
def stable_structures(request: HttpRequest, tracing: UUID) -> HttpResponse:
    """The page on which marks are set on the radiograph of one tracing."""
    row = _own_or_404(request, tracing)
    marks, version = selectors.marks_of(row)
    here = row.item.record_set
    first = request.GET.get("structure", "")
    number = count(1)  # through all structures: the picture shows the marks of all of them
    shown = {
        "tracing": row.public_id,
        "picture": row.item.public_id,
        "picture_version": row.item.version,
        "case_id": here.case.public_id,
        "case_code": here.case.code,
        "stage": stage_label(here.stage, here.ordinal),
        "stage_key": here.stage,
        "ordinal": here.ordinal,
        "shown": picture_data(row.item),
        "state": _state(marks, version),
        "groups": [
            {
                "label": STRUCTURE_LABELS[key],
                "first": key == first,
                "entries": [
                    {
                        "key": mark.key,
                        "short": str(next(number)),
                        "name": mark.name,
                        "definition": mark.definition,
                        "note": _note(mark.stable_from, str(SOURCES[mark.source])),
                    }
                    for mark in marks_of(key)
                ],
            }
            for key in STRUCTURES
        ],
    }
    return render(request, "imaging/stable_structures.html", shown)


def _note(stable_from: str, source: str) -> str:
    stable = (
        f"Stable {stable_from if stable_from.startswith('until') else f'from {stable_from}'}. "
        if stable_from
        else ""
    )
    return f"{stable}Source: {source}."


@answers
def save_stable_structures(request: HttpRequest, tracing: UUID) -> HttpResponse:
    """Save marks and answer with what stands now."""
    row, body = _own_or_404(request, tracing), read_save(request.body)
    try:
        answer = services.save_marks(row, body.wanted.points, body.seen)
    except ChangedMeanwhile:
        return JsonResponse(_state(*selectors.marks_of(row)), status=CONFLICT)
    if isinstance(answer, services.MarksRefused):
        faults = [{"point": one.key, "message": one.words} for one in answer.faults]
        return JsonResponse({"faults": faults}, status=REFUSED)
    return JsonResponse(_state(answer.marks, answer.version))


def _state(marks: Any, version: int) -> dict[str, Any]:
    """What the page holds: every mark by its key, whatever its structure."""
    return {"version": version, "points": {key: at for held in marks.values() for key, at in held.items()}}


def _own_or_404(request: HttpRequest, tracing: UUID) -> Tracing:
    rows = visible_tracings(request.user).filter(reader=signed_in_person(request), repeat=0)
    return get_object_or_404(rows.select_related("item__record_set__case", "reader"), public_id=tracing)
