"""What is known of every case of a portfolio, for a plan: in a number of queries that does not grow with the cases.

Stages with records and sheets, scores with their totals under every rule choice where the plan asks for them, the
course of treatment, statements.  What the plan does not ask is not worked out.
"""

from collections.abc import Collection, Iterable, Mapping, Sequence
from dataclasses import dataclass, field
from datetime import date
from decimal import Decimal
from typing import Any, NamedTuple
from uuid import UUID

from django.db.models import Exists, F, FilteredRelation, OuterRef, Q

from plans.document import Plan
from plans.facts import CaseFacts, CourseFacts, RecordFact, RecordState, ScoreFact, StageFacts
from plans.record_names import RECORDS
from plans.requirements.scores import IndexTotal, MeasuredOn
from plans.submitting.selectors import accepted_in, submitted_rows
from portfolio.access import Asker, visible_cases, visible_record_sets, visible_records, visible_sheets
from portfolio.events import JAW_OPERATIONS
from portfolio.finding_sheet import Sheet as SheetReading
from portfolio.models import Case, ItemState, Portfolio, RecordItem, RecordSet, Sheet
from portfolio.repeating.access import open_repeat_sheets
from portfolio.selectors import readings_of, sheets_to_read
from portfolio.selectors.checklist import states_of_rows
from portfolio.selectors.courses import CaseCourse, courses_of
from portfolio.treatment.course import Course
from portfolio.vocabulary import QUANTITIES
from scoring import kernel, registry
from scoring.selectors.held import HeldScore, held_scores
from scoring.selectors.tails import Told, tails_of
from scoring.uncertainty import Tails

PERCENT = Decimal(100)
WHOLE_STATES: Mapping[str, RecordState] = {
    "present": "present",
    ItemState.NOT_TAKEN: "not_taken",
    ItemState.NOT_FILED: "not_filed",
}


class Placed(NamedTuple):
    """Where the owner has placed a case by hand: fixed to a slot (its key), or excluded (empty) with a reason."""

    slot: str
    reason: str

    @property
    def fixed(self) -> bool:
        return bool(self.slot)


@dataclass(frozen=True, slots=True)
class CaseInPlan:
    """One case of a portfolio with what a plan may ask of it; `sheets_at` and `records_at` (by stage) are where its values are entered."""

    pk: int
    public_id: UUID
    code: str
    state: str
    shut: bool
    """Being measured again: nothing of it is shown or chosen meanwhile."""
    facts: CaseFacts
    placed: Placed | None = None
    accepted: str = ""
    """The session in which it was accepted."""
    records_at: Mapping[str, UUID] = field(default_factory=dict)
    sheets_at: Mapping[str, UUID] = field(default_factory=dict)


@dataclass(frozen=True, slots=True)
class Asked:
    """What a plan asks of scores: every index it names, and those that it asks for under every rule choice."""

    indices: tuple[str, ...]
    under: tuple[str, ...]


def asked_by(plan: Plan) -> Asked:
    """The indices a plan reads; that of its order of cases too."""
    scored = [one for one in plan.conditions() if isinstance(one, IndexTotal | MeasuredOn)]
    named = {one.index for one in scored}
    if any(key.startswith("complexity") for key in plan.order):
        named.add(plan.complexity)
    firm = {one.index for one in scored if isinstance(one, IndexTotal) and one.firmly}
    return Asked(
        tuple(key for key in registry.INDEXES if key in named),
        tuple(key for key in registry.INDEXES if key in firm),
    )


