"""A plan as people read it: sentences, slot by slot.  Pure."""

from collections.abc import Iterator
from dataclasses import dataclass

from plans import record_names
from plans.document import ORDERS, GroupRule, Plan, RecordRule, Slot, Window, WindowLimit
from plans.moments import MOMENTS
from plans.requirements import Requirement
from plans.requirements.scores import index_words
from plans.requirements.words import STAGE_RECORDS, STAGE_WORDS, months_words, years_words

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


def outline(plan: Plan) -> Outline:
    """A plan in sentences, in its own order."""
    return Outline(
        plan.name,
        paragraphs(plan.about),
        tuple(slot_entry(slot) for slot in plan.slots),
        tuple(group_entry(group) for group in plan.groups),
        tuple(window_entry(window) for window in plan.windows),
        tuple(record_entry(rule, number) for number, rule in enumerate(plan.records)),
        order_words(plan),
        paragraphs(plan.text),
    )


def paragraphs(text: str) -> tuple[str, ...]:
    """Its lines, without empty ones."""
    return tuple(line.strip() for line in text.splitlines() if line.strip())


def slot_entry(slot: Slot) -> Entry:
    """A slot: its conditions one by one where all of them have to be met, its records, its note."""
    return Entry(
        slot.key,
        slot.label,
        _opened(slot.condition) if slot.condition else (Clause(ANY_CASE),),
        tuple(record_clause(rule) for rule in slot.records),
        slot.note,
    )


def group_entry(group: GroupRule) -> Entry:
    """A rule over the choice: `At least 2 of the chosen cases:` and what they have to meet."""
    inside = clause(group.condition)
    many = f"{_from_to(group.at_least, group.at_most)} of the chosen cases:"
    return Entry(group.key, group.label, (Clause(many, (inside,)),))


def window_entry(window: Window) -> Entry:
    """A window: between what, and how long for whom."""
    between = f"From {MOMENTS[window.start]} to {MOMENTS[window.end]}:"
    limits = tuple(Clause(_limit_words(limit, window.age_at)) for limit in window.limits)
    return Entry(window.key, window.label, (Clause(between, limits),))


def record_entry(rule: RecordRule, number: int) -> Entry:
    """A rule about records; its key is its place, since it has no other."""
    return Entry(str(number), STAGE_RECORDS[rule.stage].capitalize(), (record_clause(rule),))


def record_clause(rule: RecordRule) -> Clause:
    """`Before treatment: casts and the 8 usual photographs.`, with the case in which they are asked for."""
    asked = f"{STAGE_WORDS[rule.stage].capitalize()}: {record_names.phrase(rule.records)}"
    if rule.when is None:
        return Clause(f"{asked}.")
    return Clause(f"{asked}, if this is so:", (clause(rule.when),))


def order_words(plan: Plan) -> str:
    """How the chosen cases follow each other."""
    words = f"The chosen cases stand {', then '.join(ORDERS[order] for order in plan.order)}."
    if any(order.startswith("complexity") for order in plan.order):
        return f"{words} Complexity is told by {index_words(plan.complexity)} before treatment."
    return words


def clause(requirement: Requirement) -> Clause:
    """A condition as a sentence; one that holds others is opened."""
    if not requirement.inner:
        return Clause(requirement.sentence())
    return Clause(_heading(requirement), tuple(clause(one) for one in requirement.inner))


def _opened(requirement: Requirement) -> tuple[Clause, ...]:
    """Conditions of which all have to be met stand beside each other without words over them."""
    if requirement.kind == "all":
        return tuple(clause(one) for one in requirement.inner)
    return (clause(requirement),)


def _heading(requirement: Requirement) -> str:
    """The words before the first condition inside, as the sentence itself begins."""
    return f"{requirement.sentence().partition(': ')[0]}:"


def _from_to(least: int | None, most: int | None) -> str:
    if least is not None and most is not None:
        return f"Exactly {least}" if least == most else f"At least {least} and at most {most}"
    return f"At least {least}" if least is not None else f"At most {most}"


def _limit_words(limit: WindowLimit, age_at: str) -> str:
    least, most = limit.at_least_months, limit.at_most_months
    months = " and ".join(
        f"at {word} {months_words(number)}"
        for word, number in (("least", least), ("most", most))
        if number is not None
    )
    ages = " and ".join(
        f"{word} {years_words(age)}"
        for word, age in (("from", limit.age_from), ("under", limit.age_under))
        if age is not None
    )
    return f"{months}, for patients {ages} at the {STAGE_RECORDS[age_at]}." if ages else f"{months}."
