"""Conditions made of conditions: all, any, at least so many of, not.  Pure."""

from collections.abc import Iterable, Iterator, Mapping, Sequence
from dataclasses import dataclass
from decimal import Decimal
from typing import Any, ClassVar

from plans.answers import Answer, Part, State, all_of, at_least_of, opposite, settled
from plans.facts import CaseFacts
from plans.requirements.requirement import Field, Requirement, clause
from plans.requirements.words import spelled

MOST_PARTS = Decimal(20)
_OF = Field("of", "Conditions", "conditions")


@dataclass(frozen=True)
class All(Requirement):
    """Every condition is met."""

    kind: ClassVar[str] = "all"
    label: ClassVar[str] = "All of these"
    about: ClassVar[str] = "Every condition in the list has to be met."
    group: ClassVar[str] = "groups"
    FIELDS: ClassVar[tuple[Field, ...]] = (_OF,)

    of: tuple[Requirement, ...]

    @property
    def inner(self) -> tuple[Requirement, ...]:
        return self.of

    def sentence(self, notation: str = "iso3950") -> str:
        return joined("All of these: ", self.of, notation)

    def evaluate(self, facts: CaseFacts) -> Answer:
        parts = _parts(self.of, facts)
        return _together(parts, len(parts))


@dataclass(frozen=True)
class AtLeastOf(Requirement):
    """At least so many of the conditions are met."""

    kind: ClassVar[str] = "at_least_of"
    label: ClassVar[str] = "At least so many of these"
    about: ClassVar[str] = "A number of conditions of the list has to be met; which ones is open."
    group: ClassVar[str] = "groups"
    FIELDS: ClassVar[tuple[Field, ...]] = (
        Field("at_least", "At least", "whole", least=Decimal(1), most=MOST_PARTS),
        _OF,
    )

    at_least: int
    of: tuple[Requirement, ...]

    @classmethod
    def faults(cls, values: Mapping[str, Any]) -> Iterator[tuple[str, str]]:
        if values["at_least"] > len(values["of"]):
            yield "at_least", f"{values['at_least']} of {len(values['of'])} conditions can never be met"

    @property
    def inner(self) -> tuple[Requirement, ...]:
        return self.of

    def sentence(self, notation: str = "iso3950") -> str:
        return joined(f"At least {spelled(self.at_least)} of these: ", self.of, notation)

    def evaluate(self, facts: CaseFacts) -> Answer:
        return _together(_parts(self.of, facts), self.at_least)


@dataclass(frozen=True)
class AnyOf(Requirement):
    """At least one condition is met."""

    kind: ClassVar[str] = "any"
    label: ClassVar[str] = "Any of these"
    about: ClassVar[str] = "One condition of the list is enough."
    group: ClassVar[str] = "groups"
    FIELDS: ClassVar[tuple[Field, ...]] = (_OF,)

    of: tuple[Requirement, ...]

    @property
    def inner(self) -> tuple[Requirement, ...]:
        return self.of

    def sentence(self, notation: str = "iso3950") -> str:
        return joined("At least one of these: ", self.of, notation)

    def evaluate(self, facts: CaseFacts) -> Answer:
        return _together(_parts(self.of, facts), 1)


@dataclass(frozen=True)
class Not(Requirement):
    """The condition is not met."""

    kind: ClassVar[str] = "not"
    label: ClassVar[str] = "Not"
    about: ClassVar[str] = "The condition must not be met; as long as it is unknown, so is this."
    group: ClassVar[str] = "groups"
    FIELDS: ClassVar[tuple[Field, ...]] = (Field("that", "Condition", "condition"),)

    that: Requirement

    @property
    def inner(self) -> tuple[Requirement, ...]:
        return (self.that,)

    def sentence(self, notation: str = "iso3950") -> str:
        return f"This is not so: {clause(self.that, notation)}."

    def evaluate(self, facts: CaseFacts) -> Answer:
        found = self.that.evaluate(facts)
        under = {choice: opposite(state) for choice, state in found.under.items()}
        return Answer(
            settled(under) if under else opposite(found.state),
            found.says,
            None if found.margin is None else -found.margin,
            found.unit,
            None if found.margin_sd is None else -found.margin_sd,
            None if found.chance is None else 1 - found.chance,
            found.lacks,
            under,
            (Part(self.that.sentence(facts.notation), found),),
        )


def joined(opening: str, of: Iterable[Requirement], notation: str) -> str:
    """One sentence of several: `All of these: the … is at least 20; a second molar … .`"""
    return f"{opening}{'; '.join(clause(one, notation) for one in of)}."


def _parts(of: Iterable[Requirement], facts: CaseFacts) -> tuple[Part, ...]:
    return tuple(Part(one.sentence(facts.notation), one.evaluate(facts)) for one in of)


def _together(parts: Sequence[Part], wanted: int) -> Answer:
    """The answer of a group of which so many have to be met; each rule choice is followed through all parts."""
    answers = tuple(part.answer for part in parts)
    every = wanted == len(answers)
    choices = dict.fromkeys(choice for answer in answers for choice in answer.under)
    under: dict[str, State] = {}
    for choice in choices:
        states = tuple(_state_under(answer, choice) for answer in answers)
        under[choice] = all_of(states) if every else at_least_of(wanted, states)
    states = tuple(answer.state for answer in answers)
    state = settled(under) if under else all_of(states) if every else at_least_of(wanted, states)
    weak = _deciding(answers, wanted)
    lacking = tuple(dict.fromkeys(lack for answer in answers for lack in answer.lacks))
    return Answer(
        state,
        "; ".join(answer.says for answer in answers if answer.says),
        weak.margin if weak else None,
        weak.unit if weak else "",
        weak.margin_sd if weak else None,
        _chance(answers, wanted),
        lacking if state != "met" else (),
        under,
        tuple(parts),
    )


def _state_under(answer: Answer, choice: str) -> State:
    if not answer.under:
        return answer.state
    return answer.under.get(choice, answer.under[""])


def _chance(answers: Sequence[Answer], wanted: int) -> float | None:
    """The chance of the part that decides: the best but `wanted`.

    For all that is the weakest, for any the best known.  A chance that cannot be told leaves all of them untold,
    unless one is 0 already.
    """
    known = sorted((answer.chance for answer in answers if answer.chance is not None), reverse=True)
    cannot = sum(chance == 0 for chance in known)
    if len(answers) - cannot < wanted:
        return 0.0
    if wanted == len(answers) and len(known) < wanted:
        return None
    return known[wanted - 1] if len(known) >= wanted else None


def _deciding(answers: Sequence[Answer], wanted: int) -> Answer | None:
    """The part on whose margin the group hangs: of the parts with a number the weakest of those that are needed.

    Ranked by chance, then by distance in deviations, then by the distance itself.
    """
    numbered = [answer for answer in answers if answer.margin is not None]
    if not numbered:
        return None
    numbered.sort(key=_strength, reverse=True)
    # Parts without a number that hold need no margin, so that many fewer numbered ones are needed.
    without = sum(answer.margin is None and answer.state == "met" for answer in answers)
    needed = max(wanted - without, 1)
    return numbered[min(needed, len(numbered)) - 1]


def _strength(answer: Answer) -> tuple[bool, float, float, Decimal]:
    assert answer.margin is not None
    chance = answer.chance if answer.chance is not None else (1.0 if answer.margin >= 0 else 0.0)
    away = answer.margin_sd if answer.margin_sd is not None else float(answer.margin)
    return answer.margin >= 0, chance, away, answer.margin


REQUIREMENTS = (All, AnyOf, AtLeastOf, Not)
