"""Conditions on how front and back teeth meet: open bite, crossbite, deep bite, overjet.  Pure."""

from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass
from decimal import Decimal
from typing import Any, ClassVar

from plans.answers import Answer, not_told, told
from plans.facts import CaseFacts
from plans.requirements.lacks import measured_lack
from plans.requirements.limits import Limits, limit_faults, limit_fields
from plans.requirements.measured import held_greatest, held_number
from plans.requirements.requirement import Field, Requirement
from plans.requirements.seen import (
    ZERO,
    Seen,
    chance_of_at_least,
    count_state,
    front_and_behind,
    looked_at,
)
from plans.requirements.words import STAGE_WORDS, STAGES, limits_words, spelled_count, with_unit
from portfolio import teeth
from portfolio.finding_sheet import Sheet

REGIONS = (("anterior", "front teeth, canine to canine"), ("posterior", "behind the canines"))
SENSES = (
    ("either", "inside or outside"),
    ("inside", "upper teeth inside"),
    ("outside", "upper teeth outside"),
)
STAGE = Field("stage", "Stage", "choice", STAGES, default="initial")
TEETH_AT_LEAST = Field(
    "teeth_at_least", "Number of teeth, at least", "whole", default=1, least=Decimal(1), most=Decimal(10)
)


@dataclass(frozen=True)
class OpenBite(Requirement):
    """At least so many upper teeth have an open bite of at least so many millimetres.

    In front by `overbite` below 0 from canine to canine, behind by `posterior_open_bite`; edge to edge is not open.
    """

    kind: ClassVar[str] = "open_bite"
    label: ClassVar[str] = "Open bite"
    about: ClassVar[str] = (
        "Open bite in front or behind: how many teeth, by how much. Edge to edge is not open."
    )
    group: ClassVar[str] = "occlusion"
    FIELDS: ClassVar[tuple[Field, ...]] = (
        Field("region", "Where", "choice", REGIONS, default="anterior"),
        STAGE,
        TEETH_AT_LEAST,
        Field(
            "at_least", "Open by at least", "number", default=ZERO, unit="mm", least=ZERO, most=Decimal(20)
        ),
    )

    region: str = "anterior"
    stage: str = "initial"
    teeth_at_least: int = 1
    at_least: Decimal = ZERO

    def sentence(self, notation: str = "iso3950") -> str:
        by = f" by at least {with_unit(self.at_least, 'mm')}" if self.at_least else ""
        number = spelled_count(self.teeth_at_least, "upper tooth", "upper teeth")
        verb = "is" if self.teeth_at_least == 1 else "are"
        where = "from canine to canine" if self.region == "anterior" else "behind the canines"
        return f"At least {number} {where} {verb} in open bite{by} {STAGE_WORDS[self.stage]}."

    def evaluate(self, facts: CaseFacts) -> Answer:
        sheet = facts.sheet(self.stage)
        quantity = "overbite" if self.region == "anterior" else "posterior_open_bite"
        if sheet is None:
            return not_told(measured_lack(quantity, self.stage))
        places = teeth.UPPER_FRONT if self.region == "anterior" else teeth.UPPER_BUCCAL
        sign = -1 if self.region == "anterior" else 1
        return self._counted(front_and_behind(sheet, quantity, places), quantity, sign, facts.notation)

    def _counted(self, seen: Sequence[Seen], quantity: str, sign: int, notation: str) -> Answer:
        gaps = [(one, sign * one.number) for one in seen if one.number is not None]
        shown = [(one, gap) for one, gap in gaps if gap > 0 and gap >= self.at_least]
        unseen = [one.site for one in seen if one.number is None]
        state = count_state(len(shown), len(unseen), self.teeth_at_least)
        said = ", ".join(
            f"{teeth.shown(one.site, notation)} open {with_unit(gap, 'mm')}" for one, gap in gaps if gap > 0
        )
        lacks = (measured_lack(quantity, self.stage, unseen, notation),) if state == "unknown" else ()
        answer = Answer(state, said or "no tooth recorded as open", lacks=lacks)
        return answer if state == "unknown" else self._sure(answer, gaps)

    def _sure(self, answer: Answer, gaps: Sequence[tuple[Seen, Decimal]]) -> Answer:
        """With the distance of the tooth that decides, and the chance that enough teeth reach the limit.

        That a tooth is open at all is taken as seen; only how far is measured.
        """
        widest = sorted((gap for _, gap in gaps if gap > 0), reverse=True)
        if not self.at_least:
            return told(answer.met, answer.says)
        chances = [Limits(self.at_least).chance_by_sd(gap, one.sd) for one, gap in gaps if gap > 0]
        chance = chance_of_at_least(self.teeth_at_least, chances)
        if len(widest) < self.teeth_at_least:
            return Answer(answer.state, answer.says, chance=chance, lacks=answer.lacks)
        margin = widest[self.teeth_at_least - 1] - self.at_least
        sd = next(one.sd for one, gap in gaps if gap == margin + self.at_least)
        return Answer(
            answer.state, answer.says, margin, "mm", float(margin) / sd if sd else None, chance, answer.lacks
        )


