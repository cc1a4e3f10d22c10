"""Stages of a case with their tracings and marks, as the superimposition reads them."""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, replace
from typing import Any
from uuid import UUID

from imaging.cephalometry.face import STRUCTURES, Face
from imaging.models import Tracing
from imaging.superimposing.access import visible_stable_marks
from imaging.superimposing.drawing import Sketch, sketch_of
from imaging.superimposing.staged import TracedStage
from imaging.tracing.access import visible_tracings
from imaging.tracing.as_face import face_of
from imaging.tracing.outlines import curves
from imaging.tracing.pictures import VIEW
from imaging.tracing.selectors import Reading, read
from portfolio.access import Asker, visible_record_sets
from portfolio.ages import in_order
from portfolio.models import Case, ItemState
from portfolio.selectors import stage_label


@dataclass(frozen=True, slots=True)
class StageLine:
    """One stage of a case for the page: its tracing if there is one, and how many marks each structure has."""

    key: str
    stage: str
    ordinal: int
    label: str
    record_set: UUID
    traced: TracedStage | None
    mark_counts: tuple[tuple[str, int], ...]


def marks_of(tracing: Tracing) -> tuple[Mapping[str, Any], int]:
    """Marks of a tracing by structure and key, with the number of their last save."""
    row = visible_stable_marks(tracing.reader).filter(tracing=tracing).first()
    return (row.marks, row.version) if row else ({}, 0)


def stage_lines(user: Asker, case: Case) -> tuple[StageLine, ...]:
    """Every stage of a case in the order of treatment, with the person's own first tracing of its radiograph."""
    rows = (
        visible_tracings(user)
        .filter(item__record_set__case=case, reader=user.pk, repeat=0)
        .filter(item__view=VIEW, item__state=ItemState.PRESENT)
        .select_related("item__record_set", "stable_marks", "reader")
        .order_by("-item__position", "-pk")
    )
    by_set = {row.item.record_set_id: row for row in rows}
    lines = []
    for one in in_order(visible_record_sets(user).filter(case=case)):
        label = stage_label(one.stage, one.ordinal)
        row = by_set.get(one.pk)
        traced = traced_stage(row) if row else None
        lines.append(
            StageLine(
                key=f"{one.stage}-{one.ordinal}" if one.ordinal > 1 else one.stage,
                stage=one.stage,
                ordinal=one.ordinal,
                label=label,
                record_set=one.public_id,
                traced=traced,
                mark_counts=tuple((key, len(traced.marks(key)) if traced else 0) for key in STRUCTURES),
            )
        )
    return tuple(lines)


def drawn_tracings(user: Asker, case: Case) -> dict[int, Sketch]:
    """The person's own first tracings of a case as drawings, by the primary key of the picture; with a scale only."""
    rows = (
        visible_tracings(user)
        .filter(item__record_set__case=case, reader=user.pk, repeat=0)
        .select_related("item__record_set", "stable_marks", "reader")
    )
    found = {row.item_id: sketch_of(traced_stage(row)) for row in rows}
    return {key: drawing for key, drawing in found.items() if drawing}


def traced_stages(lines: Sequence[StageLine]) -> tuple[TracedStage, ...]:
    """The stages that are traced."""
    return tuple(line.traced for line in lines if line.traced)


def traced_stage(row: Tracing) -> TracedStage:
    """A tracing that comes with picture, record set and marks loaded."""
    reading = read(row)
    here = row.item.record_set
    marks = row.stable_marks.marks if hasattr(row, "stable_marks") else {}
    return TracedStage(
        stage=here.stage,
        ordinal=here.ordinal,
        label=stage_label(here.stage, here.ordinal),
        tracing=row.public_id,
        face=_marked(reading, marks),
        why=reading.why,
        scale=reading.scale,
        plane=row.get_mandibular_plane_display(),
        outlines=curves(reading.face, row.outlines, reading.axes) if reading.face and reading.axes else {},
    )


def _marked(reading: Reading, marks: Mapping[str, Any]) -> Face | None:
    """The face with the marks as its fiducials, in the face's own frame."""
    if reading.face is None or reading.axes is None:
        return None
    held = {
        structure: face_of(points, reading.axes, reading.scale, reading.face.mandibular_plane).points
        for structure, points in marks.items()
    }
    return replace(reading.face, fiducials=held)
