"""Requests to take a coded patient over."""

from __future__ import annotations

import uuid

from accounts.models import User
from portfolio.models import MoveRequest, Patient
from portfolio.moving import services
from tests.factories.accounts import person
from tests.factories.portfolio import NOON, PatientFactory


def asked(
    by: User, to: User | None = None, patient: Patient | None = None, *, private_along: bool = False
) -> MoveRequest:
    """An open request of a person for one of the person's patients."""
    return services.ask(
        by,
        patient or PatientFactory(portfolio__owner=by),
        (to or person(name="Ferran Oyelaran")).email,
        "a transfer within the practice",
        private_along=private_along,
        public_id=uuid.uuid4(),
        at=NOON,
    )


def offered(to: User) -> MoveRequest:
    """An open request of somebody else to the person."""
    return asked(person(name="Ilse Brandvold"), to)
