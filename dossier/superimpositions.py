"""Superimpositions of a case as print shows them: for each pair of stages cranial base, maxilla and mandible on a page.

The required set is cranial base, maxilla and mandible together, and with interim records each pair (a board's
instructions, read in an excerpt).  Where the cranial base is not marked, S-N stands in its place and says so.
"""

from collections.abc import Sequence
from itertools import pairwise

from dossier.case_file import CANDIDATE, LaidTracing, MovedLine, SuperimpositionPart
from imaging.superimposing.drawing import Sketch, sketch
from imaging.superimposing.selectors import stage_lines, traced_stages
from imaging.superimposing.staged import (
    MovedPoint,
    Overlay,
    Refusal,
    TracedStage,
    mark_names,
    overlay,
    scale_refusal,
)
from portfolio.access import Asker
from portfolio.models import Case

WHOLE_MM, JAW_MM = (92.0, 90.0), (72.0, 62.0)
"""Room for the whole face, and for each jaw: width and height. The table of moves below fits A4 and Letter."""
STEP_PERCENT = 5
WAYS = ("cranial_base", "maxilla", "mandible")
TOLD = tuple("N A ANS PNS U1 U1A U6 B Pog Gn Me Go L1 L1A L6 Ls Pog'".split())
"""The points of the printed table; the page on the screen tells all."""


def superimposition_parts(user: Asker, case: Case, edition: str) -> tuple[SuperimpositionPart, ...]:
    """One part for each pair of traced stages that is worth a page; what only waits to be marked is the candidate's."""
    stages = traced_stages(stage_lines(user, case))
    parts = (_part(first, second, whole=edition == CANDIDATE) for first, second in pairs(stages))
    return tuple(part for part in parts if any(view.sketch or view.refused for view in part.views))


def pairs(stages: Sequence[TracedStage]) -> list[tuple[TracedStage, TracedStage]]:
    """First and final stage, then each stage with the next: A-B, A-A1, A1-B and so on, each once."""
    finals = [one for one in stages[1:] if one.stage == "final"]
    found = [(stages[0], finals[0])] if finals else []
    return found + [pair for pair in pairwise(stages) if pair not in found]


def _part(first: TracedStage, second: TracedStage, *, whole: bool) -> SuperimpositionPart:
    laid = [overlay((first, second), way) for way in WAYS]
    differs = scale_refusal(first, second)
    if not laid[0].drawn and not differs:
        laid[0] = overlay((first, second), "sn")
    drawn = [sketch(one) for one in laid]
    percent = _percent(drawn)
    shown = [one for one in laid if one.drawn]
    return SuperimpositionPart(
        heading=f"{second.label.capitalize()} against {first.label}",
        views=(_refused(laid[0], _said(differs, whole=whole)),)
        if differs
        else tuple(
            _view(one, drawing, percent, whole=whole) for one, drawing in zip(laid, drawn, strict=True)
        ),
        percent=percent,
        unit=laid[0].unit,
        columns=tuple(one.label for one in shown),
        moved=_lines(shown),
        cautions=shown[0].cautions if shown else (),
    )


def _said(refusal: Refusal, *, whole: bool) -> str:
    """What a copy says: the candidate's everything, the examiner's only why the radiographs cannot be compared."""
    if whole:
        return refusal.words
    return refusal.reason if refusal.lasting else ""


def _refused(laid: Overlay, words: str) -> LaidTracing:
    return LaidTracing(laid.label, None, 0, 0, "", words)


def _view(laid: Overlay, drawing: Sketch | None, percent: int, *, whole: bool) -> LaidTracing:
    if drawing is None:
        return _refused(laid, " ".join(laid.refusals) if whole else "")
    one = laid.drawn[0]
    fit = ""
    if one.rms:
        names = ", ".join(mark_names(one.marks))
        fit = f"{len(one.marks)} marks, left {one.rms} {laid.unit} apart: {names}"
    return LaidTracing(
        laid.label, drawing, drawing.width * percent / 100, drawing.height * percent / 100, fit, ""
    )


def _percent(drawn: Sequence[Sketch | None]) -> int:
    """The largest size, in steps of 5 per cent up to true size, at which every drawing has room."""
    room = [
        100 * min(wide / one.width, high / one.height)
        for one, (wide, high) in zip(drawn, (WHOLE_MM, JAW_MM, JAW_MM), strict=True)
        if one
    ]
    return min(100, int(min(room) // STEP_PERCENT) * STEP_PERCENT) if room else 0


def _lines(shown: Sequence[Overlay]) -> tuple[MovedLine, ...]:
    told = [{point.key: point for point in one.drawn[0].moved} for one in shown]
    lines = []
    for key in TOLD:
        if any(key in found for found in told):
            cells = tuple(_cell(found.get(key)) for found in told)
            beyond = tuple(key in found and not found[key].within_error for found in told)
            lines.append(MovedLine(key, cells, beyond))
    return tuple(lines)


def _cell(point: MovedPoint | None) -> str:
    if point is None:
        return "–"
    across = f"{point.across_way} {point.across}".strip()
    up = f"{point.up_way} {point.up}".strip()
    return f"{across} ± {point.across_sd}, {up} ± {point.up_sd}"
