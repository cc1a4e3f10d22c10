"""Conditions on the course of treatment: extractions, surgery, phases, time, hands, appliances.  Pure."""

from collections.abc import Iterator, Mapping
from dataclasses import dataclass
from decimal import Decimal
from typing import Any, ClassVar

from plans.answers import Answer, not_told, told
from plans.facts import CaseFacts
from plans.requirements.lacks import event_lack, so_far, statement_lack
from plans.requirements.limits import limit_faults, limit_fields
from plans.requirements.measured import held_months
from plans.requirements.requirement import Field, Requirement
from plans.requirements.words import counted, listed, months_words
from portfolio.events import APPLIANCES, MOST_PHASES

WANTED = Field(
    "wanted", "Wanted", "flag", default=True, help="Without the tick the condition is that it was not so."
)


@dataclass(frozen=True)
class Surgery(Requirement):
    """Treatment included, or did not include, an operation on the jaws."""

    kind: ClassVar[str] = "surgery"
    label: ClassVar[str] = "Jaw surgery"
    about: ClassVar[str] = "Whether an operation on the jaws was part of treatment."
    group: ClassVar[str] = "course"
    FIELDS: ClassVar[tuple[Field, ...]] = (WANTED,)

    wanted: bool = True

    def sentence(self, notation: str = "iso3950") -> str:
        return f"Treatment {'included' if self.wanted else 'was without'} jaw surgery."

    def evaluate(self, facts: CaseFacts) -> Answer:
        if facts.course.surgery is None:
            return not_told(statement_lack("surgery", "whether the jaws were operated on"))
        operated = facts.course.surgery
        says = "with jaw surgery" if operated else "without jaw surgery"
        return so_far(operated is self.wanted, not operated, facts.course.over, says)


@dataclass(frozen=True)
class Asymmetry(Requirement):
    """There is, or is not, a skeletal asymmetry: as stated of the case, else as recorded before treatment."""

    kind: ClassVar[str] = "asymmetry"
    label: ClassVar[str] = "Skeletal asymmetry"
    about: ClassVar[str] = "As stated of the case; where nothing is stated, as recorded before treatment."
    group: ClassVar[str] = "occlusion"
    FIELDS: ClassVar[tuple[Field, ...]] = (WANTED,)

    wanted: bool = True

    def sentence(self, notation: str = "iso3950") -> str:
        return f"There is {'a' if self.wanted else 'no'} skeletal asymmetry before treatment."

    def evaluate(self, facts: CaseFacts) -> Answer:
        stated = facts.statements.get("asymmetry")
        if stated is None:
            sheet = facts.sheet("initial")
            found = sheet.at("skeletal_asymmetry", "mouth") if sheet else None
            if found is None or found.value == "unknown":
                return not_told(statement_lack("asymmetry", "whether there is an asymmetry"))
            stated = found.value != "none"
        return told(stated is self.wanted, "asymmetry" if stated else "no asymmetry")


@dataclass(frozen=True)
class TwoPhases(Requirement):
    """Treatment had, or had not, two phases or more."""

    kind: ClassVar[str] = "two_phases"
    label: ClassVar[str] = "Two phases"
    about: ClassVar[str] = "Whether treatment was done in two phases or more."
    group: ClassVar[str] = "course"
    FIELDS: ClassVar[tuple[Field, ...]] = (WANTED,)

    wanted: bool = True

    def sentence(self, notation: str = "iso3950") -> str:
        return f"Treatment was done in {'two phases or more' if self.wanted else 'one phase'}."

    def evaluate(self, facts: CaseFacts) -> Answer:
        phases = facts.course.phases
        if phases is None:
            return not_told(event_lack("phase_start", "the phases of treatment"))
        two = phases >= 2
        return so_far(two is self.wanted, not two, facts.course.over, counted(phases, "phase"))


@dataclass(frozen=True)
class TreatmentTime(Requirement):
    """The active treatment time, in completed months without breaks, of all phases or of one."""

    kind: ClassVar[str] = "treatment_time"
    label: ClassVar[str] = "Active treatment time"
    about: ClassVar[str] = "Completed months of active treatment, breaks taken off; of all phases, or of one."
    group: ClassVar[str] = "course"
    FIELDS: ClassVar[tuple[Field, ...]] = (
        *limit_fields("months", 0, 240, "months"),
        Field("phase", "Phase", "whole", required=False, least=Decimal(1), most=Decimal(MOST_PHASES)),
    )

    at_least: int | None = None
    at_most: int | None = None
    phase: int | None = None

    @classmethod
    def faults(cls, values: Mapping[str, Any]) -> Iterator[tuple[str, str]]:
        return limit_faults(values)

    def sentence(self, notation: str = "iso3950") -> str:
        of = f" of phase {self.phase}" if self.phase else ""
        limits = [
            f"{word} {months_words(months)}"
            for word, months in (("at least", self.at_least), ("at most", self.at_most))
            if months is not None
        ]
        return f"The active treatment time{of} is {listed(limits)}."

    def evaluate(self, facts: CaseFacts) -> Answer:
        course = facts.course
        months = course.phase_months.get(self.phase) if self.phase else course.active_months
        if months is None:
            of = f" of phase {self.phase}" if self.phase else ""
            return not_told(event_lack("end", f"start and end{of}"))
        return held_months(months, self.at_least, self.at_most, months_words(months))


@dataclass(frozen=True)
class Appliances(Requirement):
    """Appliances of at least one of the listed families were used, or of none of them."""

    kind: ClassVar[str] = "appliances"
    label: ClassVar[str] = "Appliances"
    about: ClassVar[str] = "Families of appliances that were used in treatment."
    group: ClassVar[str] = "course"
    FIELDS: ClassVar[tuple[Field, ...]] = (
        Field("families", "Families", "choices", tuple(APPLIANCES.items())),
        Field("used", "Used", "flag", default=True, help="Without the tick none of them was used."),
    )

    families: tuple[str, ...]
    used: bool = True

    def sentence(self, notation: str = "iso3950") -> str:
        named = listed((APPLIANCES[key] for key in self.families), "or")
        return f"Treatment was {'with' if self.used else 'without'} {named}."

    def evaluate(self, facts: CaseFacts) -> Answer:
        used = facts.course.appliances
        if used is None:
            return not_told(event_lack("appliances_on", "which appliances were used"))
        says = f"used: {listed(APPLIANCES.get(key, key) for key in sorted(used)) or 'none recorded'}"
        found = bool(used & set(self.families))
        return so_far(found is self.used, not found, facts.course.over, says)


REQUIREMENTS = (Surgery, Asymmetry, TwoPhases, TreatmentTime, Appliances)
