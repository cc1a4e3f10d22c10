"""Active time, phases, breaks, hands and extractions follow from events by calendar rules."""

from __future__ import annotations

from datetime import date, timedelta
from fractions import Fraction
from itertools import pairwise

import pytest
from hypothesis import given
from hypothesis import strategies as st

from portfolio.ages import months_between
from portfolio.events import ANOTHER, APPLIANCES, BY_KEY, CANDIDATE, HANDS, KINDS, SUPERVISED, Event, in_order
from portfolio.treatment.course import Course, course_of
from portfolio.treatment.course_words import facts, line, percent_words
from portfolio.treatment.extractions import pattern_words
from portfolio.treatment.spans import Span, common, days_of, joined, without
from portfolio.treatment.timeline import LEFT, RIGHT, WIDTH, timeline

TODAY = date(2026, 3, 2)
DAYS = st.dates(date(2018, 1, 1), date(2025, 12, 31))


def spans() -> st.SearchStrategy[list[Span]]:
    one = st.tuples(DAYS, st.integers(1, 900)).map(lambda pair: Span(pair[0], pair[0] + timedelta(pair[1])))
    return st.lists(one, max_size=4)


def each_day(found: list[Span] | tuple[Span, ...]) -> set[date]:
    return {one.first + timedelta(number) for one in found for number in range(one.days)}


def course(*events: Event, today: date = TODAY) -> Course:
    return course_of(events, today)


def treated(first: date, until: date) -> Course:
    return course(Event(first, "start"), Event(until, "end"))


@given(spans(), spans())
def test_spans_are_sets_of_days(one: list[Span], other: list[Span]) -> None:
    """Held against sets of single days, which know nothing of spans."""
    a, b = each_day(one), each_day(other)
    assert each_day(joined(one)) == a
    assert days_of(one) == len(a)
    assert each_day(common(one, other)) == a & b
    assert each_day(without(one, other)) == a - b
    for result in (joined(one), common(one, other), without(one, other)):
        assert all(before.until < after.first for before, after in pairwise(result))


@pytest.mark.parametrize(
    ("first", "until", "months"),
    [
        (date(2024, 1, 31), date(2024, 2, 29), 0),
        (date(2024, 1, 31), date(2024, 3, 1), 1),
        (date(2023, 1, 31), date(2023, 2, 28), 0),
        (date(2023, 1, 31), date(2024, 1, 31), 12),
        (date(2024, 2, 29), date(2025, 2, 28), 11),
        (date(2024, 2, 29), date(2025, 3, 1), 12),
        (date(2023, 11, 30), date(2025, 11, 30), 24),
        (date(2024, 5, 7), date(2024, 5, 7), 0),
    ],
)
def test_treatment_length_is_counted_in_calendar_months(first: date, until: date, months: int) -> None:
    found = treated(first, until)
    assert (found.active_months, found.so_far, found.end) == (months, False, until)


@given(DAYS, st.integers(0, 2000), st.integers(0, 400))
def test_a_longer_treatment_never_counts_less_and_without_breaks_it_is_the_difference_of_dates(
    first: date, length: int, more: int
) -> None:
    until, later = first + timedelta(length), first + timedelta(length + more)
    assert treated(first, until).active_months == months_between(first, until)
    assert (treated(first, later).active_months or 0) >= (treated(first, until).active_months or 0)


def test_breaks_are_subtracted_and_told() -> None:
    found = course(
        Event(date(2023, 9, 18), "start"),
        Event(date(2024, 8, 5), "break"),
        Event(date(2024, 11, 5), "resumed"),
        Event(date(2025, 10, 20), "end"),
    )
    whole = (date(2025, 10, 20) - date(2023, 9, 18)).days
    assert (found.active_days, found.break_days) == (whole - 92, 92)
    assert (found.whole_months, found.active_months, found.break_months) == (25, 22, 3)
    words = {fact.label: fact.parts for fact in facts(found, "iso3950")}
    assert words["Breaks"] == ("3 months in 1 break, not counted above",)
    assert words["Active treatment time"][0] == "22 months"
    assert "25 months with what is left out" in words["Active treatment time"]


