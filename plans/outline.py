"""A plan as people read it: sentences, slot by slot.  Pure."""

from collections.abc import Iterator
from dataclasses import dataclass

from plans.document import ORDERS, GroupRule, Plan, RecordRule, Slot, Window
from plans.requirements import Requirement
from plans.requirements.scores import index_words
from plans.requirements.words import STAGE_RECORDS
from plans.windows import window_words

ANY_CASE = "Any case may stand here."


@dataclass(frozen=True, slots=True)
class Clause:
    """A sentence, or the words over several that are held together."""

    text: str
    parts: tuple["Clause", ...] = ()

    def lines(self) -> Iterator[str]:
        """The sentences one after another, each under the words that hold it: `At least 2 of these: …`."""
        if not self.parts:
            yield self.text
        for part in self.parts:
            for line in part.lines():
                yield f"{self.text} {line}" if self.text else line


@dataclass(frozen=True, slots=True)
class Entry:
    """One part of a plan with its key, its label and what it says."""

    key: str
    label: str
    clauses: tuple[Clause, ...]
    records: tuple[Clause, ...] = ()
    note: str = ""

    @property
    def lines(self) -> tuple[str, ...]:
        """Everything that it says, one sentence each."""
        said = [line for clause in (*self.clauses, *self.records) for line in clause.lines()]
        return (*said, *([self.note] if self.note else []))


@dataclass(frozen=True, slots=True)
class Outline:
    """A whole plan in sentences."""

    name: str
    about: tuple[str, ...]
    slots: tuple[Entry, ...]
    groups: tuple[Entry, ...]
    windows: tuple[Entry, ...]
    records: tuple[Entry, ...]
    order: str
    text: tuple[str, ...]


def outline(plan: Plan, notation: str = "iso3950") -> Outline:
    """A plan in sentences, in its own order; teeth in a notation."""
    return Outline(
        plan.name,
        paragraphs(plan.about),
        tuple(slot_entry(slot, notation) for slot in plan.slots),
        tuple(group_entry(group, notation) for group in plan.groups),
        tuple(window_entry(window) for window in plan.windows),
        tuple(record_entry(rule, number, notation) for number, rule in enumerate(plan.records)),
        order_words(plan),
        paragraphs(plan.text),
    )


def paragraphs(text: str) -> tuple[str, ...]:
    """Its lines, without empty ones."""
    return tuple(line.strip() for line in text.splitlines() if line.strip())


def slot_entry(slot: Slot, notation: str = "iso3950") -> Entry:
    """A slot: its conditions one by one where all of them have to be met, its records, its note."""
    return Entry(
        slot.key,
        slot.label,
        _opened(slot.condition, notation) if slot.condition else (Clause(ANY_CASE),),
        tuple(clause(rule.requirement, notation) for rule in slot.records),
        slot.note,
    )


def group_entry(group: GroupRule, notation: str = "iso3950") -> Entry:
    """A rule over the choice: `At least 2 of the chosen cases:` and what they have to meet."""
    inside = clause(group.condition, notation)
    many = f"{_from_to(group.at_least, group.at_most)} of the chosen cases:"
    return Entry(group.key, group.label, (Clause(many, (inside,)),))


def window_entry(window: Window) -> Entry:
    """A window: one sentence for each age group."""
    return Entry(window.key, window.label, tuple(Clause(words) for words in window_words(window)))


def record_entry(rule: RecordRule, number: int, notation: str = "iso3950") -> Entry:
    """A rule about records; its key is its place, since it has no other."""
    said = STAGE_RECORDS[rule.stage]
    return Entry(str(number), f"{said[:1].upper()}{said[1:]}", (clause(rule.requirement, notation),))


def order_words(plan: Plan) -> str:
    """How the chosen cases follow each other."""
    words = f"The chosen cases stand {', then '.join(ORDERS[order] for order in plan.order)}."
    if any(order.startswith("complexity") for order in plan.order):
        return f"{words} Complexity is told by {index_words(plan.complexity)} before treatment."
    return words


def clause(requirement: Requirement, notation: str = "iso3950") -> Clause:
    """A condition as a sentence; a group of conditions is opened."""
    said = requirement.sentence(notation)
    if requirement.group != "groups":
        return Clause(said)
    # A group says its own words first: `At least 2 of these: …`.
    heading = f"{said.partition(': ')[0]}:"
    return Clause(heading, tuple(clause(one, notation) for one in requirement.inner))


def _opened(requirement: Requirement, notation: str) -> tuple[Clause, ...]:
    """Conditions of which all have to be met stand beside each other without words over them."""
    if requirement.kind == "all":
        return tuple(clause(one, notation) for one in requirement.inner)
    return (clause(requirement, notation),)


def _from_to(least: int | None, most: int | None) -> str:
    if least is not None and most is not None:
        return f"Exactly {least}" if least == most else f"At least {least} and at most {most}"
    return f"At least {least}" if least is not None else f"At most {most}"