@dataclass(frozen=True)
class Crossbite(Requirement):
    """At least so many upper teeth are in crossbite: in front in reverse overjet, behind inside or outside.

    Edge to edge and cusp to cusp do not count.
    """

    kind: ClassVar[str] = "crossbite"
    label: ClassVar[str] = "Crossbite"
    about: ClassVar[str] = (
        "In front: upper teeth in reverse overjet. Behind: upper teeth inside or outside the lower ones. "
        "Edge to edge and cusp to cusp do not count."
    )
    group: ClassVar[str] = "occlusion"
    FIELDS: ClassVar[tuple[Field, ...]] = (
        Field("region", "Where", "choice", REGIONS, default="posterior"),
        STAGE,
        TEETH_AT_LEAST,
        Field("sense", "Sense (behind)", "choice", SENSES, default="either"),
    )

    region: str = "posterior"
    stage: str = "initial"
    teeth_at_least: int = 1
    sense: str = "either"

    @classmethod
    def faults(cls, values: Mapping[str, Any]) -> Iterator[tuple[str, str]]:
        if values["region"] == "anterior" and values["sense"] != "either":
            yield (
                "sense",
                "is asked behind the canines only; in front it is reverse overjet: leave it at either",
            )

    def sentence(self, notation: str = "iso3950") -> str:
        verb = "is" if self.teeth_at_least == 1 else "are"
        number = spelled_count(self.teeth_at_least, "upper tooth", "upper teeth")
        where, how = "behind the canines", {"inside": " inside", "outside": " outside"}.get(self.sense, "")
        if self.region == "anterior":
            where, how = "from canine to canine", ""
        placed = f", the upper tooth{how}" if how else ""
        return f"At least {number} {where} {verb} in crossbite{placed}, {STAGE_WORDS[self.stage]}."

    def evaluate(self, facts: CaseFacts) -> Answer:
        sheet = facts.sheet(self.stage)
        quantity = "overjet" if self.region == "anterior" else "crossbite"
        if sheet is None:
            return not_told(measured_lack(quantity, self.stage))
        crossed, unseen = self._front(sheet) if self.region == "anterior" else self._behind(sheet)
        state = count_state(len(crossed), len(unseen), self.teeth_at_least)
        named = ", ".join(teeth.shown(tooth, facts.notation) for tooth in crossed)
        says = f"in crossbite: {named}" if named else "no tooth recorded in crossbite"
        if state == "unknown":
            lack = measured_lack(quantity, self.stage, unseen, facts.notation)
            return Answer("unknown", says, lacks=(lack,))
        return told(state == "met", says)

    def _front(self, sheet: Sheet) -> tuple[list[str], list[str]]:
        seen = front_and_behind(sheet, "overjet", teeth.UPPER_FRONT)
        crossed = [one.site for one in seen if one.number is not None and one.number < 0]
        return crossed, [one.site for one in seen if one.number is None]

    def _behind(self, sheet: Sheet) -> tuple[list[str], list[str]]:
        wanted = {"inside": ("upper_inside",), "outside": ("upper_outside",)}.get(
            self.sense, ("upper_inside", "upper_outside")
        )
        held = [tooth for place in teeth.UPPER_BUCCAL if (tooth := sheet.holder(place))]
        seen = [looked_at(sheet, "crossbite", tooth) for tooth in held]
        crossed = [one.site for one in seen if one.finding and one.finding.value in wanted]
        return crossed, [one.site for one in seen if one.finding is None]


