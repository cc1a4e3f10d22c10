"""What in the events of a case cannot all be right, in sentences. They name events and stages, never a date.

Nothing is refused because of them: a chart may hold what looks odd. They are told where the events are shown.
"""

from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from datetime import date

from portfolio import teeth
from portfolio.events import APPLIANCES, BY_KEY, Event, label
from portfolio.treatment.course import Course

AFTER_END = {kind.key for kind in BY_KEY.values() if kind.active}
"""Kinds that belong before the end of active treatment."""


@dataclass(frozen=True, slots=True)
class Records:
    """The records of one stage as far as events are held against them."""

    label: str
    stage: str
    taken_on: date | None
    standing: frozenset[str]


def doubts_of(
    course: Course,
    *,
    today: date,
    birth_date: date | None = None,
    records: Sequence[Records] = (),
    notation: str = "iso3950",
) -> tuple[str, ...]:
    """Every contradiction, each once."""
    said = [
        *_days(course, today, birth_date),
        *_start_and_end(course),
        *_phases(course),
        *_breaks(course),
        *_appliances(course),
        *_against_records(course, records),
        *_extractions(course, records, notation),
    ]
    return tuple(dict.fromkeys(said))


def _days(course: Course, today: date, birth_date: date | None) -> Iterable[str]:
    for one in course.events:
        if one.on > today:
            yield f"{_named(course, one)} is dated in the future."
        if birth_date and one.on < birth_date:
            yield f"{_named(course, one)} is dated before the birth."


def _start_and_end(course: Course) -> Iterable[str]:
    kinds = [one.kind for one in course.events]
    if kinds.count("start") > 1:
        yield "The start of treatment is recorded more than once; the first one counts."
    if kinds.count("end") + kinds.count("discontinued") > 1:
        yield "Active treatment ends more than once; the last end counts."
    if course.start and course.end and course.end < course.start:
        yield "Active treatment ends before it begins."
    elif course.end_by in ("end", "discontinued") and not course.start:
        yield "Active treatment ends, but nothing says when it began."
    end = course.end if course.end_by in ("end", "discontinued") else None
    for one in course.events:
        if course.start_by == "start" and course.start and one.on < course.start and one.kind in AFTER_END:
            yield f"{_named(course, one)} lies before the start of treatment."
        if end and one.on > end and one.kind in AFTER_END:
            yield f"{_named(course, one)} lies after the end of active treatment."
        if end and one.on < end and one.kind in ("retention_start", "retention_check"):
            yield f"{_named(course, one)} lies before the end of active treatment."


def _phases(course: Course) -> Iterable[str]:
    begun = {one.number: one for one in course.phases}
    for one in course.events:
        if one.kind == "phase_end" and one.phase not in begun:
            yield f"Phase {one.phase} ends but never begins."
        if one.kind == "phase_end" and one.phase in begun and one.on < begun[one.phase].first:
            yield f"Phase {one.phase} ends before it begins."
    for kind, word in (("phase_start", "begins"), ("phase_end", "ends")):
        numbers = [one.phase for one in course.events if one.kind == kind]
        for number in sorted({one for one in numbers if numbers.count(one) > 1}):
            counts = "first" if kind == "phase_start" else "last"
            yield f"Phase {number} {word} more than once; the {counts} one counts."
    for number in range(1, max(begun, default=0)):
        if number not in begun:
            yield f"Phase {number + 1} is recorded but phase {number} is not."
    for earlier, later in zip(course.phases, course.phases[1:], strict=False):
        if later.first < earlier.first:
            yield f"Phase {later.number} begins before phase {earlier.number}."
        elif earlier.until is None:
            yield f"Phase {earlier.number} has no end; it is counted until phase {later.number} begins."
        elif later.first < earlier.until:
            yield f"Phases {earlier.number} and {later.number} overlap; the time they share counts once."
    ended = course.end if course.end_by in ("end", "discontinued") else None
    for phase in course.phases:
        if ended and phase.until and phase.until > ended:
            yield f"Phase {phase.number} ends after the end of active treatment."
    if (
        course.phases
        and course.start_by == "start"
        and course.start
        and course.start < course.phases[0].first
    ):
        yield "Treatment starts before its first phase begins; active time is that of the phases."


