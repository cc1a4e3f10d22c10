"""Conditions on how the arches stand to each other: molars and canines side by side, incisor class.  Pure."""

from collections.abc import Iterator, Mapping
from dataclasses import dataclass
from itertools import product
from typing import Any, ClassVar

from plans.answers import Answer, not_told, told
from plans.facts import CaseFacts
from plans.requirements.lacks import measured_lack
from plans.requirements.requirement import Field, Requirement
from plans.requirements.words import STAGE_WORDS, STAGES, listed, quantity_in_sentence
from portfolio import sites
from portfolio.code_errors import truths
from portfolio.finding_sheet import Sheet
from portfolio.vocabulary import QUANTITIES
from portfolio.wording import value_words

STAGE = Field("stage", "Stage", "choice", STAGES, default="initial")
SHAPES = (
    ("full_one_side", "full step or more on at least one side"),
    ("end_one_side", "end to end or more on at least one side"),
    ("full_both", "full step or more on both sides"),
    ("end_both", "end to end or more on both sides"),
    ("subdivision", "one side Class I, the other end to end or more"),
    ("class1_both", "Class I on both sides"),
)
DIRECTIONS = (
    ("either", "Class II or III, both sides alike"),
    ("2", "Class II"),
    ("3", "Class III"),
)
AT = (("molar_relation", "first molars"), ("canine_relation", "canines"))
_END, _FULL = ("end", "full", "beyond"), ("full", "beyond")


@dataclass(frozen=True)
class MolarRelation(Requirement):
    """The first molars (or canines) of the two sides make a shape, toward Class II, Class III, or either of them.

    `beyond` a full step counts as full, and full as end to end; `toward` is short of end to end and is neither
    that nor Class I.  With `either` both sides must be off in the same direction.  A side that is not recorded
    leaves the answer open only while what it may be could change it.
    """

    kind: ClassVar[str] = "molar_relation"
    label: ClassVar[str] = "Molar relation"
    about: ClassVar[str] = (
        "The shape that the relations of both sides make: full step, end to end, subdivision, Class I."
    )
    group: ClassVar[str] = "occlusion"
    FIELDS: ClassVar[tuple[Field, ...]] = (
        Field("at", "Read at", "choice", AT, default="molar_relation"),
        STAGE,
        Field("shape", "Shape", "choice", SHAPES),
        Field("direction", "Toward", "choice", DIRECTIONS, default="either"),
    )

    at: str
    stage: str
    shape: str
    direction: str = "either"

    @classmethod
    def faults(cls, values: Mapping[str, Any]) -> Iterator[tuple[str, str]]:
        if values["shape"] == "class1_both" and values["direction"] != "either":
            yield "direction", "Class I on both sides has no direction; leave it at either"

    def sentence(self, notation: str = "iso3950") -> str:
        where = "first molars" if self.at == "molar_relation" else "canines"
        toward = {"2": "Class II", "3": "Class III"}.get(self.direction, "Class II or Class III")
        shape = {
            "full_one_side": f"a full step or more {toward} on at least one side",
            "end_one_side": f"end to end or more {toward} on at least one side",
            "full_both": f"a full step or more {toward} on both sides",
            "end_both": f"end to end or more {toward} on both sides",
            "subdivision": f"a {toward} subdivision: Class I on one side, end to end or more on the other",
            "class1_both": "Class I on both sides",
        }[self.shape]
        return f"The {where} are {shape}, {STAGE_WORDS[self.stage]}."

    def evaluate(self, facts: CaseFacts) -> Answer:
        sheet = facts.sheet(self.stage)
        if sheet is None:
            return not_told(measured_lack(self.at, self.stage))
        codes = {side: _recorded(sheet, self.at, side) for side in sites.SIDES}
        says = ", ".join(
            f"{side} {value_words(self.at, code) if code else 'not recorded'}" for side, code in codes.items()
        )
        possible = [(code,) if code else QUANTITIES[self.at].codes for code in codes.values()]
        outcomes = {self.holds(right, left) for right, left in product(*possible)}
        unseen = tuple(side for side, code in codes.items() if not code)
        if len(outcomes) > 1:
            lack = measured_lack(self.at, self.stage, unseen)
            return Answer("unknown", says, lacks=(lack,))
        met = outcomes == {True}
        if unseen:
            return told(met, says)
        return Answer("met" if met else "not_met", says, chance=self._chance(codes))

    def holds(self, right: str, left: str) -> bool:
        """Whether two codes of `molar_relation` make the shape."""
        if self.shape == "class1_both":
            return right == left == "class1"
        directions = ("2", "3") if self.direction == "either" else (self.direction,)
        return any(self._toward(direction, right, left) for direction in directions)

    def _toward(self, direction: str, right: str, left: str) -> bool:
        full = [_is(code, _FULL, direction) for code in (right, left)]
        end = [_is(code, _END, direction) for code in (right, left)]
        match self.shape:
            case "full_one_side":
                return any(full)
            case "end_one_side":
                return any(end)
            case "full_both":
                return all(full)
            case "end_both":
                return all(end)
        return (right == "class1" and end[1]) or (left == "class1" and end[0])

    def _chance(self, codes: Mapping[str, str]) -> float:
        """P(the true codes make the shape), both sides mistaken independently by the table of codes."""
        pairs = product(*(truths(self.at, code) for code in codes.values()))
        return min(sum(p * q for (right, p), (left, q) in pairs if self.holds(right, left)), 1.0)


def _recorded(sheet: Sheet, quantity: str, side: str) -> str:
    """The code of a side; empty where it is not recorded, or read at another tooth without saying how."""
    found = sheet.at(quantity, side)
    if found is None:
        return ""
    substitute = sheet.at("molar_substitute", side) if quantity == "molar_relation" else None
    return "" if substitute and not substitute.note.strip() else found.value


def _is(code: str, steps: tuple[str, ...], direction: str) -> bool:
    return code[:-1] in steps and code[-1] == direction


@dataclass(frozen=True)
class IncisorClass(Requirement):
    """The incisor class is one of the listed."""

    kind: ClassVar[str] = "incisor_class"
    label: ClassVar[str] = "Incisor class"
    about: ClassVar[str] = (
        "By the lower incisor edges against the cingulum plateau of the upper central incisors."
    )
    group: ClassVar[str] = "occlusion"
    FIELDS: ClassVar[tuple[Field, ...]] = (
        STAGE,
        Field(
            "classes",
            "One of",
            "choices",
            tuple(
                (code, f"Class {value_words('incisor_class', code)}")
                for code in QUANTITIES["incisor_class"].codes
            ),
        ),
    )

    stage: str
    classes: tuple[str, ...]

    def sentence(self, notation: str = "iso3950") -> str:
        named = listed((f"Class {value_words('incisor_class', code)}" for code in self.classes), "or")
        return f"The {quantity_in_sentence('incisor_class')} {STAGE_WORDS[self.stage]} is {named}."

    def evaluate(self, facts: CaseFacts) -> Answer:
        sheet = facts.sheet(self.stage)
        found = sheet.at("incisor_class", "mouth") if sheet else None
        if found is None:
            return not_told(measured_lack("incisor_class", self.stage))
        return told(found.value in self.classes, f"Class {value_words('incisor_class', found.value)}")


REQUIREMENTS = (MolarRelation, IncisorClass)
