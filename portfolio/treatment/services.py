"""Writing treatment events and the statements about a case."""

import uuid
from collections import Counter
from collections.abc import Mapping, Sequence
from dataclasses import astuple
from datetime import datetime

from django.db import IntegrityError, transaction

from accounts.models import User
from portfolio.events import Event
from portfolio.models import Case, CaseStatements, TreatmentEvent
from portfolio.services.saving import ChangedMeanwhile, OutOfDate, save_version
from portfolio.treatment.access import removed_events, visible_events

STATEMENTS = ("asymmetry", "surgical_plan", "presented_before")


def add_events(by: User, case: Case, events: Sequence[Event], batch: uuid.UUID) -> list[TreatmentEvent]:
    """Add the events of one form, all or none; the same form again makes nothing new.

    An event's public id follows from the form's id and from what it says, so a form that was sent, changed and
    sent again adds what is new in it. Raises ValidationError, OutOfDate.
    """
    keys = _keys(events, batch)
    rows = [
        TreatmentEvent(case=case, public_id=key, **_fields(event))
        for key, event in zip(keys, events, strict=True)
    ]
    for row in rows:
        row.clean_fields(exclude=["case"])
    made = _made(by, case, keys)
    try:
        with transaction.atomic():
            TreatmentEvent.objects.bulk_create(row for row in rows if row.public_id not in made)
    except IntegrityError as error:
        # The same form sent twice at once: the other request has made its rows between look and write.
        made = _made(by, case, keys)
        if len(made) < len(rows):
            raise OutOfDate from error
    return [made.get(row.public_id, row) for row in rows]


def _made(by: User, case: Case, keys: Sequence[uuid.UUID]) -> dict[uuid.UUID, TreatmentEvent]:
    """Those of the form's events that are there already, removed or not."""
    rows = (visible_events(by) | removed_events(by)).filter(case=case, public_id__in=keys)
    return {row.public_id: row for row in rows}


def _keys(events: Sequence[Event], batch: uuid.UUID) -> list[uuid.UUID]:
    seen: Counter[Event] = Counter()
    keys = []
    for event in events:
        seen[event] += 1
        keys.append(uuid.uuid5(batch, repr((astuple(event), seen[event]))))
    return keys


def edit_event(row: TreatmentEvent, event: Event, seen_version: int) -> None:
    """Save an event's form; raises ChangedMeanwhile, ValidationError."""
    save_version(row, seen_version, _fields(event))


def remove_event(row: TreatmentEvent, at: datetime, seen_version: int) -> None:
    """Take an event out of the course, from where it can be put back. Raises ChangedMeanwhile."""
    rows = TreatmentEvent.objects.filter(pk=row.pk, version=seen_version, removed_at__isnull=True)
    if not rows.update(removed_at=at):
        raise ChangedMeanwhile


def put_back(row: TreatmentEvent) -> None:
    """Put a removed event back; twice changes nothing."""
    TreatmentEvent.objects.filter(pk=row.pk).update(removed_at=None)


def erase_event(row: TreatmentEvent) -> None:
    """Erase a removed event for good."""
    TreatmentEvent.objects.filter(pk=row.pk, removed_at__isnull=False).delete()


def save_statements(case: Case, stated: Mapping[str, bool | None], note: str, seen_version: int) -> None:
    """Keep what is stated about a case; None is not stated. Raises ChangedMeanwhile."""
    with transaction.atomic():
        row, _ = CaseStatements.objects.get_or_create(case=case)
        save_version(row, seen_version, {**{name: stated[name] for name in STATEMENTS}, "note": note})


def _fields(event: Event) -> dict[str, object]:
    return {
        "on": event.on,
        "kind": event.kind,
        "teeth": " ".join(event.teeth),
        "detail": event.detail,
        "phase": event.phase,
        "done_by": event.done_by,
        "note": event.note,
    }