def cases_in_plan(
    user: Asker,
    portfolio: Portfolio,
    plan: Plan,
    *,
    today: date,
    held: int | None = None,
    submission_on: date | None = None,
    only: Collection[int] | None = None,
) -> tuple[CaseInPlan, ...]:
    """Every case of a visible portfolio that is not deleted, by code, with what the plan asks of it.

    `held` is the primary key of the row that placements hang on; `submission_on` the day of the submission.  `only` keeps to these primary keys.
    """
    found = visible_cases(user).filter(patient__portfolio=portfolio)
    if only is not None:
        found = found.filter(pk__in=only)
    shut = Exists(open_repeat_sheets(user).filter(sheet__record_set__case=OuterRef("pk")))
    by_hand = FilteredRelation("placements", condition=Q(placements__portfolio_plan=held))
    found = found.annotate(
        shut=shut,
        by_hand=by_hand,
        placed_kind=F("by_hand__kind"),
        placed_slot=F("by_hand__slot"),
        placed_reason=F("by_hand__reason"),
        was_submitted=Exists(submitted_rows("pk")),
        accepted=accepted_in("pk"),
    )
    rows = list(found.select_related("patient__portfolio", "statements").order_by("code"))
    cases = [row for row in rows if not row.shut]
    found_of = _read_of(user, cases, plan, today)
    return tuple(
        CaseInPlan(row.pk, row.public_id, row.code, row.state, True, _untold(row), _placed(row))
        if row.shut
        else _told(row, found_of, submission_on)
        for row in rows
    )


@dataclass(frozen=True, slots=True)
class _Read:
    """Everything that was read of the cases; `sets`: case → stage → records, the rest by record set, sheet, case."""

    sets: Mapping[int, Mapping[str, RecordSet]]
    sheets: Mapping[int, Sheet]
    read: Mapping[int, SheetReading]
    indices: tuple[str, ...]
    scores: Mapping[tuple[int, str], HeldScore]
    chances: Mapping[tuple[int, str], Told]
    records: Mapping[int, list[RecordItem]]
    courses: Mapping[int, CaseCourse]


def _read_of(user: Asker, cases: Sequence[Case], plan: Plan, today: date) -> _Read:
    sets = _newest_of_stage(visible_record_sets(user).filter(case__in=cases).order_by("ordinal", "pk"))
    chosen = [one for stages in sets.values() for one in stages.values()]
    sheets = _sheets(user, chosen)
    read = readings_of(sheets.values())
    asked = asked_by(plan)
    scores = held_scores(list(sheets.values()), read, asked.indices, asked.under)
    chances = tails_of(list(sheets.values()), asked.indices, read, scores)
    courses = courses_of(cases, today, statements_loaded=True)
    return _Read(sets, sheets, read, asked.indices, scores, chances, _records(user, chosen), courses)


def _placed(row: Any) -> Placed | None:
    """What the annotations of a case tell of its placement."""
    return Placed(row.placed_slot, row.placed_reason) if row.placed_kind else None


def _untold(case: Case) -> CaseFacts:
    return CaseFacts(case.code, case.patient.code, notation=case.patient.portfolio.notation)


def _told(case: Any, found: _Read, submission_on: date | None) -> CaseInPlan:
    """A case with its annotations and what was read of it."""
    stages = found.sets.get(case.pk, {})
    sheets = {stage: found.sheets[one.pk] for stage, one in stages.items() if one.pk in found.sheets}
    readings = {stage: found.read[sheet.pk] for stage, sheet in sheets.items()}
    course = found.courses[case.pk]
    facts = CaseFacts(
        case=case.code,
        patient=case.patient.code,
        stages={
            stage: _stage(one, found.records.get(one.pk, ()), readings.get(stage))
            for stage, one in stages.items()
        },
        course=course_facts(course.course),
        scores={
            (key, stage): score_fact(
                stage,
                sheet,
                readings[stage],
                key,
                found.scores[sheet.pk, key],
                found.chances.get((sheet.pk, key)),
            )
            for stage, sheet in sheets.items()
            for key in found.indices
            if (sheet.pk, key) in found.scores
        },
        presented=_presented(case.was_submitted, course),
        statements=_statements(course),
        submission_on=submission_on,
        notation=case.patient.portfolio.notation,
    )
    return CaseInPlan(
        case.pk,
        case.public_id,
        case.code,
        case.state,
        False,
        facts,
        _placed(case),
        case.accepted or "",
        {stage: one.public_id for stage, one in stages.items()},
        {stage: sheet.public_id for stage, sheet in sheets.items()},
    )


