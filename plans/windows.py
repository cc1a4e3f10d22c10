"""What is due and when, from a plan's windows and the days of a case.  Pure: "today" is passed in.

A window gives its end a first and a last day, counted from its start by calendar months (`plans.moments.add_months`),
both included.  A window for another age group does not concern a case.  No line asks for a radiograph: records are due
by the plan, radiographs only as local rules and the patient's care ask.
"""

from collections.abc import Iterable, Mapping
from dataclasses import dataclass
from datetime import date
from typing import Literal

from plans.document import Plan, Window, WindowLimit
from plans.facts import CaseFacts
from plans.moments import MOMENTS, RECORD_DAYS, day_of, stage_of
from plans.requirements.between import Room, ages_words, in_age_group, room
from plans.requirements.words import STAGE_WORDS, label_in_sentence, months_words

DueState = Literal["done", "early", "late", "planned", "later", "due", "open", "overdue", "waiting"]
STATE_WORDS: Mapping[DueState, str] = {
    "done": "done in time",
    "early": "done too early",
    "late": "done late",
    "planned": "planned in time",
    "later": "later",
    "due": "due",
    "open": "any day now",
    "overdue": "overdue",
    "waiting": "not yet known",
}
"""done: within the window; early and late: outside it; planned: a day in the future, within it; later: the window is not
open yet; due: it is open and has a last day; open: it is open without one; overdue: the last day is over;
waiting: a day or the age that it is counted from is not recorded."""
STILL_TO_COME: tuple[DueState, ...] = ("later", "due", "open", "overdue")
CARE = "radiographs only as your local rules and the patient's care ask"


@dataclass(frozen=True, slots=True)
class Due:
    """One window of one case: its room (`first` to `last`), the day it was done `on`, its state, and words for it."""

    case: str
    window: str
    label: str
    state: DueState
    says: str
    first: date | None = None
    last: date | None = None
    on: date | None = None

    @property
    def day(self) -> date | None:
        """The day by which it is sorted: done, else the last day, else the first."""
        return self.on or self.last or self.first


def window_words(window: Window) -> tuple[str, ...]:
    """A window as sentences, one for each age group."""
    return tuple(_limit_words(window, limit) for limit in window.limits)


def _limit_words(window: Window, limit: WindowLimit) -> str:
    said = " and ".join(
        f"{word} {months_words(months)}"
        for word, months in (("at least", limit.at_least_months), ("at most", limit.at_most_months))
        if months is not None
    )
    ages = ages_words(limit.age_from, limit.age_under)
    group = f", for patients {ages} of age {STAGE_WORDS[window.age_at]}" if ages else ""
    return f"From {MOMENTS[window.start]} to {MOMENTS[window.end]} there are {said}{group}."


def due_of_case(windows: Iterable[Window], facts: CaseFacts, today: date) -> tuple[Due, ...]:
    """Every window that concerns a case, in the order of the plan."""
    found = (_due(window, facts, today) for window in windows)
    return tuple(one for one in found if one is not None)


def due_list(plan: Plan, cases: Iterable[CaseFacts], today: date) -> tuple[Due, ...]:
    """Every window of every case by day, then case; what has no day yet stands last."""
    every = [one for facts in cases for one in due_of_case(plan.windows, facts, today)]
    return tuple(sorted(every, key=lambda one: (one.day or date.max, one.case, one.window)))


def limit_for(window: Window, age_months: int | None) -> WindowLimit | Literal["none", "unknown"]:
    """The first limit for an age; "none" where no group takes it, "unknown" where the age decides and is not known."""
    for limit in window.limits:
        belongs = in_age_group(age_months, limit.age_from, limit.age_under)
        if belongs is None:
            return "unknown"
        if belongs:
            return limit
    return "none"


def _due(window: Window, facts: CaseFacts, today: date) -> Due | None:
    stage = facts.stages.get(window.age_at)
    limit = limit_for(window, stage.age_months if stage else None)
    if limit == "none":
        return None
    start, end = day_of(facts, window.start), day_of(facts, window.end)
    if limit == "unknown":
        said = f"the age {STAGE_WORDS[window.age_at]} is not recorded"
        return Due(facts.case, window.key, window.label, "waiting", said, on=end)
    if start is None:
        said = f"counted from {MOMENTS[window.start]}, which is not recorded"
        return Due(facts.case, window.key, window.label, "waiting", said, on=end)
    found = room(start, limit.at_least_months, limit.at_most_months)
    if end is None and stage_of(window.end) in facts.stages:
        # The records are there, so whether they came in time cannot be told from today.
        until = f"; due by {day_words(found.last)}" if found.last else ""
        said = f"the day of the {MOMENTS[window.end]} is not recorded{until}"
        return Due(facts.case, window.key, window.label, "waiting", said, found.first, found.last)
    state = _state(found, end, today)
    says = _says(window, state, found, end)
    return Due(facts.case, window.key, window.label, state, says, found.first, found.last, end)


def _state(found: Room, end: date | None, today: date) -> DueState:
    if end is not None:
        place = found.state(end)
        if place == "early":
            return "early"
        return "late" if place == "late" else "planned" if end > today else "done"
    place = found.state(today)
    if place == "early":
        return "later"
    if place == "late":
        return "overdue"
    return "due" if found.last is not None else "open"


def _says(window: Window, state: DueState, found: Room, end: date | None) -> str:
    what = label_in_sentence(MOMENTS[window.end])
    if end is not None:
        said = f"{what} on {day_words(end)}"
        if state == "early" and found.first is not None:
            return f"{said}, before {day_words(found.first)}"
        if state == "late" and found.last is not None:
            return f"{said}, after {day_words(found.last)}"
        return said
    care = f" ({CARE})" if window.end in RECORD_DAYS else ""
    verb = "are" if window.end in RECORD_DAYS else "is"
    since = f"from {day_words(found.first)}" if state == "later" and found.first else ""
    until = f"by {day_words(found.last)}" if found.last else ""
    if state == "overdue":
        verb = "were" if window.end in RECORD_DAYS else "was"
    when = " ".join(part for part in (since, until) if part)
    return f"{what} {verb} due{f' {when}' if when else ''} by the plan's window{care}"


def day_words(day: date) -> str:
    """`3 March 2027`."""
    return f"{day.day} {day:%B} {day.year}"