@dataclass(frozen=True)
class DeepBite(Requirement):
    """The overbite is at least so deep: the greatest of the incisors in millimetres, or the cover of a lower incisor."""

    kind: ClassVar[str] = "deep_bite"
    label: ClassVar[str] = "Deep bite"
    about: ClassVar[str] = (
        "By the greatest share of a lower incisor that is covered, or by millimetres of overbite."
    )
    group: ClassVar[str] = "occlusion"
    FIELDS: ClassVar[tuple[Field, ...]] = (
        Field(
            "by",
            "Told by",
            "choice",
            (("cover", "cover, per cent"), ("overbite", "overbite, mm")),
            default="cover",
        ),
        STAGE,
        Field("at_least", "At least", "number", least=Decimal(0), most=Decimal(200)),
    )

    by: str
    stage: str
    at_least: Decimal

    def sentence(self, notation: str = "iso3950") -> str:
        stage = STAGE_WORDS[self.stage]
        if self.by == "cover":
            return f"The upper incisors cover at least {with_unit(self.at_least, '%')} of a lower incisor {stage}."
        return f"The greatest overbite of the incisors is at least {with_unit(self.at_least, 'mm')} {stage}."

    def evaluate(self, facts: CaseFacts) -> Answer:
        sheet = facts.sheet(self.stage)
        quantity = "overbite_cover" if self.by == "cover" else "overbite"
        if sheet is None:
            return not_told(measured_lack(quantity, self.stage))
        limits = Limits(self.at_least)
        if self.by == "cover":
            cover = looked_at(sheet, quantity, "mouth")
            if cover.finding is None and self.at_least > 0 and _no_overlap(sheet):
                return told(False, "no incisor overlaps")
            return held_number(cover, limits, quantity, self.stage, "%")
        return held_greatest(sheet, quantity, teeth.UPPER_INCISORS, limits, self.stage, facts.notation)


def _no_overlap(sheet: Sheet) -> bool:
    """Whether every upper incisor that counts is recorded as edge to edge or open, so that nothing is covered."""
    seen = front_and_behind(sheet, "overbite", teeth.UPPER_INCISORS)
    return bool(seen) and all(one.number is not None and not one.rest and one.number <= 0 for one in seen)


@dataclass(frozen=True)
class Overjet(Requirement):
    """The greatest overjet of the incisors lies between limits, or the greatest reverse overjet from canine to canine."""

    kind: ClassVar[str] = "overjet"
    label: ClassVar[str] = "Overjet"
    about: ClassVar[str] = (
        "The greatest overjet of the upper incisors, or the greatest reverse overjet, in millimetres."
    )
    group: ClassVar[str] = "occlusion"
    FIELDS: ClassVar[tuple[Field, ...]] = (
        Field(
            "sense",
            "Sense",
            "choice",
            (("forward", "overjet"), ("reverse", "reverse overjet")),
            default="forward",
        ),
        STAGE,
        *limit_fields("mm", 0, 25),
    )

    sense: str = "forward"
    stage: str = "initial"
    at_least: Decimal | None = None
    at_most: Decimal | None = None

    @classmethod
    def faults(cls, values: Mapping[str, Any]) -> Iterator[tuple[str, str]]:
        return limit_faults(values)

    def sentence(self, notation: str = "iso3950") -> str:
        limits = limits_words(self.at_least, self.at_most, "mm")
        said = (
            "overjet of the incisors" if self.sense == "forward" else "reverse overjet from canine to canine"
        )
        return f"The greatest {said} is {limits} {STAGE_WORDS[self.stage]}."

    def evaluate(self, facts: CaseFacts) -> Answer:
        sheet = facts.sheet(self.stage)
        if sheet is None:
            return not_told(measured_lack("overjet", self.stage))
        limits = Limits(self.at_least, self.at_most)
        forward = self.sense == "forward"
        places = teeth.UPPER_INCISORS if forward else teeth.UPPER_FRONT
        return held_greatest(
            sheet, "overjet", places, limits, self.stage, facts.notation, 1 if forward else -1
        )


REQUIREMENTS = (Overjet, OpenBite, Crossbite, DeepBite)
