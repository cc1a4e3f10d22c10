"""Conditions on records: filed here, or told why not; of every case or of those that meet another condition.  Pure.

Each record is in one of three states: filed here; not taken, which with its reason is a complete answer; taken and not
filed here.  A radiograph that was not taken is complete without a reason too and is never asked for.
"""

from collections.abc import Sequence
from dataclasses import dataclass
from typing import ClassVar

from plans import record_names
from plans.answers import Answer, Lack, Part, State, all_of, lacking, told
from plans.facts import CaseFacts
from plans.requirements.requirement import Field, Requirement, clause
from plans.requirements.words import STAGE_RECORDS, STAGE_WORDS, STAGES, listed

RECORDS = Field("records", "Records", "choices", tuple(record_names.RECORDS.items()))
STAGE = Field("stage", "Stage", "choice", STAGES, default="initial")


@dataclass(frozen=True)
class RecordsFiled(Requirement):
    """Every listed record of a stage is filed here, or it is told that it was not taken and why."""

    kind: ClassVar[str] = "records"
    label: ClassVar[str] = "Records"
    about: ClassVar[str] = (
        "Records of a stage. One that was not taken, with its reason, counts as told; radiographs are taken for the "
        "patient's care under local rules, never for a plan."
    )
    group: ClassVar[str] = "records"
    FIELDS: ClassVar[tuple[Field, ...]] = (STAGE, RECORDS)

    stage: str
    records: tuple[str, ...]

    def sentence(self, notation: str = "iso3950") -> str:
        held = record_names.phrase(self.records)
        return f"The {STAGE_RECORDS[self.stage]} hold {held}; what was not taken is told with its reason."

    def evaluate(self, facts: CaseFacts) -> Answer:
        states: list[State] = []
        said: dict[str, list[str]] = {}
        lacks: list[Lack] = []
        for record in self.records:
            state, what, lack = self._one(facts, record)
            states.append(state)
            said.setdefault(what, []).append(record)
            lacks += [lack] if lack else []
        says = "; ".join(f"{what}: {_shortly(some)}" for what, some in said.items())
        if all_of(states) == "met":
            return told(True, says)
        return Answer("unknown", says, lacks=tuple(lacks))

    def _one(self, facts: CaseFacts, record: str) -> tuple[State, str, Lack | None]:
        """What became of a record: the state, words for it, what would have to come."""
        stage = facts.stages.get(self.stage)
        fact = stage.records.get(record) if stage else None
        name, when = record_names.name(record), STAGE_WORDS[self.stage]
        radiograph = record_names.is_radiograph(record)
        if fact is None:
            # What became of a radiograph is asked for in words that "not taken" answers; never the radiograph.
            says = f"nothing told of: {name} {when}" if radiograph else f"not filed: {name} {when}"
            kind = "statement" if radiograph else "document"
            return "unknown", "not spoken of", Lack(kind, record, self.stage, name, says)  # type: ignore[arg-type]
        if fact.state == "present":
            return "met", "filed", None
        if fact.state == "not_filed":
            says = f"taken and not filed here: {name} {when}"
            return "unknown", "taken, not filed here", Lack("document", record, self.stage, name, says)
        if fact.reason.strip() or radiograph:
            return "met", "not taken, as told", None
        says = f"not taken, and no reason given: {name} {when}"
        return "unknown", "not taken, without a reason", Lack("statement", record, self.stage, name, says)


@dataclass(frozen=True)
class RecordsIf(Requirement):
    """Records that are asked for only of cases that meet a condition: adults, two phases, surgery, asymmetry."""

    kind: ClassVar[str] = "records_if"
    label: ClassVar[str] = "Records of some cases"
    about: ClassVar[str] = (
        "Records that are asked for if a condition holds, such as age, two phases, surgery, asymmetry."
    )
    group: ClassVar[str] = "records"
    FIELDS: ClassVar[tuple[Field, ...]] = (Field("when", "If", "condition"), STAGE, RECORDS)

    when: Requirement
    stage: str
    records: tuple[str, ...]

    @property
    def inner(self) -> tuple[Requirement, ...]:
        return (self.when,)

    @property
    def filed(self) -> RecordsFiled:
        """The records without the condition."""
        return RecordsFiled(self.stage, self.records)

    def sentence(self, notation: str = "iso3950") -> str:
        return f"If this is so: {clause(self.when, notation)}; then {clause(self.filed, notation)}."

    def evaluate(self, facts: CaseFacts) -> Answer:
        when, filed = self.when.evaluate(facts), self.filed.evaluate(facts)
        parts = (
            Part(self.when.sentence(facts.notation), when),
            Part(self.filed.sentence(facts.notation), filed),
        )
        if when.state == "not_met":
            return Answer("met", f"does not apply: {when.says}", chance=1.0, parts=parts)
        if filed.met:
            return Answer("met", filed.says, chance=1.0, parts=parts)
        if when.state == "unknown":
            lacks = when.lacks or filed.lacks
            return Answer("unknown", f"whether it applies: {lacking(lacks)}", lacks=lacks, parts=parts)
        return Answer(filed.state, filed.says, lacks=filed.lacks, parts=parts)


def _shortly(records: Sequence[str]) -> str:
    """The names of records; the usual photographs together are one thing."""
    if set(record_names.USUAL_PHOTOGRAPHS) <= set(records):
        rest = [record for record in records if record not in record_names.USUAL_PHOTOGRAPHS]
        return listed(["the usual photographs", *(record_names.name(record) for record in rest)])
    return listed(record_names.name(record) for record in records)


REQUIREMENTS = (RecordsFiled, RecordsIf)
