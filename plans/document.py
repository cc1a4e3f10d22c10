"""A plan: what a board or program asks for, as data.  Pure; files of it are read and written in `plans.plan_file`."""

from collections.abc import Iterator, Mapping
from dataclasses import dataclass

from plans.requirements import Requirement, walk
from plans.requirements.filed_records import RecordsFiled, RecordsIf

ORDERS: Mapping[str, str] = {
    "slots": "in the order of the slots",
    "complexity_falling": "the most complex case first",
    "complexity_rising": "the least complex case first",
    "age_rising": "the youngest patient first",
    "age_falling": "the oldest patient first",
    "code": "by case code",
}
"""How the chosen cases follow each other in the submission; several decide one after another."""


@dataclass(frozen=True, slots=True)
class RecordRule:
    """Records that have to be there at a stage, of every case or of those that meet `when`."""

    stage: str
    records: tuple[str, ...]
    when: Requirement | None = None

    @property
    def requirement(self) -> Requirement:
        """The same as a condition, to be said and evaluated."""
        if self.when is None:
            return RecordsFiled(self.stage, self.records)
        return RecordsIf(self.when, self.stage, self.records)


@dataclass(frozen=True, slots=True)
class Slot:
    """One place of a submission; each takes one case.  A slot without a condition takes any case."""

    key: str
    label: str
    condition: Requirement | None = None
    records: tuple[RecordRule, ...] = ()
    note: str = ""


@dataclass(frozen=True, slots=True)
class GroupRule:
    """Among the chosen cases, how many at least and at most meet a condition; None where there is no such limit."""

    key: str
    label: str
    condition: Requirement
    at_least: int | None = None
    at_most: int | None = None


@dataclass(frozen=True, slots=True)
class WindowLimit:
    """The months of a window for one age group: from `age_from` on, under `age_under` (completed months, None: open)."""

    at_least_months: int | None = None
    at_most_months: int | None = None
    age_from: int | None = None
    age_under: int | None = None


@dataclass(frozen=True, slots=True)
class Window:
    """The time from one moment (a key of `plans.moments`) to another, by age group.

    The age is that of the records of the stage `age_at`; limits without ages hold for everybody.
    """

    key: str
    label: str
    start: str
    end: str
    limits: tuple[WindowLimit, ...]
    age_at: str = "initial"


@dataclass(frozen=True, slots=True)
class Plan:
    """What is asked for: slots, rules over the choice, windows, records, the order of cases.

    One slot per patient always holds.  `records` are asked of every chosen case, those of a slot beside them.
    `complexity` is the index by whose total before treatment cases are ordered.  `text`: what else the
    instructions say, in the user's own words.
    """

    name: str
    slots: tuple[Slot, ...]
    about: str = ""
    groups: tuple[GroupRule, ...] = ()
    windows: tuple[Window, ...] = ()
    records: tuple[RecordRule, ...] = ()
    order: tuple[str, ...] = ("slots",)
    complexity: str = "discrepancy"
    text: str = ""

    def slot(self, key: str) -> Slot:
        """The slot of a key; KeyError where there is none."""
        for slot in self.slots:
            if slot.key == key:
                return slot
        raise KeyError(key)

    def conditions(self) -> Iterator[Requirement]:
        """Every condition of the plan, outermost first, also those inside others and of record rules."""
        for slot in self.slots:
            if slot.condition is not None:
                yield from walk(slot.condition)
            yield from _whens(slot.records)
        for group in self.groups:
            yield from walk(group.condition)
        yield from _whens(self.records)


def _whens(rules: tuple[RecordRule, ...]) -> Iterator[Requirement]:
    for rule in rules:
        if rule.when is not None:
            yield from walk(rule.when)