def _newest_of_stage(rows: Iterable[RecordSet]) -> dict[int, dict[str, RecordSet]]:
    """Case → stage → its records; of several of one stage the newest, so rows come in rising order."""
    found: dict[int, dict[str, RecordSet]] = {}
    for row in rows:
        found.setdefault(row.case_id, {})[row.stage] = row
    return found


def _sheets(user: Asker, chosen: Sequence[RecordSet]) -> dict[int, Sheet]:
    """Record set → the sheet that speaks for it."""
    rows = visible_sheets(user).filter(record_set__in=chosen).order_by("pk")
    return sheets_to_read(rows.select_related("reader", "record_set__case__patient"))


def _records(user: Asker, chosen: Sequence[RecordSet]) -> dict[int, list[RecordItem]]:
    found: dict[int, list[RecordItem]] = {}
    for row in visible_records(user).filter(record_set__in=chosen).order_by("pk"):
        found.setdefault(row.record_set_id, []).append(row)
    return found


def _stage(one: RecordSet, rows: Iterable[RecordItem], sheet: SheetReading | None) -> StageFacts:
    return StageFacts(
        one.stage,
        one.taken_on,
        one.age_months,
        one.dentition,
        sheet,
        {
            key: RecordFact(WHOLE_STATES[state.state], state.words)
            for key, state in states_of_rows(rows).items()
            if key in RECORDS and state.state in WHOLE_STATES
        },
    )


def score_fact(
    stage: str, sheet: Sheet, read: SheetReading, index_key: str, held: HeldScore, told: Told | None
) -> ScoreFact:
    """A stored score as conditions read it."""
    read_by = {ask.quantity for ask in kernel.asks(registry.index(index_key), read, held.chosen.values)}
    media = {one.medium or sheet.medium for one in read.findings if one.quantity in read_by}
    standing = held.standing
    return ScoreFact(
        index_key,
        stage,
        held.edition(index_key),
        standing.total,
        standing.complete,
        _named(standing.missing),
        None if held.under is None else {choice: one.total for choice, one in held.under.items()},
        {choice: _named(one.lacks) for choice, one in (held.under or {}).items() if one.lacks},
        tuple(sorted(media)),
        tails=told.by_total if isinstance(told, Tails) else None,
        sd=told.sd if isinstance(told, Tails) else None,
    )


def _named(quantities: Iterable[str]) -> tuple[str, ...]:
    return tuple(QUANTITIES[key].label for key in quantities if key in QUANTITIES)


def course_facts(course: Course) -> CourseFacts:
    """The course of treatment as conditions read it; without any event nothing is stated."""
    if not course.events:
        return CourseFacts()
    return CourseFacts(
        days=_days(course),
        phases=len(course.phases) or None,
        active_months=None if course.so_far else course.active_months,
        phase_months={phase.number: phase.months for phase in course.phases if phase.until},
        extracted=frozenset(course.extracted),
        surgery=course.surgical,
        appliances=frozenset(course.families),
        share_percent={
            one.done_by: one.share.numerator * PERCENT / one.share.denominator for one in course.shares
        }
        or None,
        hands=course.hands,
        transferred_in=bool(course.transfers_in),
        transferred_out=bool(course.transfers_out),
    )


def _days(course: Course) -> dict[str, date]:
    """Events of `plans.moments` with their days; where several happened, the first, of appliances off the last."""
    told = {
        "start": course.start,
        "appliances_on": next((one.on for one in course.events if one.kind == "appliances_on"), None),
        "appliances_off": next(
            (one.on for one in reversed(course.events) if one.kind == "appliances_off"), None
        ),
        "surgery": next((one.on for one in course.operations if one.detail in JAW_OPERATIONS), None),
        "end": course.end,
        "retention_start": course.retention_start,
        "retention_check": course.last_check,
    }
    return {moment: day for moment, day in told.items() if day is not None}


def _presented(submitted: bool, found: CaseCourse) -> bool | None:
    return True if submitted else found.statements.presented_before


def _statements(found: CaseCourse) -> dict[str, bool]:
    stated = {"asymmetry": found.statements.asymmetry, "surgical_plan": found.statements.surgical_plan}
    return {key: value for key, value in stated.items() if value is not None}
