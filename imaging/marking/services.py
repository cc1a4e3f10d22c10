"""Writing marks: saving, taking away, undoing, and doing again."""

from collections.abc import Mapping
from datetime import datetime
from typing import Any, TypeAlias

from django.db import transaction
from django.db.models import QuerySet

from accounts.models import User
from imaging.models import Marking, MarkingRevision, StepAction
from imaging.steps.answers import Answer, Fault, Refused, Saved
from imaging.steps.history import Steps
from imaging.steps.services import answered, history, items_of
from portfolio.models import RecordItem
from portfolio.services.saving import ChangedMeanwhile

MOST_MARKS = 100
Mark: TypeAlias = Mapping[str, Any]
"""`{"kind", "label", "places": [{"x", "y", "zoom"}]}`, as `marking.forms` has checked it."""


def save(
    by: User,
    item: RecordItem,
    wanted: Mapping[str, Mark | None],
    seen: int,
    request_key: str,
    at: datetime,
) -> Answer:
    """Write marks (None takes one away) in one revision, all or nothing; the first save makes the row.

    A known request key gives Saved again; raises ChangedMeanwhile when the stored version is not the one seen.
    """
    with transaction.atomic():
        row = _locked(by, item)
        if answered(_steps(row), request_key):
            return Saved(row.version)
        if row.version != seen:
            raise ChangedMeanwhile
        items = [
            {"name": name, "old": row.marks.get(name), "new": new}
            for name, new in wanted.items()
            if new != row.marks.get(name)
        ]
        if faults := _faults(row, items):
            return Refused(tuple(faults))
        if items:
            _write(row, items, StepAction.CHANGE, by, at, request_key)
        return Saved(row.version)


def step(
    by: User, item: RecordItem, action: StepAction, number: int, request_key: str, at: datetime
) -> Saved:
    """Undo the newest change, or do the newest undone one again; `number` is the change the page means.

    Raises ChangedMeanwhile when that change is no longer the one whose turn it is.
    """
    with transaction.atomic():
        row = _locked(by, item)
        if answered(_steps(row), request_key):
            return Saved(row.version)
        items = items_of(_steps(row), action, number)
        _write(row, items, action, by, at, request_key, undoes=number)
        return Saved(row.version)


def history_of(marking: Marking) -> Steps:
    """Which change may be undone and which done again."""
    return history(_steps(marking))


def _steps(row: Marking) -> QuerySet[MarkingRevision]:
    return MarkingRevision.objects.filter(marking=row)


def _locked(by: User, item: RecordItem) -> Marking:
    row, _ = Marking.objects.get_or_create(item=item, reader=by)
    return Marking.objects.select_for_update(of=("self",)).select_related("item").get(pk=row.pk)


def _faults(row: Marking, items: list[dict[str, Any]]) -> list[Fault]:
    width, height = row.item.width or 0, row.item.height or 0
    faults = [
        Fault(
            one["name"],
            f"{one['new']['label'] or one['name']} lies outside the picture: {place['x']:.0f} across, {place['y']:.0f} "
            f"down; allowed: 0 to {width} across, 0 to {height} down.",
        )
        for one in items
        if one["new"]
        for place in one["new"]["places"]
        if not (0 <= place["x"] <= width and 0 <= place["y"] <= height)
    ]
    if len(_changed(row, items)) > MOST_MARKS:
        faults.append(Fault("", f"At most {MOST_MARKS} marks are kept on one picture. Take some away first."))
    return faults


def _changed(row: Marking, items: list[dict[str, Any]]) -> dict[str, Any]:
    marks = dict(row.marks)
    for one in items:
        if one["new"] is None:
            marks.pop(one["name"], None)
        else:
            marks[one["name"]] = one["new"]
    return marks


def _write(
    row: Marking,
    items: list[dict[str, Any]],
    action: StepAction,
    by: User,
    at: datetime,
    request_key: str,
    *,
    undoes: int | None = None,
) -> None:
    row.marks = _changed(row, items)
    row.version += 1
    row.full_clean(exclude=["public_id"])
    row.save(update_fields=["marks", "version"])
    MarkingRevision.objects.create(
        marking=row,
        number=row.version,
        by=by,
        at=at,
        action=action,
        undoes=undoes,
        request_key=request_key,
        items=items,
    )
