"""Months by the calendar, the time between two days, windows by age group, what is due."""

from datetime import date, timedelta

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from plans import requirements
from plans.document import Plan, Slot, Window, WindowLimit
from plans.facts import CaseFacts, CourseFacts, StageFacts
from plans.moments import add_months
from plans.windows import due_list, due_of_case, window_words
from portfolio.ages import months_between
from tests.plans.held_cases import answer, day

DAYS = st.dates(date(1990, 1, 1), date(2060, 12, 31))
MONTHS = st.integers(0, 240)


@pytest.mark.parametrize(
    ("start", "months", "end"),
    [
        ("2024-02-29", 12, "2025-03-01"),
        ("2024-02-29", 48, "2028-02-29"),
        ("2024-02-29", 1, "2024-03-29"),
        ("2023-01-31", 1, "2023-03-01"),
        ("2024-01-31", 1, "2024-03-01"),
        ("2024-01-30", 1, "2024-03-01"),
        ("2024-01-29", 1, "2024-02-29"),
        ("2025-01-29", 1, "2025-03-01"),
        ("2025-01-28", 1, "2025-02-28"),
        ("2025-03-31", 1, "2025-05-01"),
        ("2025-08-31", 1, "2025-10-01"),
        ("2025-12-31", 2, "2026-03-01"),
        ("2025-12-31", 12, "2026-12-31"),
        ("2025-11-30", 1, "2025-12-30"),
        ("2025-11-30", 3, "2026-03-01"),
        ("2025-05-17", 0, "2025-05-17"),
    ],
)
def test_adding_months_at_month_ends(start: str, months: int, end: str) -> None:
    assert add_months(day(start), months) == day(end)


@given(DAYS, MONTHS)
def test_the_day_is_the_first_on_which_so_many_months_are_complete(start: date, months: int) -> None:
    end = add_months(start, months)
    assert months_between(start, end) == months
    assert months == 0 or months_between(start, end - timedelta(days=1)) == months - 1


@given(st.dates(date(1990, 1, 1), date(2060, 12, 28)).filter(lambda one: one.day <= 28), MONTHS)
def test_up_to_the_28th_it_is_the_same_day_of_the_month_counted_by_numpy(start: date, months: int) -> None:
    month = np.datetime64(start, "M") + np.timedelta64(months, "M")
    assert add_months(start, months) == (month.astype("datetime64[D]") + (start.day - 1)).item()


@given(DAYS, MONTHS, MONTHS)
def test_more_months_never_end_earlier(start: date, fewer: int, more: int) -> None:
    assert add_months(start, min(fewer, more)) <= add_months(start, max(fewer, more))


def test_months_run_forwards_and_not_past_the_calendar() -> None:
    with pytest.raises(ValueError, match="forwards"):
        add_months(date(2025, 1, 1), -1)
    with pytest.raises(OverflowError):
        add_months(date(9999, 12, 31), 1)


def finished(off: str | None, records: str | None, age: int | None = 160) -> CaseFacts:
    """A case whose appliances came off on one day and whose final records are of another."""
    stages = {"initial": StageFacts("initial", age_months=age)}
    if records:
        stages["final"] = StageFacts("final", taken_on=day(records))
    return CaseFacts(
        "K7", "P1", stages=stages, course=CourseFacts(days={"appliances_off": day(off)} if off else {})
    )


WITHIN_3 = {"start": "appliances_off", "end": "records_final", "at_most": 3}


@pytest.mark.parametrize(
    ("off", "records", "expected", "margin", "says"),
    [
        ("2025-01-31", "2025-05-01", "met", "0", "3 months"),
        ("2025-01-31", "2025-05-02", "not_met", "-1", "3 months and 1 day"),
        ("2025-01-31", "2025-01-31", "met", "0", "0 months"),
        ("2025-01-31", "2025-01-30", "not_met", "-1", "final records before appliances off"),
        ("2023-11-29", "2024-02-29", "met", "0", "3 months"),
        ("2023-11-29", "2024-03-01", "not_met", "-1", "3 months and 1 day"),
        ("2024-11-29", "2025-03-01", "met", "0", "3 months"),
        ("2025-02-10", "2025-03-15", "met", "33", "1 month and 5 days"),
    ],
)
def test_time_between_two_days(off: str, records: str, expected: str, margin: str, says: str) -> None:
    found = answer("between", finished(off, records), **WITHIN_3)
    assert (found.state, str(found.margin), found.unit, found.says) == (expected, margin, "days", says)


def test_at_least_so_many_months() -> None:
    settled = {"start": "appliances_off", "end": "records_final", "at_least": 12}
    for records, expected in (("2025-02-28", "not_met"), ("2025-03-01", "met")):
        assert answer("between", finished("2024-02-29", records), **settled).state == expected


def test_a_day_that_is_not_recorded_is_unknown() -> None:
    assert answer("between", finished(None, "2025-02-28"), **WITHIN_3).lacks[0].key == "appliances_off"
    assert answer("between", finished("2025-02-28", None), **WITHIN_3).lacks[0].key == "records_final"
    assert len(answer("between", finished(None, None), **WITHIN_3).lacks) == 2


def test_the_age_group_decides_whether_it_applies() -> None:
    young = {**WITHIN_3, "age_under": 216}
    late = ("2025-01-01", "2025-09-01")
    assert answer("between", finished(*late, age=215), **young).state == "not_met"
    assert answer("between", finished(*late, age=216), **young).state == "met"
    unknown = answer("between", finished(*late, age=None), **young)
    assert (unknown.state, unknown.lacks[0].key) == ("unknown", "age")
    # Whatever the age, it holds.
    assert answer("between", finished("2025-01-01", "2025-02-01", age=None), **young).state == "met"
    assert requirements.read({"kind": "between", **young}).sentence() == (
        "From appliances off to final records there are at most 3 months, "
        "for patients under 18 years of age before treatment."
    )


