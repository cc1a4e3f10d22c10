"""Ages in whole calendar months: counting, reading, writing, and contradictions between stages.

Calendar arithmetic only, never a division of days. A month is complete when its day of the month is
reached; where a month is too short for that day it is complete on the first of the next one (born on
31 January: 1 month on 1 March, 12 months on 31 January). Dates are dates: only `latest_day` knows of time zones.
"""

import re
from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from datetime import date, datetime, timedelta
from typing import Protocol, TypeVar

OLDEST_MONTHS = 1440
"""120 years; nothing above is an age."""
FURTHEST_EAST = timedelta(hours=14)
"""How far the furthest time zone is ahead of UTC."""

_STAGE_ORDER = ("initial", "interim", "final", "retention", "post_retention")
_YEARS_MONTHS = re.compile(
    r"([0-9]{1,3})\s*(?:y|yr|yrs|years?)\.?\s*,?\s*(?:([0-9]{1,4})\s*(?:m|mo|months?)\.?)?", re.I
)
_PAIR = re.compile(r"([0-9]{1,3})\s*[;:]\s*([0-9]{1,4})")
_MONTHS = re.compile(r"([0-9]{1,4})\s*(?:m|mo|months?)\.?", re.I)

ALLOWED = "Write 13 y 8 m, 13;8 or 164 m."


class AgeRefused(ValueError):
    """A typed age that is not an age; the message says what is allowed."""


def latest_day(at: datetime) -> date:
    """The latest day it can be anywhere on earth at a time given in UTC; nothing later can have happened yet."""
    return (at + FURTHEST_EAST).date()


def months_between(earlier: date, later: date) -> int:
    """Completed calendar months from one date to another; negative when the second is before the first."""
    if later < earlier:
        return -months_between(later, earlier)
    months = (later.year - earlier.year) * 12 + later.month - earlier.month
    return months - 1 if later.day < earlier.day else months


def age_at(birth_date: date, taken_on: date) -> int:
    """Age in completed months on a day; refused when the day lies before the birth or beyond 120 years."""
    if taken_on < birth_date:
        raise AgeRefused("The records cannot have been taken before the birth.")
    months = months_between(birth_date, taken_on)
    if months > OLDEST_MONTHS:
        raise AgeRefused("The two dates lie more than 120 years apart.")
    return months


def age_text(months: int) -> str:
    """`13 y 8 m` from whole months; months run from 0 to 11."""
    years, rest = divmod(months, 12)
    return f"{years} y {rest} m"


def read_age(text: str) -> int:
    """Whole months from `13 y 8 m`, `13 y`, `13;8`, `13:8` or `164 m`; anything else is refused.

    `13.8` and `13,8` are refused because they can be meant as years and months or as a decimal fraction.
    """
    typed = " ".join(text.split())
    if match := _PAIR.fullmatch(typed) or _YEARS_MONTHS.fullmatch(typed):
        years, months = int(match[1]), int(match[2] or 0)
        if months > 11:
            raise AgeRefused(f"{months} months after the years: only 0 to 11 are possible. {ALLOWED}")
        return _within_life(years * 12 + months)
    if match := _MONTHS.fullmatch(typed):
        return _within_life(int(match[1]))
    if re.fullmatch(r"[0-9]+[.,][0-9]+", typed):
        raise AgeRefused(f"{typed} can mean years and months or a fraction of a year. {ALLOWED}")
    if re.fullmatch(r"[0-9]+", typed):
        raise AgeRefused(f"{typed} can mean years or months. {ALLOWED}")
    raise AgeRefused(f"This is not an age. {ALLOWED}")


def _within_life(months: int) -> int:
    if months > OLDEST_MONTHS:
        raise AgeRefused(f"{age_text(months)} is more than 120 years. {ALLOWED}")
    return months


@dataclass(frozen=True, slots=True)
class StageAge:
    """One record set as far as ages go: what it is called, its stage and number, its private day, its age."""

    label: str
    stage: str
    ordinal: int
    taken_on: date | None
    age_months: int | None


class OfStage(Protocol):
    """What has a stage and its number."""

    @property
    def stage(self) -> str: ...

    @property
    def ordinal(self) -> int: ...


AnyStage = TypeVar("AnyStage", bound=OfStage)


def in_order(stages: Iterable[AnyStage]) -> list[AnyStage]:
    """Record sets, or anything else of a stage, in the order of treatment."""
    return sorted(stages, key=lambda one: (_STAGE_ORDER.index(one.stage), one.ordinal))


def contradictions(
    stages: Sequence[StageAge], *, birth_date: date | None = None, today: date | None = None
) -> list[str]:
    """Sentences about ages and dates that cannot all be right. They name stages and ages, never a date."""
    ordered = in_order(stages)
    said: list[str] = []
    for one in ordered:
        said += _alone(one, birth_date, today)
    for number, earlier in enumerate(ordered):
        for later in ordered[number + 1 :]:
            said += _pair(earlier, later)
    return said


def _alone(one: StageAge, birth_date: date | None, today: date | None) -> list[str]:
    said = []
    if one.taken_on and today and one.taken_on > today:
        said.append(f"The records of {one.label} are dated in the future.")
    if one.taken_on and birth_date:
        if one.taken_on < birth_date:
            said.append(f"The records of {one.label} are dated before the birth.")
        elif one.age_months is not None:
            worked_out = months_between(birth_date, one.taken_on)
            if worked_out != one.age_months:
                said.append(
                    f"The age at {one.label} is {age_text(one.age_months)}, but the birth date and the day "
                    f"of the records give {age_text(worked_out)}."
                )
    return said


def _pair(earlier: StageAge, later: StageAge) -> list[str]:
    said = []
    ages = (earlier.age_months, later.age_months)
    if ages[0] is not None and ages[1] is not None and ages[1] < ages[0]:
        said.append(
            f"The age falls from {age_text(ages[0])} at {earlier.label} to {age_text(ages[1])} at {later.label}."
        )
    if earlier.taken_on is None or later.taken_on is None:
        return said
    if later.taken_on < earlier.taken_on:
        said.append(f"The records of {later.label} are dated before those of {earlier.label}.")
    elif ages[0] is not None and ages[1] is not None and ages[1] >= ages[0]:
        apart = months_between(earlier.taken_on, later.taken_on)
        # Each age leaves off up to a month, so the difference may be one month more or the same.
        if not apart <= ages[1] - ages[0] <= apart + 1:
            said.append(
                f"Between {earlier.label} and {later.label} the ages differ by {ages[1] - ages[0]} months, "
                f"the dates by {apart}."
            )
    return said
