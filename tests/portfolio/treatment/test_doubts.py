"""What cannot all be right among events is told in words without dates, and what is right is not."""

from __future__ import annotations

import re
from datetime import date
from typing import Any

import pytest
from hypothesis import given
from hypothesis import strategies as st

from portfolio import teeth
from portfolio.events import Event
from portfolio.treatment.course import course_of
from portfolio.treatment.doubts import Records, doubts_of
from portfolio.treatment.typed_teeth import EXAMPLES, TeethRefused, read_teeth, teeth_shown

TODAY = date(2026, 3, 2)
START = Event(date(2024, 1, 8), "start")
ON = Event(date(2024, 1, 8), "appliances_on", detail="fixed_labial")
OFF = Event(date(2025, 10, 6), "appliances_off")
END = Event(date(2025, 10, 6), "end")
ALL = frozenset(teeth.DEFAULT_PERMANENT)


def told(*events: Event, **more: Any) -> tuple[str, ...]:
    return doubts_of(course_of(events, TODAY), today=TODAY, **more)


def phase(number: int, first: date | None, last: date | None) -> list[Event]:
    begun = [Event(first, "phase_start", phase=number)] if first else []
    return begun + ([Event(last, "phase_end", phase=number)] if last else [])


FAULTS: dict[str, tuple[Event, ...]] = {
    "End of active treatment (month 26) is dated in the future.": (START, Event(date(2026, 3, 9), "end")),
    "The start of treatment is recorded more than once; the first one counts.": (
        START,
        Event(date(2024, 2, 5), "start"),
    ),
    "Active treatment ends more than once; the last end counts.": (
        START,
        Event(date(2025, 1, 6), "discontinued"),
        END,
    ),
    "Active treatment ends before it begins.": (START, Event(date(2023, 12, 4), "end")),
    "Active treatment ends, but nothing says when it began.": (END,),
    "Appliances on (month −1) lies before the start of treatment.": (
        START,
        Event(date(2023, 12, 4), "appliances_on", detail="aligners"),
    ),
    "Break (month 24) lies after the end of active treatment.": (
        START,
        END,
        Event(date(2026, 1, 12), "break"),
    ),
    "Retention begins (month 12) lies before the end of active treatment.": (
        START,
        Event(date(2025, 1, 13), "retention_start"),
        END,
    ),
    "Phase 1 ends but never begins.": (START, *phase(1, None, date(2024, 5, 6))),
    "Phase 1 ends before it begins.": (*phase(1, date(2024, 5, 6), date(2024, 2, 5)),),
    "Phase 1 begins more than once; the first one counts.": (
        *phase(1, date(2024, 1, 8), date(2024, 5, 6)),
        *phase(1, date(2024, 2, 5), None),
    ),
    "Phase 2 is recorded but phase 1 is not.": (*phase(2, date(2024, 5, 6), None),),
    "Phase 2 begins before phase 1.": (
        *phase(1, date(2024, 5, 6), date(2024, 9, 2)),
        *phase(2, date(2024, 1, 8), date(2024, 3, 4)),
    ),
    "Phase 1 has no end; it is counted until phase 2 begins.": (
        *phase(1, date(2024, 1, 8), None),
        *phase(2, date(2025, 1, 6), None),
    ),
    "Phases 1 and 2 overlap; the time they share counts once.": (
        *phase(1, date(2024, 1, 8), date(2024, 9, 2)),
        *phase(2, date(2024, 7, 1), None),
    ),
    "Phase 1 ends after the end of active treatment.": (*phase(1, date(2024, 1, 8), date(2025, 12, 1)), END),
    "Treatment starts before its first phase begins; active time is that of the phases.": (
        START,
        *phase(1, date(2024, 5, 6), None),
    ),
    "A break begins while one is open; the first day counts.": (
        START,
        Event(date(2024, 3, 4), "break"),
        Event(date(2024, 4, 8), "break"),
        Event(date(2024, 5, 6), "resumed"),
    ),
    "Resumed after a break (month 3) comes without a break before it.": (
        START,
        Event(date(2024, 5, 6), "resumed"),
    ),
    "A break is never resumed; it is counted to the end.": (START, Event(date(2024, 5, 6), "break")),
    "Fixed appliance, labial: on twice without coming off between.": (
        START,
        ON,
        Event(date(2024, 5, 6), "appliances_on", detail="fixed_labial"),
    ),
    "Aligners: off before they go on.": (
        START,
        Event(date(2024, 2, 5), "appliances_off", detail="aligners"),
        Event(date(2024, 5, 6), "appliances_on", detail="aligners"),
    ),
    "Expander: off but never on.": (
        START,
        Event(date(2024, 5, 6), "appliances_off", detail="expander"),
    ),
    "Fixed appliance, labial: not recorded as off at the end of active treatment.": (START, ON, END),
    "Tooth 14 is taken out twice.": (
        START,
        Event(date(2024, 2, 5), "extraction", ("14", "24")),
        Event(date(2024, 5, 6), "extraction", ("14",)),
    ),
}


