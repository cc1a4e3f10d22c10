"""Conditions on teeth and age: missing and impacted teeth, second molars, dentition, age at a stage.  Pure."""

from collections.abc import Iterator, Mapping
from dataclasses import dataclass
from decimal import Decimal
from typing import Any, ClassVar

from plans.answers import Answer, Lack, not_told, told
from plans.facts import CaseFacts
from plans.requirements.lacks import measured_lack
from plans.requirements.limits import limit_faults, limit_fields
from plans.requirements.measured import held_months
from plans.requirements.requirement import Field, Requirement
from plans.requirements.seen import count_state, looked_at
from plans.requirements.words import STAGE_RECORDS, STAGE_WORDS, STAGES, listed, spelled_count, years_words
from portfolio import sites, teeth
from portfolio.ages import age_text
from portfolio.contradictions import TAKEN_ON_MISSING
from portfolio.finding_sheet import Finding, Sheet
from portfolio.vocabulary import DENTITIONS

STAGE = Field("stage", "Stage", "choice", STAGES, default="initial")
WHICH = (
    ("missing", "missing, whatever the cause"),
    ("congenital", "never formed"),
    ("impacted", "impacted"),
    ("either", "missing or impacted"),
    ("congenital_or_impacted", "never formed or impacted"),
)
SECOND_MOLARS = ("17", "27", "37", "47")
_READS = {
    "missing": ("missing",),
    "congenital": ("missing",),
    "impacted": ("impacted",),
    "either": ("missing", "impacted"),
    "congenital_or_impacted": ("missing", "impacted"),
}


@dataclass(frozen=True)
class MissingOrImpacted(Requirement):
    """At least so many permanent teeth are missing, never formed or impacted; third molars are left aside.

    A tooth whose cause of absence is recorded as unknown may be one that never formed.  An impacted extra tooth does
    not make its neighbour impacted.
    """

    kind: ClassVar[str] = "missing_or_impacted"
    label: ClassVar[str] = "Missing or impacted teeth"
    about: ClassVar[str] = (
        "Permanent teeth without third molars. Held against a neighbour (tipped) counts as impacted."
    )
    group: ClassVar[str] = "teeth"
    FIELDS: ClassVar[tuple[Field, ...]] = (
        Field("which", "Which", "choice", WHICH, default="either"),
        STAGE,
        Field(
            "teeth_at_least",
            "Number of teeth, at least",
            "whole",
            default=1,
            least=Decimal(1),
            most=Decimal(28),
        ),
        Field("canines_only", "Canines only", "flag", default=False),
    )

    which: str = "either"
    stage: str = "initial"
    teeth_at_least: int = 1
    canines_only: bool = False

    def sentence(self, notation: str = "iso3950") -> str:
        one = "canine" if self.canines_only else "permanent tooth"
        many = "canines" if self.canines_only else "permanent teeth"
        verb = "is" if self.teeth_at_least == 1 else "are"
        what = dict(WHICH)[self.which].replace(", whatever the cause", "")
        what = what.replace("never formed", "congenitally missing")
        aside = "" if self.canines_only else " (third molars aside)"
        number = spelled_count(self.teeth_at_least, one, many)
        return f"At least {number} {verb} {what} {STAGE_WORDS[self.stage]}{aside}."

    def evaluate(self, facts: CaseFacts) -> Answer:
        sheet = facts.sheet(self.stage)
        if sheet is None:
            return not_told(*(measured_lack(quantity, self.stage) for quantity in _READS[self.which]))
        places = [t for t in teeth.DEFAULT_PERMANENT if not self.canines_only or t[1] == "3"]
        there = teeth.DEFAULT_PERMANENT if sheet.teeth else _standing_by_record(sheet)
        found = {tooth: self._tooth(sheet, tooth, tooth in there) for tooth in places}
        shown = [tooth for tooth, (says, _) in found.items() if says]
        unseen = [tooth for tooth, (says, open_) in found.items() if not says and open_]
        state = count_state(len(shown), len(unseen), self.teeth_at_least)
        named = listed(f"{teeth.shown(tooth, facts.notation)} {found[tooth][0]}" for tooth in shown)
        says = named or "none recorded"
        if state == "unknown":
            lacks = dict.fromkeys(
                measured_lack(quantity, self.stage) for tooth in unseen for quantity in found[tooth][1]
            )
            return Answer("unknown", says, lacks=tuple(lacks))
        return told(state == "met", says)

    def _tooth(self, sheet: Sheet, tooth: str, there: bool) -> tuple[str, tuple[str, ...]]:
        """What makes a tooth count, in words, and the quantities that nobody has recorded of it.

        With a list of teeth those that are not in it are unerupted, not missing.  A missing tooth is not impacted; one
        that stands may still be held against its neighbour.
        """
        open_ = []
        for quantity in _READS[self.which]:
            found = looked_at(sheet, quantity, tooth).finding
            if found is None:
                if not (there if quantity == "missing" else tooth in sheet.missing_teeth):
                    open_.append(quantity)
            elif not found.is_statement:
                says, unclear = self._counts(found)
                if says:
                    return says, ()
                if unclear:
                    open_.append(quantity)
        return "", tuple(open_)

    def _counts(self, found: Finding) -> tuple[str, bool]:
        """What a finding makes of its tooth, and whether it may yet be more."""
        if found.quantity == "impacted":
            return ("impacted", False) if found.value in ("yes", "tipped") else ("", False)
        if self.which in ("missing", "either"):
            return "missing", False
        return (
            ("congenitally missing", False) if found.value == "congenital" else ("", found.value == "unknown")
        )