def test_a_break_that_is_never_resumed_counts_to_the_end_and_treatment_without_an_end_to_today() -> None:
    found = course(Event(date(2025, 3, 2), "start"), Event(date(2025, 9, 2), "break"))
    assert (found.so_far, found.active_months, found.break_days) == (True, 6, (TODAY - date(2025, 9, 2)).days)
    running = course(Event(date(2025, 3, 2), "start"))
    assert (running.active_months, running.so_far) == (12, True)
    assert line(running, "iso3950").startswith("12 months so far of active treatment")


def test_phases_are_counted_each_and_the_time_between_them_is_not() -> None:
    found = course(
        Event(date(2022, 3, 7), "start"),
        Event(date(2022, 3, 7), "phase_start", phase=1),
        Event(date(2022, 12, 12), "phase_end", phase=1),
        Event(date(2024, 2, 5), "phase_start", phase=2),
        Event(date(2025, 8, 25), "phase_end", phase=2),
        Event(date(2025, 8, 25), "end"),
    )
    assert [(one.number, one.months) for one in found.phases] == [(1, 9), (2, 18)]
    days = (date(2022, 12, 12) - date(2022, 3, 7)).days + (date(2025, 8, 25) - date(2024, 2, 5)).days
    assert found.active_days == days == sum(one.days for one in found.phases)
    assert found.active_months == months_between(date(2022, 3, 7), date(2022, 3, 7) + timedelta(days)) == 27


def test_a_phase_without_an_end_runs_to_the_next_one_and_overlapping_time_counts_once() -> None:
    open_first = course(
        Event(date(2024, 1, 1), "phase_start", phase=1),
        Event(date(2024, 7, 1), "phase_start", phase=2),
        Event(date(2025, 1, 1), "phase_end", phase=2),
    )
    assert [one.months for one in open_first.phases] == [6, 6]
    overlapping = course(
        Event(date(2024, 1, 1), "phase_start", phase=1),
        Event(date(2024, 9, 1), "phase_end", phase=1),
        Event(date(2024, 7, 1), "phase_start", phase=2),
        Event(date(2025, 1, 1), "phase_end", phase=2),
    )
    assert [one.months for one in overlapping.phases] == [8, 6]
    assert (overlapping.active_months, overlapping.end_by, overlapping.so_far) == (12, "phase_end", False)


@pytest.mark.parametrize(
    ("events", "start_by", "end_by", "months"),
    [
        ((), "", "", None),
        ((Event(date(2024, 1, 1), "note", note="seen"),), "", "", None),
        (
            (
                Event(date(2024, 1, 1), "appliances_on", detail="aligners"),
                Event(date(2025, 1, 1), "appliances_off"),
            ),
            "appliances_on",
            "appliances_off",
            12,
        ),
        (
            (
                Event(date(2024, 1, 1), "appliances_on", detail="aligners"),
                Event(date(2024, 2, 1), "appliances_on", detail="expander"),
                Event(date(2025, 1, 1), "appliances_off", detail="expander"),
            ),
            "appliances_on",
            "",
            26,
        ),
        (
            (Event(date(2024, 1, 1), "start"), Event(date(2024, 10, 1), "transfer_out")),
            "start",
            "transfer_out",
            9,
        ),
        (
            (Event(date(2024, 1, 1), "start"), Event(date(2024, 10, 1), "discontinued")),
            "start",
            "discontinued",
            9,
        ),
        ((Event(date(2024, 10, 1), "end"),), "", "end", None),
        ((Event(date(2024, 10, 1), "start"), Event(date(2024, 1, 1), "end")), "start", "end", 0),
    ],
)
def test_what_stands_for_start_and_end_is_named(
    events: tuple[Event, ...], start_by: str, end_by: str, months: int | None
) -> None:
    found = course(*events)
    assert (found.start_by, found.end_by, found.active_months) == (start_by, end_by, months)


