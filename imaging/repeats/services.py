"""Writing repeats: beginning one beside a first tracing, saving its points, finishing it, throwing it away."""

import uuid
from datetime import datetime

from django.db import transaction
from django.db.models import Max

from accounts.models import User
from imaging.models import RepeatTracing, Tracing
from imaging.repeats.access import visible_repeats
from imaging.steps.answers import Answer
from imaging.tracing import services as tracing_services
from imaging.tracing.access import visible_tracings
from imaging.tracing.pictures import traceable_fault
from imaging.tracing.services import Wanted
from portfolio.models import RecordItem
from portfolio.services.saving import OutOfDate, make_once

FEWEST_POINTS = 3
"""Fewer shared points tell nothing of a tracing."""


class CannotRepeat(Exception):
    """There is nothing to repeat, or nothing to finish; the text says why."""


def begin_repeat(by: User, item: RecordItem, public_id: uuid.UUID, at: datetime) -> RepeatTracing:
    """The person's unfinished repeat of a radiograph, made when there is none; raises CannotRepeat, OutOfDate.

    The side faced and the mandibular plane are those of the first tracing, which is kept as it stands now.
    """
    if fault := traceable_fault(item):
        raise CannotRepeat(fault)
    with transaction.atomic():
        first = _first(by, item)
        if first is None or len(first.points) < FEWEST_POINTS:
            raise CannotRepeat(
                f"Trace this radiograph first, at least {FEWEST_POINTS} points; then it can be repeated."
            )
        open_ones = visible_repeats(by).filter(first=first, finished_at__isnull=True)
        if already := open_ones.select_related("tracing").first():
            return already
        made = make_once(visible_tracings(by), public_id, lambda: _made(first, public_id, at))
    repeat = visible_repeats(by).select_related("tracing").filter(tracing=made, first=first).first()
    if repeat is None:
        raise OutOfDate
    return repeat


def _first(by: User, item: RecordItem) -> Tracing | None:
    """The first tracing, locked: two windows that begin a repeat at once wait for each other."""
    rows = Tracing.objects.select_for_update(of=("self",))
    return rows.filter(item=item, reader=by, repeat=0).first()


def _made(first: Tracing, public_id: uuid.UUID, at: datetime) -> Tracing:
    newest = Tracing.objects.filter(item=first.item_id, reader=first.reader_id).aggregate(Max("repeat"))
    made = Tracing.objects.create(
        public_id=public_id,
        item_id=first.item_id,
        reader_id=first.reader_id,
        repeat=newest["repeat__max"] + 1,
        forward=first.forward,
        mandibular_plane=first.mandibular_plane,
    )
    then = {
        "points": first.points,
        "forward": first.forward,
        "mandibular_plane": first.mandibular_plane,
        "version": first.version,
    }
    RepeatTracing.objects.create(tracing=made, first=first, first_then=then, begun_at=at)
    return made


def save_repeat(
    by: User, repeat: RepeatTracing, wanted: Wanted, seen: int, request_key: str, at: datetime
) -> Answer:
    """Write points of an unfinished repeat, as `imaging.tracing.services.save` writes them; raises CannotRepeat."""
    with transaction.atomic():
        if _locked(repeat).finished_at is not None:
            raise CannotRepeat("This repeat is finished and is not changed any more.")
        return tracing_services.save(by, repeat.tracing, wanted, seen, request_key, at)


def finish_repeat(repeat: RepeatTracing, at: datetime) -> None:
    """Close a repeat: from now on it is shown beside the first and counted.  Raises CannotRepeat."""
    with transaction.atomic():
        row = _locked(repeat)
        if row.finished_at is not None:
            return
        shared = set(row.first_then["points"]) & set(row.tracing.points)
        if len(shared) < FEWEST_POINTS:
            raise CannotRepeat(
                f"{len(shared)} points are placed of those that the first tracing has; at least {FEWEST_POINTS} are needed."
            )
        row.finished_at = max(at, row.begun_at)
        row.save(update_fields=["finished_at"])


def discard_repeat(repeat: RepeatTracing) -> None:
    """Throw an unfinished repeat away; raises CannotRepeat for a finished one, which stays."""
    with transaction.atomic():
        row = _locked(repeat)
        if row.finished_at is not None:
            raise CannotRepeat(
                "A finished repeat stays: figures would be made better by throwing away what differs."
            )
        row.tracing.delete()


def _locked(repeat: RepeatTracing) -> RepeatTracing:
    rows = RepeatTracing.objects.select_for_update(of=("self",))
    return rows.select_related("tracing").get(pk=repeat.pk)