def _standing_by_record(sheet: Sheet) -> frozenset[str]:
    """Teeth that are there because they are listed, or because a finding of a tooth that is there names them."""
    named = (
        tooth
        for finding in sheet.findings
        if not finding.is_statement and finding.quantity not in TAKEN_ON_MISSING
        for tooth in sites.teeth_of(finding.site)
    )
    return frozenset(sheet.teeth) | frozenset(named)


@dataclass(frozen=True)
class SecondMolars(Requirement):
    """All four second molars have erupted.  That they stand is taken from the list of teeth or a finding that names them.

    A dentition that is only assumed to be whole tells nothing; a missing second molar is not an erupted one.
    """

    kind: ClassVar[str] = "second_molars"
    label: ClassVar[str] = "Second molars erupted"
    about: ClassVar[str] = (
        "Each of the four has to be listed among the teeth that stand, or be measured there."
    )
    group: ClassVar[str] = "teeth"
    FIELDS: ClassVar[tuple[Field, ...]] = (
        Field("stage", "Stage", "choice", STAGES, default="final"),
        Field("partly", "Partly erupted is enough", "flag", default=False),
    )

    stage: str = "final"
    partly: bool = False

    def sentence(self, notation: str = "iso3950") -> str:
        how = "at least partly" if self.partly else "fully"
        return f"All four second molars have {how} erupted {STAGE_WORDS[self.stage]}."

    def evaluate(self, facts: CaseFacts) -> Answer:
        sheet = facts.sheet(self.stage)
        if sheet is None:
            return not_told(measured_lack("eruption", self.stage, SECOND_MOLARS, facts.notation))
        there = _standing_by_record(sheet)
        states = {tooth: _eruption(sheet, tooth, tooth in there) for tooth in SECOND_MOLARS}
        enough = ("fully erupted", "partly erupted") if self.partly else ("fully erupted",)
        short = [tooth for tooth, state in states.items() if state and state not in enough]
        unseen = [tooth for tooth, state in states.items() if not state]
        says = listed(
            f"{teeth.shown(tooth, facts.notation)} {states[tooth]}"
            for tooth in short or states
            if states[tooth]
        )
        if short:
            return told(False, says)
        if unseen:
            return not_told(measured_lack("eruption", self.stage, unseen, facts.notation))
        return told(True, says)


def _eruption(sheet: Sheet, tooth: str, there: bool) -> str:
    """How far a tooth has come, in words; empty where nobody has said."""
    recorded = sheet.at("eruption", tooth)
    if tooth in sheet.missing_teeth:
        return "missing"
    if recorded is not None:
        return {"full": "fully erupted", "partial": "partly erupted"}.get(recorded.value, "not erupted")
    if sheet.teeth and tooth not in sheet.teeth:
        return "not erupted"
    impacted = sheet.at("impacted", tooth)
    if impacted is not None and impacted.value == "yes":
        return "impacted"
    return "fully erupted" if there else ""


@dataclass(frozen=True)
class Dentition(Requirement):
    """The dentition at a stage is one of the listed."""

    kind: ClassVar[str] = "dentition"
    label: ClassVar[str] = "Dentition"
    about: ClassVar[str] = "Primary, mixed or permanent, as recorded with the stage."
    group: ClassVar[str] = "teeth"
    FIELDS: ClassVar[tuple[Field, ...]] = (
        STAGE,
        Field("dentitions", "One of", "choices", tuple((key, key) for key in DENTITIONS)),
    )

    stage: str
    dentitions: tuple[str, ...]

    def sentence(self, notation: str = "iso3950") -> str:
        return f"The dentition {STAGE_WORDS[self.stage]} is {listed(self.dentitions, 'or')}."

    def evaluate(self, facts: CaseFacts) -> Answer:
        stage = facts.stages.get(self.stage)
        if stage is None or not stage.dentition:
            says = f"the dentition {STAGE_WORDS[self.stage]} is not recorded"
            return not_told(Lack("statement", "dentition", self.stage, "dentition", says))
        return told(stage.dentition in self.dentitions, f"{stage.dentition} dentition")


@dataclass(frozen=True)
class Age(Requirement):
    """The age at a stage, in completed months: at least so many, and under so many."""

    kind: ClassVar[str] = "age"
    label: ClassVar[str] = "Age"
    about: ClassVar[str] = (
        "Age at the records of a stage, in completed months (12 years are 144). At most 12 years takes "
        "12 y 0 m and not 12 y 1 m."
    )
    group: ClassVar[str] = "teeth"
    FIELDS: ClassVar[tuple[Field, ...]] = (STAGE, *limit_fields("months", 0, 1440, "months"))

    stage: str
    at_least: int | None = None
    at_most: int | None = None

    @classmethod
    def faults(cls, values: Mapping[str, Any]) -> Iterator[tuple[str, str]]:
        return limit_faults(values)

    def sentence(self, notation: str = "iso3950") -> str:
        limits = [f"at least {years_words(self.at_least)}"] if self.at_least is not None else []
        if self.at_most is not None:
            # Up to 11 y 11 m is what a board calls under 12 years.
            whole = (self.at_most + 1) % 12 == 0
            limits.append(
                f"under {years_words(self.at_most + 1)}" if whole else f"at most {years_words(self.at_most)}"
            )
        return f"The age {STAGE_WORDS[self.stage]} is {listed(limits)}."

    def evaluate(self, facts: CaseFacts) -> Answer:
        stage = facts.stages.get(self.stage)
        if stage is None or stage.age_months is None:
            says = f"the age at the {STAGE_RECORDS[self.stage]} is not recorded"
            return not_told(Lack("statement", "age", self.stage, "age", says))
        return held_months(stage.age_months, self.at_least, self.at_most, age_text(stage.age_months))


REQUIREMENTS = (MissingOrImpacted, SecondMolars, Dentition, Age)