def _breaks(course: Course) -> Iterable[str]:
    open_break = False
    for one in course.events:
        if one.kind == "break":
            if open_break:
                yield "A break begins while one is open; the first day counts."
            open_break = True
        elif one.kind == "resumed":
            if not open_break:
                yield f"{_named(course, one)} comes without a break before it."
            open_break = False
    if open_break:
        yield "A break is never resumed; it is counted to the end."


def _appliances(course: Course) -> Iterable[str]:
    on: list[str] = []
    later = [one.detail for one in course.events if one.kind in ("appliances_on", "appliance")]
    for one in course.events:
        if one.kind in ("appliances_on", "appliance"):
            if one.detail in on and one.kind == "appliances_on" and not one.teeth:
                yield f"{_appliance(one.detail)}: on twice without coming off between."
            on.append(one.detail)
            later.remove(one.detail)
        elif one.kind == "appliances_off":
            if one.detail not in on if one.detail else not on:
                comes = one.detail in later or (later and not one.detail)
                yield f"{_appliance(one.detail)}: off {'before they go on' if comes else 'but never on'}."
            on = [family for family in on if one.detail and family != one.detail]
    if course.end_by == "end":
        for wear in course.wears:
            if wear.off is None and not wear.as_well:
                yield f"{_appliance(wear.family)}: not recorded as off at the end of active treatment."


def _against_records(course: Course, records: Sequence[Records]) -> Iterable[str]:
    initial = next((one.taken_on for one in records if one.stage == "initial" and one.taken_on), None)
    for one in course.events:
        if initial and one.on < initial and not one.note.strip() and one.kind != "note":
            yield f"{_named(course, one)} lies before the initial records, and its note gives no reason."
    offs = [one.on for one in course.events if one.kind == "appliances_off"]
    for here in records:
        final = here.stage == "final" and here.taken_on is not None
        if final and offs and not course.so_far and here.taken_on and here.taken_on < max(offs):
            yield f"The {here.label} records were taken before the last appliances came off."


def _extractions(course: Course, records: Sequence[Records], notation: str) -> Iterable[str]:
    gone: set[str] = set()
    for event in course.extractions:
        for tooth in sorted(gone & set(event.teeth)):
            yield f"{_tooth(tooth, notation)} is taken out twice."
        gone |= set(event.teeth)
        for one in records:
            later = _is_later(one, event, course)
            standing = [tooth for tooth in teeth.in_order(set(event.teeth)) if tooth in one.standing]
            if later and standing:
                yield f"{_teeth(standing, notation)} taken out, but listed as standing in the {one.label} records after that."
            first = one.stage == "initial" and later is False
            absent = [tooth for tooth in teeth.in_order(set(event.teeth)) if tooth not in one.standing]
            if first and one.standing and absent:
                yield f"{_teeth(absent, notation)} taken out, but not listed as standing in the {one.label} records before that."


def _is_later(one: Records, event: Event, course: Course) -> bool | None:
    """Whether records were taken after an event: by their day, else by their stage where that tells it, else None."""
    if one.taken_on:
        return None if one.taken_on == event.on else one.taken_on > event.on
    if one.stage == "initial":
        return False if course.start and event.on >= course.start else None
    if one.stage == "interim":
        return None
    return True if course.end is None or event.on <= course.end else None


def _named(course: Course, event: Event) -> str:
    """`Extraction (month 3)`: the month counts from the start."""
    months = course.months_since_start(event.on)
    if months is None or event.on == course.start:
        return label(event)
    return f"{label(event)} (month {f'{months}'.replace('-', '−')})"


def _appliance(family: str) -> str:
    words = APPLIANCES.get(family, family) or "appliances"
    return words[:1].upper() + words[1:]


def _tooth(tooth: str, notation: str) -> str:
    return f"Tooth {teeth.shown(tooth, notation)}"


def _teeth(found: Sequence[str], notation: str) -> str:
    names = ", ".join(teeth.shown(tooth, notation) for tooth in found)
    return f"Tooth {names} was" if len(found) == 1 else f"Teeth {names} were"
