"""The condition on the time between two moments of a case, for everybody or for an age group.  Pure.

Months are those of the calendar (`plans.moments.add_months`).  The second moment lies on or after the first one.
"""

from collections.abc import Iterator, Mapping
from dataclasses import dataclass
from datetime import date
from decimal import Decimal
from typing import Any, ClassVar

from plans.answers import Answer, Lack, not_told
from plans.facts import CaseFacts
from plans.moments import EVENTS, MOMENTS, add_months, day_of, stage_of
from plans.requirements.requirement import Field, Requirement
from plans.requirements.words import STAGE_RECORDS, STAGE_WORDS, STAGES, months_words, years_words
from portfolio.ages import OLDEST_MONTHS, months_between

MOST_MONTHS = 600


@dataclass(frozen=True, slots=True)
class Room:
    """The days that a window leaves for its end: `first` and `last` included, None where it is open."""

    first: date | None
    last: date | None

    def state(self, day: date) -> str:
        """early, late, or in."""
        if self.first is not None and day < self.first:
            return "early"
        return "late" if self.last is not None and day > self.last else "in"

    def margin_days(self, day: date) -> int:
        """Days to the nearer end of the room, below 0 outside."""
        distances = [(day - self.first).days] if self.first is not None else []
        distances += [(self.last - day).days] if self.last is not None else []
        return min(distances)


def room(start: date, least: int | None, most: int | None) -> Room:
    """The room that so many months after a day leave; without a least it begins on the day itself."""
    last = None if most is None else add_months(start, most)
    return Room(add_months(start, least or 0), last)


def in_age_group(age_months: int | None, age_from: int | None, age_under: int | None) -> bool | None:
    """Whether an age in completed months belongs to a group; None where the age is needed and not known."""
    if age_from is None and age_under is None:
        return True
    if age_months is None:
        return None
    return (age_from is None or age_months >= age_from) and (age_under is None or age_months < age_under)


def ages_words(age_from: int | None, age_under: int | None) -> str:
    """`from 12 years to under 18 years`, `under 18 years`; empty for everybody."""
    said = [f"from {years_words(age_from)}"] if age_from is not None else []
    said += [f"under {years_words(age_under)}"] if age_under is not None else []
    return " to ".join(said)


def moment_lack(moment: str) -> Lack:
    """That a day is not recorded."""
    name = f"the day of: {MOMENTS[moment]}"
    return Lack(
        "event" if moment in EVENTS else "statement", moment, stage_of(moment), name, f"{name} not recorded"
    )


@dataclass(frozen=True)
class Between(Requirement):
    """From one moment to another there are at least or at most so many months."""

    kind: ClassVar[str] = "between"
    label: ClassVar[str] = "Time between two days"
    about: ClassVar[str] = (
        "Months from one day to another, by the calendar. The second day lies on or after the first one."
    )
    group: ClassVar[str] = "records"
    FIELDS: ClassVar[tuple[Field, ...]] = (
        Field("start", "From", "choice", tuple(MOMENTS.items())),
        Field("end", "To", "choice", tuple(MOMENTS.items())),
        *(
            Field(
                key,
                label,
                "months",
                required=False,
                least=Decimal(0),
                most=Decimal(MOST_MONTHS),
                unit="months",
            )
            for key, label in (("at_least", "At least"), ("at_most", "At most"))
        ),
        *(
            Field(
                key,
                label,
                "months",
                required=False,
                least=Decimal(0),
                most=Decimal(OLDEST_MONTHS),
                unit="months",
            )
            for key, label in (("age_from", "For ages from"), ("age_under", "For ages under"))
        ),
        Field("age_at", "Age at", "choice", STAGES, default="initial"),
    )

    start: str
    end: str
    at_least: int | None = None
    at_most: int | None = None
    age_from: int | None = None
    age_under: int | None = None
    age_at: str = "initial"

    @classmethod
    def faults(cls, values: Mapping[str, Any]) -> Iterator[tuple[str, str]]:
        if values["start"] == values["end"]:
            yield "end", "is the same moment as the start"
        least, most = values["at_least"], values["at_most"]
        if least is None and most is None:
            yield "at_most", "a least or a most of months is required"
        elif least is not None and most is not None and least > most:
            yield "at_least", f"{least} is more than the most of {most}"
        older, younger = values["age_from"], values["age_under"]
        if older is not None and younger is not None and older >= younger:
            yield "age_from", f"no age is {older} months or more and under {younger}"

    def sentence(self, notation: str = "iso3950") -> str:
        limits = " and ".join(
            f"{word} {months_words(months)}"
            for word, months in (("at least", self.at_least), ("at most", self.at_most))
            if months is not None
        )
        ages = ages_words(self.age_from, self.age_under)
        group = f", for patients {ages} of age {STAGE_WORDS[self.age_at]}" if ages else ""
        return f"From {MOMENTS[self.start]} to {MOMENTS[self.end]} there are {limits}{group}."

    def evaluate(self, facts: CaseFacts) -> Answer:
        stage = facts.stages.get(self.age_at)
        belongs = in_age_group(stage.age_months if stage else None, self.age_from, self.age_under)
        if belongs is False:
            return Answer("met", "does not apply at this age", chance=1.0)
        start, end = day_of(facts, self.start), day_of(facts, self.end)
        lacks = [moment_lack(moment) for moment, day in ((self.start, start), (self.end, end)) if day is None]
        answer = self._held(start, end) if start is not None and end is not None else not_told(*lacks)
        if belongs is None and not answer.met:
            says = f"the age at the {STAGE_RECORDS[self.age_at]} is not recorded"
            return not_told(Lack("statement", "age", self.age_at, "age", says), *lacks)
        return answer

    def _held(self, start: date, end: date) -> Answer:
        found = room(start, self.at_least, self.at_most)
        state = found.state(end)
        apart = months_between(start, end)
        if end < start:
            says = f"{MOMENTS[self.end]} before {MOMENTS[self.start]}"
        else:
            spare = (end - add_months(start, apart)).days
            says = months_words(apart) + (f" and {spare} day{'s' * (spare != 1)}" if spare else "")
        met = state == "in"
        margin = Decimal(found.margin_days(end))
        return Answer("met" if met else "not_met", says, margin, "days", chance=1.0 if met else 0.0)


REQUIREMENTS = (Between,)
