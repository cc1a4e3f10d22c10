"""Ages are counted in calendar months and contradictions between stages are told."""

from __future__ import annotations

from datetime import date, timedelta

import pytest
from hypothesis import given
from hypothesis import strategies as st

from portfolio.ages import AgeRefused, StageAge, age_at, age_text, contradictions, months_between, read_age

DAYS = st.dates(date(1930, 1, 1), date(2040, 12, 31))


@pytest.mark.parametrize(
    ("taken_on", "months", "text"),
    [
        (date(2025, 2, 28), 168, "14 y 0 m"),
        (date(2025, 3, 1), 169, "14 y 1 m"),
        (date(2025, 1, 30), 167, "13 y 11 m"),
        (date(2025, 1, 31), 168, "14 y 0 m"),
    ],
)
def test_a_month_is_complete_when_its_day_is_reached_or_the_next_month_begins(
    taken_on: date, months: int, text: str
) -> None:
    assert age_at(date(2011, 1, 31), taken_on) == months
    assert age_text(months) == text


def test_somebody_born_on_the_29th_of_february_is_a_year_older_on_the_first_of_march() -> None:
    born = date(2012, 2, 29)
    assert [
        months_between(born, day) for day in (date(2013, 2, 28), date(2013, 3, 1), date(2016, 2, 29))
    ] == [11, 12, 48]


@given(DAYS, DAYS)
def test_completed_months_never_exceed_what_the_calendar_allows(one: date, other: date) -> None:
    earlier, later = min(one, other), max(one, other)
    months = months_between(earlier, later)
    days = (later - earlier).days
    assert days / 31 - 1 <= months <= days / 28 + 1
    assert months_between(later, earlier) == -months
    assert months_between(earlier, later + timedelta(days=1)) >= months


@given(st.integers(0, 1440))
def test_an_age_written_is_read_back(months: int) -> None:
    assert read_age(age_text(months)) == months
    assert read_age(f"{months} m") == months
    assert read_age(f"{months // 12};{months % 12}") == months


@pytest.mark.parametrize(
    "text", ["13 y 8 m", "13;8", "13:8", "164 m", "164 months", "13y8m", "13 Years, 8 Months", " 13 y  8 m "]
)
def test_the_usual_ways_of_writing_an_age_mean_the_same(text: str) -> None:
    assert read_age(text) == 164


@pytest.mark.parametrize(
    "text", ["14 y 12 m", "13.8", "13,8", "13", "-3 m", "1441 m", "121 y", "١٣;٨", "soon", "NaN"]
)
def test_what_is_no_age_or_has_two_meanings_is_refused(text: str) -> None:
    with pytest.raises(AgeRefused):
        read_age(text)


def test_records_before_the_birth_give_no_age() -> None:
    with pytest.raises(AgeRefused):
        age_at(date(2011, 1, 31), date(2011, 1, 30))


def stage(name: str, age: int | None = None, day: date | None = None) -> StageAge:
    return StageAge(name, name, 1, day, age)


def test_an_age_that_falls_is_told() -> None:
    (words,) = contradictions([stage("final", 160), stage("initial", 164)])
    assert words == "The age falls from 13 y 8 m at initial to 13 y 4 m at final."


def test_days_out_of_order_are_told_without_naming_them() -> None:
    found = contradictions([stage("initial", day=date(2025, 5, 1)), stage("final", day=date(2024, 5, 1))])
    assert found == ["The records of final are dated before those of initial."]


def test_ages_that_do_not_fit_the_days_are_told() -> None:
    found = contradictions([stage("initial", 160, date(2023, 5, 1)), stage("final", 165, date(2025, 5, 1))])
    assert found == ["Between initial and final the ages differ by 5 months, the dates by 24."]


@given(DAYS, st.integers(0, 6000), st.integers(0, 3000))
def test_ages_worked_out_from_one_birth_date_never_contradict_their_days(
    born: date, first: int, more: int
) -> None:
    days = [born + timedelta(days=first), born + timedelta(days=first + more)]
    stages = [
        stage(name, months_between(born, day), day)
        for name, day in zip(("initial", "final"), days, strict=True)
    ]
    assert contradictions(stages, birth_date=born) == []


def test_an_age_against_the_kept_birth_date_is_told_and_no_date_is_named() -> None:
    (words,) = contradictions([stage("initial", 170, date(2025, 2, 28))], birth_date=date(2011, 1, 31))
    assert "14 y 2 m" in words
    assert "14 y 0 m" in words
    assert "2011" not in words
    assert "2025" not in words


def test_records_before_the_birth_or_in_the_future_are_told() -> None:
    found = contradictions(
        [stage("initial", day=date(2010, 1, 1)), stage("final", day=date(2030, 1, 1))],
        birth_date=date(2011, 1, 1),
        today=date(2026, 1, 1),
    )
    assert found == [
        "The records of initial are dated before the birth.",
        "The records of final are dated in the future.",
    ]