def test_windows_that_cannot_be_are_refused() -> None:
    for fields, said in (
        ({"start": "start", "end": "start", "at_most": 3}, "same moment"),
        ({"start": "start", "end": "end"}, "a least or a most"),
        ({"start": "start", "end": "end", "at_least": 4, "at_most": 3}, "4 is more than the most of 3"),
        ({**WITHIN_3, "age_from": 144, "age_under": 144}, "no age is 144 months or more and under 144"),
    ):
        with pytest.raises(requirements.RequirementRefused, match=said):
            requirements.read({"kind": "between", **fields})


FINAL = Window("final", "Final records", "appliances_off", "records_final", (WindowLimit(at_most_months=3),))
LATER = Window(
    "ret", "Retention check", "appliances_off", "retention_check", (WindowLimit(at_least_months=12),)
)
ROOM = Window(
    "retention",
    "Retention records",
    "appliances_off",
    "records_retention",
    (WindowLimit(12, 24, age_under=216), WindowLimit(6, 12, age_from=216)),
)


@pytest.mark.parametrize(
    ("window", "off", "done", "today", "expected", "words"),
    [
        (FINAL, "2025-01-31", None, "2025-05-01", "due", "by 1 May 2025"),
        (FINAL, "2025-01-31", None, "2025-05-02", "overdue", "were due by 1 May 2025"),
        (FINAL, "2025-01-31", "2025-04-01", "2025-06-01", "done", "final records on 1 April 2025"),
        (FINAL, "2025-01-31", "2025-06-01", "2025-07-01", "late", "after 1 May 2025"),
        (FINAL, "2025-01-31", "2025-01-01", "2025-07-01", "early", "before 31 January 2025"),
        (FINAL, "2025-01-31", "2025-04-01", "2025-03-01", "planned", "on 1 April 2025"),
        (FINAL, None, None, "2025-03-01", "waiting", "appliances off, which is not recorded"),
        (LATER, "2024-02-29", None, "2025-02-28", "later", "from 1 March 2025"),
        (LATER, "2024-02-29", None, "2025-03-01", "open", "is due by the plan"),
        (ROOM, "2024-02-29", None, "2024-06-01", "later", "from 1 March 2025 by 1 March 2026"),
    ],
)
def test_what_is_due(
    window: Window, off: str | None, done: str | None, today: str, expected: str, words: str
) -> None:
    found = due_of_case([window], finished(off, done), day(today))
    assert len(found) == 1
    assert found[0].state == expected
    assert words in found[0].says


def test_each_age_group_has_its_own_window_and_others_are_not_concerned() -> None:
    grown = due_of_case([ROOM], finished("2024-02-29", None, age=216), day("2024-03-01"))[0]
    assert (grown.first, grown.last) == (day("2024-08-29"), day("2025-03-01"))
    young_only = Window(
        "w", "W", "appliances_off", "records_final", (WindowLimit(at_most_months=1, age_under=100),)
    )
    assert due_of_case([young_only], finished("2024-02-29", None), day("2024-03-01")) == ()
    unknown = due_of_case([young_only], finished("2024-02-29", None, age=None), day("2024-03-01"))[0]
    assert (unknown.state, unknown.says) == ("waiting", "the age before treatment is not recorded")
    assert window_words(ROOM)[1] == (
        "From appliances off to retention records there are at least 6 months and at most 12 months, "
        "for patients from 18 years of age before treatment."
    )


def test_records_without_a_day_are_neither_done_nor_overdue() -> None:
    bare = finished("2025-01-31", None)
    facts = CaseFacts("K7", "P1", stages={**bare.stages, "final": StageFacts("final")}, course=bare.course)
    found = due_of_case([FINAL], facts, day("2026-01-01"))[0]
    assert (found.state, found.last) == ("waiting", day("2025-05-01"))
    assert found.says == "the day of the final records is not recorded; due by 1 May 2025"


def test_records_that_are_due_never_ask_for_a_radiograph() -> None:
    for today in ("2025-02-01", "2025-09-01"):
        said = due_of_case([FINAL], finished("2025-01-31", None), day(today))[0].says
        assert said.endswith("(radiographs only as your local rules and the patient's care ask)")


def test_the_list_is_by_day_and_what_has_no_day_stands_last() -> None:
    plan = Plan("P", (Slot("a", "A"),), windows=(ROOM, FINAL))
    second = CaseFacts("B2", "P2", stages={"initial": StageFacts("initial", age_months=150)})
    found = due_list(plan, [second, finished("2025-01-31", None)], day("2025-03-01"))
    assert [(one.case, one.window, one.state) for one in found] == [
        ("K7", "final", "due"),
        ("K7", "retention", "later"),
        ("B2", "final", "waiting"),
        ("B2", "retention", "waiting"),
    ]


@given(DAYS, DAYS, st.integers(0, 36), st.integers(0, 36))
def test_the_list_agrees_with_the_condition_on_the_same_days(
    start: date, end: date, first: int, second: int
) -> None:
    least, most = sorted((first, second))
    facts = finished(start.isoformat(), end.isoformat())
    window = Window("w", "W", "appliances_off", "records_final", (WindowLimit(least, most),))
    due = due_of_case([window], facts, date(2100, 1, 1))[0]
    held = answer("between", facts, start="appliances_off", end="records_final", at_least=least, at_most=most)
    assert (due.state == "done") == (held.state == "met")
