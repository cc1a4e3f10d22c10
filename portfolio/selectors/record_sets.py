"""Record sets in plain values, and what contradicts what between the stages of a case."""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from datetime import date
from uuid import UUID

from django.db.models import Count

from portfolio.ages import StageAge, age_text, contradictions, in_order
from portfolio.models import Case, RecordSet, Sheet, SheetPurpose, Stage


@dataclass(frozen=True, slots=True)
class RecordSetFacts:
    """One record set for a page. `taken_on` is for the owner's eyes only."""

    public_id: UUID
    stage: str
    ordinal: int
    label: str
    reason: str
    age: str
    taken_on: date | None
    dentition: str
    occlusion: str
    teeth: tuple[str, ...]
    findings: int
    sheet: UUID | None
    version: int


def stage_label(stage: str, ordinal: int) -> str:
    """`initial`, `interim 1`, `final`, and a number for a second one of any stage."""
    word = Stage(stage).label
    return f"{word} {ordinal}" if stage == Stage.INTERIM or ordinal > 1 else str(word)


def record_set_facts(case: Case) -> tuple[RecordSetFacts, ...]:
    """The record sets of a case in the order of treatment, with the owner's working sheet of each."""
    sets = list(RecordSet.objects.filter(case=case).select_related("case"))
    working = Sheet.objects.filter(record_set__in=sets, purpose=SheetPurpose.WORKING)
    sheets = {sheet.record_set_id: sheet for sheet in working}
    counts = dict(working.values_list("pk").annotate(Count("findings")))
    by_place = {(one.stage, one.ordinal): one for one in sets}
    ordered = in_order([_stage_age(one) for one in sets])
    rows = [by_place[(one.stage, one.ordinal)] for one in ordered]
    return tuple(_facts(row, sheets.get(row.pk), counts) for row in rows)


def age_contradictions(record_sets: Sequence[RecordSet], birth_date: date | None, today: date) -> list[str]:
    """Sentences about ages and dates of one case that cannot all be right; they name no date."""
    return contradictions([_stage_age(one) for one in record_sets], birth_date=birth_date, today=today)


def _stage_age(one: RecordSet) -> StageAge:
    return StageAge(stage_label(one.stage, one.ordinal), one.stage, one.ordinal, one.taken_on, one.age_months)


def _facts(row: RecordSet, sheet: Sheet | None, counts: Mapping[int, int]) -> RecordSetFacts:
    return RecordSetFacts(
        public_id=row.public_id,
        stage=row.stage,
        ordinal=row.ordinal,
        label=stage_label(row.stage, row.ordinal),
        reason=row.reason,
        age=age_text(row.age_months) if row.age_months is not None else "",
        taken_on=row.taken_on,
        dentition=row.get_dentition_display(),
        occlusion=row.get_occlusion_display(),
        teeth=tuple(row.teeth.split()),
        findings=counts[sheet.pk] if sheet else 0,
        sheet=sheet.public_id if sheet else None,
        version=row.version,
    )