def test_what_was_taken_over_without_a_start_says_that_the_time_before_is_not_counted() -> None:
    found = course(Event(date(2025, 3, 2), "transfer_in", done_by=CANDIDATE))
    assert (
        "its start elsewhere is not recorded, so the time before is not counted"
        in facts(found, "iso3950")[0].parts
    )


def test_shares_follow_whoever_has_the_treatment_in_hand() -> None:
    found = course(
        Event(date(2024, 1, 1), "start", done_by=ANOTHER),
        Event(date(2024, 4, 10), "transfer_in", done_by=SUPERVISED),
        Event(date(2024, 5, 1), "extraction", ("14",), done_by=ANOTHER),
        Event(date(2024, 7, 19), "phase_start", phase=1),
        Event(date(2024, 10, 27), "resumed", done_by=CANDIDATE),
        Event(date(2024, 10, 27), "end"),
    )
    plain = [one for one in found.events if one.kind not in ("phase_start", "resumed")]
    whole = course(*plain, Event(date(2024, 7, 19), "resumed", done_by=CANDIDATE))
    shares = {one.done_by: one.share for one in whole.shares}
    assert shares == {ANOTHER: Fraction(1, 3), SUPERVISED: Fraction(1, 3), CANDIDATE: Fraction(1, 3)}
    assert whole.share(CANDIDATE, SUPERVISED) == Fraction(2, 3)
    assert whole.hands["extraction"] == (ANOTHER,)
    assert course(Event(TODAY, "start", done_by=CANDIDATE)).share(CANDIDATE) is None


def test_time_after_a_hand_over_is_anothers_until_it_comes_back_and_what_nobody_stated_stays_so() -> None:
    found = course(
        Event(date(2024, 1, 1), "start"),
        Event(date(2024, 1, 11), "appliances_on", detail="aligners", done_by=CANDIDATE),
        Event(date(2024, 1, 31), "transfer_out", done_by=CANDIDATE),
        Event(date(2024, 2, 20), "transfer_in", done_by=CANDIDATE),
        Event(date(2024, 3, 1), "end"),
    )
    days = {one.done_by: one.days for one in found.shares}
    assert days == {"": 10, CANDIDATE: 30, ANOTHER: 20}


EVENTS = st.lists(
    st.builds(
        Event,
        on=DAYS,
        kind=st.sampled_from([kind.key for kind in KINDS]),
        detail=st.sampled_from(["", "aligners", "expander"]),
        phase=st.integers(0, 3),
        done_by=st.sampled_from(["", *HANDS]),
    ),
    max_size=9,
)


@given(EVENTS)
def test_any_events_make_a_course_whose_shares_are_a_whole_and_whose_order_does_not_matter(
    events: list[Event],
) -> None:
    found = course(*events)
    assert found == course(*reversed(in_order(events))) or len(set(events)) < len(events) or _tied(events)
    assert sum(one.days for one in found.shares) == found.active_days
    assert not found.shares or sum(one.share for one in found.shares) == 1
    assert all(one.days >= 0 and one.months >= 0 for one in found.phases)
    assert facts(found, "iso3950")
    line(found, "universal")
    drawing = timeline(found, TODAY)
    if drawing:
        edges = [(bar.x, bar.x + bar.width) for row in drawing.rows for bar in row.bars]
        assert all(LEFT <= first <= last <= WIDTH - RIGHT + 0.11 for first, last in edges)


def _tied(events: list[Event]) -> bool:
    """Two of one day and kind stand in the order in which they were given."""
    return len({(one.on, one.kind, one.phase) for one in events}) < len(events)


def test_appliances_come_off_by_name_or_all_at_once() -> None:
    found = course(
        Event(date(2024, 1, 1), "start"),
        Event(date(2024, 1, 1), "appliances_on", detail="fixed_labial"),
        Event(date(2024, 2, 1), "appliance", detail="expander"),
        Event(date(2024, 8, 1), "appliances_off", detail="expander"),
        Event(date(2025, 1, 1), "appliance", detail="elastics"),
        Event(date(2026, 1, 1), "appliances_off"),
    )
    assert [(one.family, one.months) for one in found.wears] == [
        ("fixed_labial", 24),
        ("expander", 6),
        ("elastics", 12),
    ]
    assert found.families == ("fixed_labial", "expander", "elastics")


