"""Reading: requests as their pages show them."""

from collections.abc import Iterable
from dataclasses import dataclass
from datetime import datetime
from uuid import UUID

from django.db.models import Count, Q, QuerySet

from portfolio.access import Asker, visible_patients
from portfolio.moving.access import asked_by, offered_to, visible_moves
from portfolio.moving.models import MoveAnswer, MoveRequest

MOST_ANSWERED = 50


@dataclass(frozen=True, slots=True)
class MoveLine:
    """One request: the code, who asked whom, how many cases; never more of the patient."""

    public_id: UUID
    code: str
    patient: UUID | None
    """Where the person may open the patient."""
    from_whom: str
    to_whom: str
    note: str
    cases: int
    private_along: bool
    asked_at: datetime
    answer: str
    answered_at: datetime | None
    mine: bool


@dataclass(frozen=True, slots=True)
class Moves:
    """What is offered to the person, what the person has asked, what is over."""

    offered: tuple[MoveLine, ...]
    asked: tuple[MoveLine, ...]
    over: tuple[MoveLine, ...]


def moves(user: Asker) -> Moves:
    """Every request of the person; four queries."""
    over = visible_moves(user).exclude(answer=MoveAnswer.OPEN).order_by("-answered_at", "-pk")
    own = set(visible_patients(user).filter(move_requests__isnull=False).values_list("pk", flat=True))
    return Moves(
        _lines(user, offered_to(user).order_by("asked_at"), own),
        _lines(user, asked_by(user).order_by("asked_at"), own),
        _lines(user, over[:MOST_ANSWERED], own),
    )


def open_request(user: Asker, patient: int) -> MoveLine | None:
    """The open request for one of the person's patients."""
    found = _lines(user, asked_by(user).filter(patient=patient), {patient})
    return found[0] if found else None


def _lines(user: Asker, rows: QuerySet[MoveRequest], own: Iterable[int]) -> tuple[MoveLine, ...]:
    there = Count("patient__cases", filter=Q(patient__cases__deleted_at__isnull=True))
    counted = rows.select_related("patient", "asked_by", "asked_to").annotate(there=there)
    return tuple(
        MoveLine(
            row.public_id,
            row.patient.code,
            row.patient.public_id if row.patient_id in set(own) else None,
            str(row.asked_by),
            str(row.asked_to),
            row.note,
            row.there,
            row.private_along,
            row.asked_at,
            str(MoveAnswer(row.answer).label),
            row.answered_at,
            row.asked_by_id == user.pk,
        )
        for row in counted
    )
