"""The condition on teeth that were extracted in treatment.  Pure."""

from collections.abc import Iterator, Mapping
from dataclasses import dataclass
from decimal import Decimal
from typing import Any, ClassVar

from plans.answers import Answer, not_told
from plans.facts import CaseFacts
from plans.requirements.lacks import so_far, statement_lack
from plans.requirements.requirement import Field, Requirement
from plans.requirements.words import listed, spelled_count
from portfolio import teeth

QUADRANTS = (("1", "upper right"), ("2", "upper left"), ("3", "lower left"), ("4", "lower right"))
SHAPES = (
    ("none", "no tooth extracted"),
    ("at_least", "at least so many teeth"),
    ("quadrants", "at least one tooth in each of these quadrants"),
    ("teeth", "these teeth, whatever else"),
    ("only_teeth", "exactly these teeth"),
)


@dataclass(frozen=True)
class Extractions(Requirement):
    """The pattern of permanent teeth taken out as part of treatment; third molars and primary teeth stay aside.

    Until active treatment has ended, what is not yet out may follow.
    """

    kind: ClassVar[str] = "extractions"
    label: ClassVar[str] = "Extractions"
    about: ClassVar[str] = (
        "Permanent teeth taken out as part of treatment. Third molars and primary teeth are left aside "
        "unless they are named."
    )
    group: ClassVar[str] = "course"
    FIELDS: ClassVar[tuple[Field, ...]] = (
        Field("shape", "Pattern", "choice", SHAPES),
        Field("number", "Number of teeth", "whole", required=False, least=Decimal(1), most=Decimal(28)),
        Field("quadrants", "Quadrants", "choices", QUADRANTS, required=False),
        Field("teeth", "Teeth", "teeth", required=False),
    )

    shape: str
    number: int | None = None
    quadrants: tuple[str, ...] = ()
    teeth: tuple[str, ...] = ()

    @classmethod
    def faults(cls, values: Mapping[str, Any]) -> Iterator[tuple[str, str]]:
        needed = {"at_least": "number", "quadrants": "quadrants", "teeth": "teeth", "only_teeth": "teeth"}
        wanted = needed.get(values["shape"])
        for key in ("number", "quadrants", "teeth"):
            if key == wanted and not values[key]:
                yield key, "is required for this pattern"
            elif key != wanted and values[key]:
                yield key, "belongs to another pattern; leave it out"

    def sentence(self, notation: str = "iso3950") -> str:
        named = ", ".join(teeth.shown(tooth, notation) for tooth in self.teeth)
        match self.shape:
            case "none":
                return "Treatment was without extraction of permanent teeth (third molars aside)."
            case "at_least":
                number = spelled_count(self.number or 0, "permanent tooth", "permanent teeth")
                return f"At least {number} (third molars aside) {_were(self.number or 0)} extracted in treatment."
            case "quadrants":
                where = listed(words for key, words in QUADRANTS if key in self.quadrants)
                several = "each of these quadrants" if len(self.quadrants) > 1 else "this quadrant"
                return (
                    f"At least one permanent tooth (third molars aside) was extracted in {several}: {where}."
                )
            case "teeth":
                return f"Treatment included extraction of {named}."
        return f"The teeth extracted in treatment are exactly {named} (third molars aside)."

    def evaluate(self, facts: CaseFacts) -> Answer:
        extracted = facts.course.extracted
        if extracted is None:
            return not_told(statement_lack("extractions", "whether teeth were extracted"))
        counts = frozenset(t for t in extracted if t not in teeth.THIRD_MOLARS and not teeth.is_primary(t))
        named = ", ".join(teeth.shown(tooth, facts.notation) for tooth in teeth.in_order(extracted))
        says = f"extracted: {named}" if named else "no extractions"
        return so_far(*self._held(counts, extracted), facts.course.over, says)

    def _held(self, counts: frozenset[str], extracted: frozenset[str]) -> tuple[bool, bool]:
        """Whether the pattern holds as it stands, and whether one more extraction could change that."""
        named = set(self.teeth)
        match self.shape:
            case "none":
                return not counts, not counts
            case "at_least":
                held = len(counts) >= (self.number or 0)
            case "quadrants":
                held = {tooth[0] for tooth in counts} >= set(self.quadrants)
            case "teeth":
                held = extracted >= named
            case _:
                return named <= extracted and counts <= named, counts <= named
        return held, not held


def _were(number: int) -> str:
    return "was" if number == 1 else "were"


REQUIREMENTS = (Extractions,)
