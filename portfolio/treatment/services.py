"""Writing treatment events and the statements about a case."""

import uuid
from collections import Counter
from collections.abc import Mapping, Sequence
from dataclasses import astuple
from datetime import datetime

from django.db import transaction

from accounts.models import User
from portfolio.events import Event
from portfolio.models import Case, CaseStatements, TreatmentEvent
from portfolio.services.saving import ChangedMeanwhile, checked, make_once, save_version
from portfolio.treatment.access import removed_events, visible_events

STATEMENTS = ("asymmetry", "surgical_plan", "presented_before")


def add_events(by: User, case: Case, events: Sequence[Event], batch: uuid.UUID) -> list[TreatmentEvent]:
    """Add the events of one form, all or none; the same form again makes nothing new.

    An event's public id follows from the form's id and from what it says, so a form that was sent, changed and
    sent again adds what is new in it. Raises ValidationError, OutOfDate.
    """
    with transaction.atomic():
        return [_add(by, case, event, key) for event, key in zip(events, _keys(events, batch), strict=True)]


def _keys(events: Sequence[Event], batch: uuid.UUID) -> list[uuid.UUID]:
    seen: Counter[Event] = Counter()
    keys = []
    for event in events:
        seen[event] += 1
        keys.append(uuid.uuid5(batch, repr((astuple(event), seen[event]))))
    return keys


def _add(by: User, case: Case, event: Event, public_id: uuid.UUID) -> TreatmentEvent:
    def make() -> TreatmentEvent:
        row = TreatmentEvent(case=case, public_id=public_id, **_fields(event))
        checked(row).save()
        return row

    made = (visible_events(by) | removed_events(by)).filter(case=case)
    return make_once(made, public_id, make)


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