@pytest.mark.parametrize("words", FAULTS)
def test_each_contradiction_is_told_in_these_words(words: str) -> None:
    assert words in told(*FAULTS[words])


def test_a_course_without_fault_is_told_nothing() -> None:
    records = [
        Records("initial", "initial", date(2024, 1, 2), ALL),
        Records("final", "final", date(2025, 10, 6), ALL - {"14", "24"}),
    ]
    sound = (
        START,
        ON,
        Event(date(2024, 2, 5), "extraction", ("14", "24")),
        Event(date(2024, 5, 6), "break"),
        Event(date(2024, 7, 1), "resumed"),
        OFF,
        END,
        Event(date(2025, 10, 6), "retention_start"),
        Event(date(2026, 1, 12), "retention_check"),
    )
    assert told(*sound, records=records, birth_date=date(2010, 1, 1)) == ()
    two = (*phase(1, date(2024, 1, 8), date(2024, 5, 6)), *phase(2, date(2025, 1, 6), date(2025, 10, 6)))
    assert told(START, *two, END, records=records) == ()


def test_a_tooth_that_stands_after_its_extraction_or_was_missing_before_is_named_in_the_notation() -> None:
    gone = Event(date(2024, 2, 5), "extraction", ("14",))
    after = [Records("final", "final", date(2025, 10, 6), ALL)]
    assert told(START, gone, records=after, notation="universal") == (
        "Tooth 5 was taken out, but listed as standing in the final records after that.",
    )
    undated = [Records("final", "final", None, ALL)]
    assert told(START, gone, records=undated) == (
        "Tooth 14 was taken out, but listed as standing in the final records after that.",
    )
    before = [Records("initial", "initial", date(2024, 1, 2), ALL - {"14"})]
    assert told(START, gone, records=before) == (
        "Tooth 14 was taken out, but not listed as standing in the initial records before that.",
    )
    # Interim records without a day may lie before or after; nothing can be said.
    assert told(START, gone, records=[Records("interim 1", "interim", None, ALL)]) == ()


def test_an_event_before_the_initial_records_needs_a_reason() -> None:
    records = [Records("initial", "initial", date(2024, 2, 1), ALL)]
    expected = "Start of treatment lies before the initial records, and its note gives no reason."
    assert told(START, records=records) == (expected,)
    reasoned = Event(START.on, "start", note="emergency; records taken as soon as could be")
    assert told(reasoned, records=records) == ()


def test_days_before_the_birth_and_casts_before_the_appliances_came_off_are_told() -> None:
    assert told(START, birth_date=date(2024, 6, 1)) == ("Start of treatment is dated before the birth.",)
    early = [Records("final", "final", date(2025, 9, 1), ALL)]
    assert told(START, ON, OFF, END, records=early) == (
        "The final records were taken before the last appliances came off.",
    )


def test_no_sentence_holds_a_date() -> None:
    every = [words for events in FAULTS.values() for words in told(*events)]
    assert every
    assert not [words for words in every if re.search(r"\d{4}|\d{1,2}[./-]\d", words)]


@given(st.lists(st.sampled_from(sorted(teeth.ALL_TEETH)), unique=True), st.sampled_from(sorted(EXAMPLES)))
def test_teeth_are_read_as_they_are_shown(found: list[str], notation: str) -> None:
    ordered = teeth.in_order(found)
    assert read_teeth(teeth_shown(ordered, notation), notation) == ordered


def test_what_is_no_tooth_is_named_with_what_is_allowed() -> None:
    assert read_teeth("14, 24; 34 and 44 14", "iso3950") == ("14", "24", "44", "34")
    assert read_teeth("ur4 ULe", "palmer") == ("14", "65")
    with pytest.raises(TeethRefused, match=r"^19, x are no teeth of ISO 3950: 11 to 48, primary 51 to 85\."):
        read_teeth("14 19 x", "iso3950")
    with pytest.raises(TeethRefused, match="33 is no tooth of Universal"):
        read_teeth("33", "universal")