@pytest.mark.parametrize(
    ("taken", "notation", "words"),
    [
        (["44", "14", "34", "24"], "iso3950", "four first premolars (14, 24, 44, 34)"),
        (["14", "24"], "universal", "two upper first premolars (5, 12)"),
        (
            ["14", "24", "35"],
            "iso3950",
            "two upper first premolars and lower left second premolar (14, 24, 35)",
        ),
        (["31"], "palmer", "lower left central incisor (LL1)"),
        (["63", "53"], "iso3950", "two upper primary canines (53, 63)"),
        (["18", "28", "38"], "iso3950", "two upper third molars and lower left third molar (18, 28, 38)"),
        ([], "iso3950", ""),
    ],
)
def test_the_extraction_pattern_reads_as_the_trade_says_it(
    taken: list[str], notation: str, words: str
) -> None:
    assert pattern_words(taken, notation) == words


def test_reasons_stand_with_their_teeth_and_a_supernumerary_is_no_part_of_the_pattern() -> None:
    found = course(
        Event(date(2024, 1, 1), "start"),
        Event(date(2024, 2, 1), "extraction", ("14", "24"), "protrusion"),
        Event(date(2024, 3, 1), "extraction", ("35",)),
        Event(date(2024, 3, 1), "extraction", ("11",), "supernumerary"),
    )
    assert found.extracted == ("14", "24", "35")
    words = next(fact.parts for fact in facts(found, "iso3950") if fact.label == "Extractions")
    assert words[1:] == (
        "14, 24: front teeth to be moved back",
        "35: reason not stated",
        "1 supernumerary",
    )


def test_only_an_operation_on_a_jaw_makes_a_treatment_surgical() -> None:
    begun = Event(date(2024, 1, 1), "start")
    assert not course(begun, Event(date(2024, 2, 1), "surgery", ("23",), "exposure")).surgical
    assert course(begun, Event(date(2024, 2, 1), "surgery", detail="lower_jaw")).surgical


def test_per_cents_never_round_to_nothing_or_to_all() -> None:
    shares = [Fraction(0), Fraction(1, 900), Fraction(1, 2), Fraction(899, 900), Fraction(1)]
    assert [percent_words(one) for one in shares] == ["0 %", "under 1 %", "50 %", "over 99 %", "100 %"]


def test_every_kind_has_a_place_within_a_day_and_details_have_keys_that_fit_their_column() -> None:
    same_day = [Event(TODAY, kind.key) for kind in KINDS]
    assert {one.kind for one in in_order(same_day)} == set(BY_KEY)
    assert [one.kind for one in in_order(same_day)][:2] == ["transfer_in", "start"]
    assert all(len(key) <= 20 for kind in KINDS for key in (kind.details or {}))
    assert all(len(kind.key) <= 16 for kind in KINDS)
    assert len(set(APPLIANCES.values())) == len(APPLIANCES)


def test_the_drawing_shows_phases_breaks_as_gaps_and_counts_months_from_the_start() -> None:
    found = course(
        Event(date(2024, 1, 1), "start"),
        Event(date(2024, 7, 1), "break"),
        Event(date(2024, 10, 1), "resumed"),
        Event(date(2025, 1, 1), "extraction", ("14",)),
        Event(date(2026, 1, 1), "end"),
    )
    drawing = timeline(found, TODAY)
    assert drawing
    assert [row.label for row in drawing.rows] == ["Active treatment", "Extractions"]
    first, second = drawing.rows[0].bars
    assert first.x == LEFT
    assert first.x + first.width < second.x
    assert [tick.text for tick in drawing.ticks] == ["0", "3", "6", "9", "12", "15", "18", "21", "24"]
    assert drawing.rows[1].marks[0].x == pytest.approx(drawing.ticks[4].x, abs=0.2)
    assert timeline(course(Event(date(2026, 2, 20), "start")), TODAY) is None
