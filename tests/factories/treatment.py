"""Treatment events of a case for tests, made through the services a page would use."""

from __future__ import annotations

import uuid
from datetime import date
from typing import Any

from accounts.models import User
from portfolio.events import Event
from portfolio.models import Case, TreatmentEvent
from portfolio.treatment import services
from tests.factories.portfolio import NOON, case_of

BEGUN = date(2024, 3, 4)


def event_on(case: Case, by: User, kind: str = "start", on: date = BEGUN, **more: Any) -> TreatmentEvent:
    """One event of a case."""
    return services.add_events(by, case, [Event(on, kind, **more)], uuid.uuid4())[0]


def event_of(owner: User) -> TreatmentEvent:
    """The start of treatment of a new case."""
    return event_on(case_of(owner), owner)


def removed_event_of(owner: User) -> TreatmentEvent:
    """An event that was taken out."""
    row = event_of(owner)
    services.remove_event(row, NOON, row.version)
    return row
