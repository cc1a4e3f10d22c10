"""Writing tracings: beginning one, saving points, undoing, and doing again."""

import uuid
from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field
from datetime import datetime
from typing import Any

from django.db import transaction
from django.db.models import QuerySet

from accounts.models import User
from imaging.cephalometry.landmarks import BY_KEY
from imaging.models import StepAction, Tracing, TracingRevision
from imaging.steps.answers import Answer, Fault, Refused, Saved
from imaging.steps.history import Steps
from imaging.steps.services import answered, history, items_of
from imaging.tracing.access import visible_tracings
from imaging.tracing.as_face import Placed, face_of, mirrored_words
from imaging.tracing.on_picture import Way, face_axes
from imaging.tracing.outlines import Knot, row_faults
from imaging.tracing.pictures import picture_of, traceable_fault
from portfolio.models import RecordItem
from portfolio.services.saving import ChangedMeanwhile, make_once

PLANE, FORWARD, OUTLINE = "mandibular_plane", "forward", "outline:"


class CannotTrace(Exception):
    """The picture cannot be traced; the text says why."""


@dataclass(frozen=True, slots=True)
class Wanted:
    """What is to be changed: points by landmark and outlines by structure (None takes one away), the plane, the side
    the patient faces.

    `faces` is right or left of the picture as it is shown.
    """

    points: Mapping[str, Placed | None] = field(default_factory=dict)
    outlines: Mapping[str, Sequence[Knot] | None] = field(default_factory=dict)
    mandibular_plane: str | None = None
    faces: Way | None = None


def begin(by: User, item: RecordItem, public_id: uuid.UUID, faces: Way, mandibular_plane: str) -> Tracing:
    """The person's tracing of a radiograph, made when there is none yet; raises CannotTrace, OutOfDate."""
    if fault := traceable_fault(item):
        raise CannotTrace(fault)
    if already := Tracing.objects.filter(item=item, reader=by, repeat=0).first():
        return already
    forward = picture_of(item).way_back(faces)
    return make_once(
        visible_tracings(by),
        public_id,
        lambda: Tracing.objects.create(
            public_id=public_id, item=item, reader=by, forward=forward, mandibular_plane=mandibular_plane
        ),
    )


def save(by: User, tracing: Tracing, wanted: Wanted, seen: int, request_key: str, at: datetime) -> Answer:
    """Write changes in one revision, all or nothing.

    A known request key gives Saved again.  Raises ChangedMeanwhile when one of the points, outlines or choices that
    are to change was changed after the version the page had seen; what else was changed since does not matter.
    """
    with transaction.atomic():
        row = _locked(tracing)
        if answered(_steps(row), request_key):
            return Saved(row.version)
        asked = _asked(row, wanted)
        if seen > row.version or _changed_since(row, seen) & set(asked):
            raise ChangedMeanwhile
        faults = _faults(row, wanted)
        items = [] if faults else _items(row, asked)
        if not faults:
            faults = _whole_faults(row, items)
        if faults:
            return Refused(tuple(faults))
        if items:
            _write(row, items, StepAction.CHANGE, by, at, request_key)
        return Saved(row.version)


def step(
    by: User, tracing: Tracing, action: StepAction, number: int, request_key: str, at: datetime
) -> Saved:
    """Undo the newest change, or do the newest undone one again; `number` is the change the page means.

    Raises ChangedMeanwhile when that change is no longer the one whose turn it is.
    """
    with transaction.atomic():
        row = _locked(tracing)
        if answered(_steps(row), request_key):
            return Saved(row.version)
        items = items_of(_steps(row), action, number)
        _write(row, items, action, by, at, request_key, undoes=number)
        return Saved(row.version)


def history_of(tracing: Tracing) -> Steps:
    """Which change may be undone and which done again."""
    return history(_steps(tracing))


def _steps(row: Tracing) -> QuerySet[TracingRevision]:
    return TracingRevision.objects.filter(tracing=row)


def _locked(tracing: Tracing) -> Tracing:
    return Tracing.objects.select_for_update(of=("self",)).select_related("item").get(pk=tracing.pk)


def _changed_since(row: Tracing, version: int) -> set[str]:
    later = TracingRevision.objects.filter(tracing=row, number__gt=version).values_list("items", flat=True)
    return {one["name"] for items in later for one in items}


def _faults(row: Tracing, wanted: Wanted) -> list[Fault]:
    width, height = row.item.width or 0, row.item.height or 0
    faults = [Fault("", f"{name} is not a landmark.") for name in wanted.points if name not in BY_KEY]
    for name, at in wanted.points.items():
        if at is not None and not (0 <= at["x"] <= width and 0 <= at["y"] <= height):
            faults.append(
                Fault(
                    name,
                    f"{name} lies outside the picture: {at['x']:.0f} across, {at['y']:.0f} down; allowed: 0 to "
                    f"{width} across, 0 to {height} down.",
                )
            )
    for key, knots in wanted.outlines.items():
        faults += [Fault(OUTLINE + key, words) for words in row_faults(key, knots or (), (width, height))]
    return faults


def _asked(row: Tracing, wanted: Wanted) -> dict[str, Any]:
    """What is to change by the names of the history; an outline without knots is none."""
    asked: dict[str, Any] = dict(wanted.points)
    asked |= {OUTLINE + key: list(knots) if knots else None for key, knots in wanted.outlines.items()}
    if wanted.mandibular_plane is not None:
        asked[PLANE] = wanted.mandibular_plane
    if wanted.faces is not None:
        asked[FORWARD] = picture_of(row.item).way_back(wanted.faces).value
    return asked


def _items(row: Tracing, asked: Mapping[str, Any]) -> list[dict[str, Any]]:
    now: dict[str, Any] = {PLANE: row.mandibular_plane, FORWARD: row.forward, **row.points}
    now |= {OUTLINE + key: knots for key, knots in row.outlines.items()}
    return [
        {"name": name, "old": now.get(name), "new": new}
        for name, new in asked.items()
        if new != now.get(name)
    ]


def _whole_faults(row: Tracing, items: list[dict[str, Any]]) -> list[Fault]:
    after = _changed(row, items)
    axes = face_axes(picture_of(row.item), Way(after[FORWARD]))
    words = "" if axes is None else mirrored_words(face_of(after["points"], axes, None, after[PLANE]))
    return [Fault("", words)] if words else []


def _changed(row: Tracing, items: list[dict[str, Any]]) -> dict[str, Any]:
    """The fields of the tracing after the changes."""
    points, outlines = dict(row.points), dict(row.outlines)
    choices = {PLANE: row.mandibular_plane, FORWARD: row.forward}
    for one in items:
        name, new = one["name"], one["new"]
        if name in choices:
            choices[name] = new
            continue
        kept, key = (outlines, name.removeprefix(OUTLINE)) if name.startswith(OUTLINE) else (points, name)
        if new is None:
            kept.pop(key, None)
        else:
            kept[key] = new
    return {"points": points, "outlines": outlines, **choices}


def _write(
    row: Tracing,
    items: list[dict[str, Any]],
    action: StepAction,
    by: User,
    at: datetime,
    request_key: str,
    *,
    undoes: int | None = None,
) -> None:
    after = _changed(row, items)
    for name, value in after.items():
        setattr(row, name, value)
    row.version += 1
    row.full_clean(exclude=["public_id"])
    row.save(update_fields=[*after, "version"])
    TracingRevision.objects.create(
        tracing=row,
        number=row.version,
        by=by,
        at=at,
        action=action,
        undoes=undoes,
        request_key=request_key,
        items=items,
    )
