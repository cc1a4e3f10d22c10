"""What is due by the plan's windows: every case by day, the overdue told first."""

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import date
from uuid import UUID

from plans.slots.in_hand import InHand
from plans.windows import STATE_WORDS, STILL_TO_COME, Due, due_list


@dataclass(frozen=True, slots=True)
class DueLine:
    """One window of one case."""

    case: UUID
    code: str
    label: str
    state: str
    words: str
    says: str
    day: date | None


@dataclass(frozen=True, slots=True)
class DuePage:
    """Overdue, to come by day, not yet known, done."""

    overdue: tuple[DueLine, ...]
    coming: tuple[DueLine, ...]
    waiting: tuple[DueLine, ...]
    done: tuple[DueLine, ...]
    any_window: bool
    any_day: bool


def due_of(hand: InHand, today: date) -> tuple[Due, ...]:
    """Every window of every case that is not set aside."""
    cases = [one.facts for one in hand.cases if one.code not in hand.set_aside]
    return due_list(hand.held.plan, cases, today)


def due_page(hand: InHand, today: date) -> DuePage:
    """The lines of the page, in four parts."""
    due = due_of(hand, today)
    ids = {one.code: one.public_id for one in hand.cases}
    return DuePage(
        _lines(due, ids, ("overdue",)),
        _lines(due, ids, ("due", "open", "later", "planned")),
        _lines(due, ids, ("waiting",)),
        _lines(due, ids, ("done", "early", "late")),
        bool(hand.held.plan.windows),
        any(one.state in STILL_TO_COME and (one.last or one.first) for one in due),
    )


def _lines(due: Sequence[Due], ids: dict[str, UUID], states: Sequence[str]) -> tuple[DueLine, ...]:
    return tuple(
        DueLine(
            ids[one.case],
            one.case,
            one.label,
            one.state,
            STATE_WORDS[one.state],
            one.says,
            one.last or one.first,
        )
        for one in due
        if one.state in states
    )
