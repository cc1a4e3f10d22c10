"""A course in words: one line for the page of a case, and the facts at the head of its own page. No dates."""

from collections.abc import Iterator
from dataclasses import dataclass
from datetime import date
from fractions import Fraction

from portfolio.events import BY_KEY, HANDS, OPERATIONS, RETAINERS
from portfolio.treatment.course import Course
from portfolio.treatment.extractions import pattern_words, reasons_of
from portfolio.treatment.typed_teeth import teeth_shown


@dataclass(frozen=True, slots=True)
class Fact:
    """One line of the facts: what it is, the value in parts, and how it is defined."""

    label: str
    parts: tuple[str, ...]
    help: str = ""


def months_words(months: int) -> str:
    """`1 month`, `26 months`."""
    return f"{months} month{'' if months == 1 else 's'}"


def active_words(course: Course) -> str:
    """`22 months`, `14 months so far`, `treatment has not begun`."""
    if course.active_months is None:
        return "no start of treatment is recorded"
    return f"{months_words(course.active_months)}{' so far' if course.so_far else ''}"


def line(course: Course, notation: str) -> str:
    """What a page says of the course in one line; empty without events."""
    if not course.events:
        return ""
    said = [
        active_words(course)
        if course.active_months is None
        else f"{active_words(course)} of active treatment"
    ]
    if course.phases:
        said.append(f"{len(course.phases)} phase{'' if len(course.phases) == 1 else 's'}")
    if course.families:
        said.append(", ".join(dict.fromkeys(one.words for one in course.wears)))
    said.append(
        f"extracted: {pattern_words(course.extracted, notation)}" if course.extracted else "no extractions"
    )
    if course.surgical:
        said.append("with surgery of the jaws")
    if course.discontinued:
        said.append("discontinued")
    return "; ".join(said)


def facts(course: Course, notation: str) -> tuple[Fact, ...]:
    """What follows from the events, each with its definition."""
    found: list[Fact] = [_active(course), *_phases(course), *_breaks(course)]
    found += [_extractions(course, notation), *_operations(course), *_appliances(course)]
    found += [*_shares(course), *_moves(course), *_visits(course), *_retention(course)]
    return tuple(found)


def percent_words(share: Fraction) -> str:
    """Whole per cent, half up; what is not nothing is never 0 and what is not all never 100."""
    whole = int(share * 100 + Fraction(1, 2))
    if share and not whole:
        return "under 1 %"
    return "over 99 %" if whole == 100 and share < 1 else f"{whole} %"


def _active(course: Course) -> Fact:
    parts = [active_words(course)]
    if course.start_by:
        first = BY_KEY[course.start_by].label.lower()
        last = BY_KEY[course.end_by].label.lower() if course.end_by else "today"
        parts.append(f"from “{first}” to {f'“{last}”' if course.end_by else last}")
        whole = course.whole_months
        if whole is not None and (course.breaks or len(course.phases) > 1):
            parts.append(f"{months_words(whole)} with what is left out")
    if course.start_by == "transfer_in":
        parts.append("its start elsewhere is not recorded, so the time before is not counted")
    return Fact(
        "Active treatment time",
        tuple(parts),
        "Completed calendar months from the start to the end of active treatment. Breaks and the time between phases "
        "are left out.",
    )


def _phases(course: Course) -> Iterator[Fact]:
    for one in course.phases:
        going_on = " so far" if one.until is None and course.so_far else ""
        yield Fact(f"Phase {one.number}", (f"{months_words(one.months)}{going_on}",))


def _breaks(course: Course) -> Iterator[Fact]:
    if course.breaks:
        count = len(course.breaks)
        yield Fact(
            "Breaks",
            (
                f"{months_words(course.break_months)} in {count} break{'' if count == 1 else 's'}, not counted above",
            ),
        )


def _extractions(course: Course, notation: str) -> Fact:
    parts = [pattern_words(course.extracted, notation) or "none recorded"]
    for reason, gone in reasons_of(course.extractions):
        parts.append(f"{teeth_shown(gone, notation)}: {reason or 'reason not stated'}")
    if course.supernumeraries:
        parts.append(f"{course.supernumeraries} supernumerary")
    return Fact("Extractions", tuple(parts))


def _operations(course: Course) -> Iterator[Fact]:
    if course.operations:
        yield Fact("Surgery", tuple(OPERATIONS.get(one.detail, one.detail) for one in course.operations))


def _appliances(course: Course) -> Iterator[Fact]:
    if course.wears:
        yield Fact(
            "Appliances",
            tuple(
                f"{one.words}{'' if one.months is None else f', {months_words(one.months)}'}"
                for one in course.wears
            ),
            "From the day an appliance went on to the day it came off.",
        )


def _shares(course: Course) -> Iterator[Fact]:
    if not course.shares:
        return
    shares = sorted(course.shares, key=lambda one: -one.share)
    yield Fact(
        "Who treated",
        tuple(
            f"{HANDS.get(one.done_by, 'not stated by whom')}: {percent_words(one.share)}" for one in shares
        ),
        "Share of active treatment time. Whoever starts a treatment, begins a phase, puts appliances on, resumes or "
        "takes over has it in hand until somebody else does one of these.",
    )


def _moves(course: Course) -> Iterator[Fact]:
    parts = [f"taken over from another office{_when(course, on)}" for on in course.transfers_in]
    parts += [f"handed over to another office{_when(course, on)}" for on in course.transfers_out]
    if parts:
        yield Fact("Transfers", tuple(parts))


def _when(course: Course, on: date) -> str:
    months = course.months_since_start(on)
    return "" if months is None else f", month {months}"


def _visits(course: Course) -> Iterator[Fact]:
    parts = []
    if course.missed:
        parts.append(f"{course.missed} appointment{'' if course.missed == 1 else 's'} missed")
    if course.unplanned:
        parts.append(f"{course.unplanned} unplanned visit{'' if course.unplanned == 1 else 's'}")
    if parts:
        yield Fact("Visits", tuple(parts))


def _retention(course: Course) -> Iterator[Fact]:
    if course.retention_start is None:
        return
    parts = [RETAINERS.get(course.retainer, "begun")]
    since = course.months_since_end(course.last_check) if course.last_check else None
    if since is not None:
        parts.append(f"last check {months_words(since)} after active treatment")
    yield Fact("Retention", tuple(parts))
