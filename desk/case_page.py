"""A case on one page: its stages with sheets and scores, consents, private locator, cautions."""

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import date
from uuid import UUID

from desk.standing_words import StandingWords, standing_words
from portfolio.access import Asker, visible_sheets
from portfolio.ages import age_text, in_order
from portfolio.finding_sheet import Sheet as SheetReading
from portfolio.models import Case, RecordSet, Sheet, SheetPurpose
from portfolio.readings import check
from portfolio.selectors import (
    ConsentFacts,
    age_contradictions,
    course_doubts,
    course_of,
    patient_facts,
    readings_of,
    stage_label,
)
from portfolio.services import usual_teeth
from portfolio.treatment.course_words import line as course_line
from portfolio.wording import medium_words, screen_naming
from scoring import registry
from scoring.selectors import Ways, standing_now, ways_of


@dataclass(frozen=True, slots=True)
class ScoreOfSheet:
    """The standing score of a sheet by one index."""

    index: str
    label: str
    words: StandingWords


@dataclass(frozen=True, slots=True)
class SheetOfStage:
    """One sheet of a stage: whose, on what, how far, and what it scores."""

    public_id: UUID
    purpose: str
    reader: str
    medium: str
    findings: int
    scores: tuple[ScoreOfSheet, ...]
    """By each index that records of this stage are measured for."""


@dataclass(frozen=True, slots=True)
class StageOfCase:
    """One record set with its sheets. `taken_on` is for the owner's eyes only."""

    public_id: UUID
    stage: str
    ordinal: int
    label: str
    reason: str
    age: str
    taken_on: date | None
    dentition: str
    occlusion: str
    teeth: int
    sheets: tuple[SheetOfStage, ...]


@dataclass(frozen=True, slots=True)
class CasePage:
    """All the case page shows; locator and dates are there for the owner only."""

    public_id: UUID
    code: str
    state: str
    note: str
    portfolio: UUID
    portfolio_name: str
    patient: UUID
    patient_code: str
    sex: str
    locator: str
    stages: tuple[StageOfCase, ...]
    consents: tuple[ConsentFacts, ...]
    course: str
    """The course of treatment in one line; empty without events."""
    warnings: tuple[str, ...]


def case_page(user: Asker, case: Case, today: date) -> CasePage:
    """The page of a case that comes with patient and portfolio loaded; the sheets are read once for all."""
    patient = patient_facts(case.patient, today)
    rows = list(
        visible_sheets(user)
        .filter(record_set__case=case)
        .select_related("record_set__case__patient", "reader")
        .order_by("pk")
    )
    read = readings_of(rows)
    ways = ways_of([case.patient.portfolio_id])[case.patient.portfolio_id]
    sheets = {row.pk: _sheet(row, read[row.pk], ways) for row in rows}
    # Every record set comes with a sheet, so the sheets name them all.
    sets = {row.record_set_id: row.record_set for row in rows}
    course = course_of(case, today).course
    return CasePage(
        public_id=case.public_id,
        code=case.code,
        state=case.get_state_display(),
        note=case.note,
        portfolio=case.patient.portfolio.public_id,
        portfolio_name=case.patient.portfolio.name,
        patient=patient.public_id,
        patient_code=patient.code,
        sex=patient.sex,
        locator=patient.locator,
        stages=tuple(
            _stage(one, tuple(sheets[row.pk] for row in rows if row.record_set_id == one.pk))
            for one in in_order(sets.values())
        ),
        consents=patient.consents,
        course=course_line(course, case.patient.portfolio.notation),
        warnings=(
            *_warnings(case, list(sets.values()), rows, read, today),
            *course_doubts(case, course, list(sets.values()), today),
        ),
    )


def _warnings(
    case: Case, sets: Sequence[RecordSet], rows: Sequence[Sheet], read: dict[int, SheetReading], today: date
) -> tuple[str, ...]:
    """Everything that contradicts something else: ages, dates, findings against teeth."""
    said = age_contradictions(sets, case.patient.birth_date, today)
    naming = screen_naming(case.patient.portfolio.notation)
    for row in rows:
        label = stage_label(row.record_set.stage, row.record_set.ordinal).capitalize()
        said += [f"{label}: {fault}" for fault in check(read[row.pk], naming=naming)]
    return tuple(dict.fromkeys(said))


def _stage(row: RecordSet, sheets: tuple[SheetOfStage, ...]) -> StageOfCase:
    return StageOfCase(
        public_id=row.public_id,
        stage=row.stage,
        ordinal=row.ordinal,
        label=stage_label(row.stage, row.ordinal).capitalize(),
        reason=row.reason,
        age="" if row.age_months is None else age_text(row.age_months),
        taken_on=row.taken_on,
        dentition=row.get_dentition_display(),
        occlusion=row.get_occlusion_display(),
        teeth=len(row.teeth.split()) or len(usual_teeth(row.dentition)),
        sheets=sheets,
    )


def _sheet(row: Sheet, found: SheetReading, ways: Ways) -> SheetOfStage:
    return SheetOfStage(
        public_id=row.public_id,
        purpose="" if row.purpose == SheetPurpose.WORKING else row.get_purpose_display(),
        reader=str(row.reader),
        medium=medium_words(row.medium),
        findings=len(found.findings),
        scores=tuple(
            ScoreOfSheet(
                key,
                registry.index(key).label,
                standing_words(standing_now(found, ways.chosen[key], key)),
            )
            for key in ways.indices(found)
        ),
    )
