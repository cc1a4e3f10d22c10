"""The course of a case for its pages and for rules: events, what follows from them, what is stated, what is doubtful."""

from collections.abc import Collection, Iterable, Sequence
from dataclasses import dataclass
from datetime import date
from uuid import UUID

from django.utils import timezone

from portfolio.ages import age_text, latest_day, months_between
from portfolio.ages import in_order as stages_in_order
from portfolio.events import HANDS, NOT_STATED, Event, detail_words, label, order
from portfolio.models import (
    Case,
    CaseStatements,
    Finding,
    FindingState,
    RecordSet,
    SheetPurpose,
    TreatmentEvent,
)
from portfolio.selectors.record_sets import stage_label
from portfolio.treatment.course import Course
from portfolio.treatment.course import course_of as course_from
from portfolio.treatment.course_words import Fact, facts
from portfolio.treatment.doubts import Records, doubts_of
from portfolio.treatment.timeline import Timeline, timeline
from portfolio.treatment.typed_teeth import teeth_shown


@dataclass(frozen=True, slots=True)
class Statements:
    """What is stated about a case as a whole; None is not stated."""

    asymmetry: bool | None = None
    surgical_plan: bool | None = None
    presented_before: bool | None = None
    note: str = ""
    version: int = 0


@dataclass(frozen=True, slots=True)
class CaseCourse:
    """The course that the events of a case make, and what is stated about it."""

    course: Course
    statements: Statements


@dataclass(frozen=True, slots=True)
class RemovedEvent:
    """An event that was taken out and can be put back."""

    public_id: UUID
    on: date
    words: str


@dataclass(frozen=True, slots=True)
class EventFacts:
    """One event for a page. `on` and `age` are for the owner's eyes only; others see `months`, from the start."""

    public_id: UUID
    version: int
    on: date
    months: int | None
    age: str
    label: str
    detail: str
    teeth: str
    phase: int
    done_by: str
    note: str

    @property
    def months_words(self) -> str:
        return "" if self.months is None else f"{self.months}".replace("-", "−")


def course_of(case: Case, today: date | None = None) -> CaseCourse:
    """The course of one case; what has not ended is counted to `today`, else to now. The caller may see the case."""
    return courses_of([case], today)[case.pk]


def courses_of(
    cases: Collection[Case], today: date | None = None, *, statements_loaded: bool = False
) -> dict[int, CaseCourse]:
    """Primary key → course, for cases the caller may see; two queries for any number of cases.

    One query where the cases come with their `statements` loaded.
    """
    keys = [case.pk for case in cases]
    day = today or latest_day(timezone.now())
    events: dict[int, list[Event]] = {key: [] for key in keys}
    for row in TreatmentEvent.objects.filter(case__in=keys, removed_at__isnull=True).order_by("pk"):
        events[row.case_id].append(event_of(row))
    if statements_loaded:
        rows = [case.statements for case in cases if hasattr(case, "statements")]
    else:
        rows = list(CaseStatements.objects.filter(case__in=keys))
    stated = {row.case_id: _statements(row) for row in rows}
    return {
        key: CaseCourse(course_from(found, day), stated.get(key, Statements()))
        for key, found in events.items()
    }


@dataclass(frozen=True, slots=True)
class CoursePage:
    """All that the page of a course shows. `hand` is who did the latest event that says so."""

    facts: tuple[Fact, ...]
    doubts: tuple[str, ...]
    events: tuple[EventFacts, ...]
    removed: tuple[RemovedEvent, ...]
    statements: Statements
    hand: str
    timeline: Timeline | None
    ages: bool
    """Whether a birth date is kept, so that ages stand beside the days."""


def course_page(case: Case, today: date) -> CoursePage:
    """The course of a case that comes with its patient and portfolio, for its owner; four queries."""
    rows = list(TreatmentEvent.objects.filter(case=case).order_by("pk"))
    kept = [row for row in rows if row.removed_at is None]
    stated = CaseStatements.objects.filter(case=case).first()
    sets = list(RecordSet.objects.filter(case=case))
    course = course_from([event_of(row) for row in kept], today)
    return CoursePage(
        facts=facts(course, case.patient.portfolio.notation) if kept else (),
        doubts=course_doubts(case, course, sets, today),
        events=event_facts(kept, case, course),
        removed=tuple(_removed(row) for row in rows if row.removed_at is not None),
        statements=_statements(stated) if stated else Statements(),
        hand=last_hand(course),
        timeline=timeline(course, today),
        ages=case.patient.birth_date is not None,
    )


def event_of(row: TreatmentEvent) -> Event:
    """A stored event as a plain one."""
    return Event(
        on=row.on,
        kind=row.kind,
        teeth=tuple(row.teeth.split()),
        detail=row.detail,
        phase=row.phase,
        done_by=row.done_by,
        note=row.note,
    )


def event_facts(rows: Iterable[TreatmentEvent], case: Case, course: Course) -> tuple[EventFacts, ...]:
    """Events of one case in the order of time; the case comes with its patient and portfolio."""
    notation, birth = case.patient.portfolio.notation, case.patient.birth_date
    ordered = sorted(rows, key=lambda row: (order(event_of(row)), row.pk))
    return tuple(_facts(row, event_of(row), course, notation, birth) for row in ordered)


def course_doubts(
    case: Case, course: Course, record_sets: Sequence[RecordSet], today: date
) -> tuple[str, ...]:
    """What in the events contradicts itself or the records; sentences without dates. One query, none without events."""
    if not course.events:
        return ()
    missing = _missing(case)
    return doubts_of(
        course,
        today=today,
        birth_date=case.patient.birth_date,
        records=[_records(one, missing.get(one.pk, frozenset())) for one in stages_in_order(record_sets)],
        notation=case.patient.portfolio.notation,
    )


def last_hand(course: Course) -> str:
    """Who did the latest event that says so; empty where none does."""
    return next((one.done_by for one in reversed(course.events) if one.done_by), NOT_STATED)


def _statements(row: CaseStatements) -> Statements:
    return Statements(row.asymmetry, row.surgical_plan, row.presented_before, row.note, row.version)


def _removed(row: TreatmentEvent) -> RemovedEvent:
    event = event_of(row)
    return RemovedEvent(
        row.public_id, row.on, ", ".join(words for words in (label(event), detail_words(event)) if words)
    )


def _records(one: RecordSet, missing: frozenset[str]) -> Records:
    standing = frozenset(one.teeth.split()) - missing
    return Records(stage_label(one.stage, one.ordinal), one.stage, one.taken_on, standing)


def _missing(case: Case) -> dict[int, frozenset[str]]:
    """Primary key of a record set → teeth that a working sheet on it says are missing."""
    found: dict[int, set[str]] = {}
    rows = Finding.objects.filter(
        sheet__record_set__case=case,
        sheet__purpose=SheetPurpose.WORKING,
        quantity="missing",
        state=FindingState.MEASURED,
    )
    for record_set, site in rows.values_list("sheet__record_set", "site"):
        found.setdefault(record_set, set()).add(site)
    return {key: frozenset(sites) for key, sites in found.items()}


def _facts(
    row: TreatmentEvent, event: Event, course: Course, notation: str, birth: date | None
) -> EventFacts:
    return EventFacts(
        public_id=row.public_id,
        version=row.version,
        on=row.on,
        months=course.months_since_start(row.on),
        age=age_text(months_between(birth, row.on)) if birth and row.on >= birth else "",
        label=label(event),
        detail=detail_words(event),
        teeth=teeth_shown(event.teeth, notation),
        phase=0 if event.kind.startswith("phase_") else event.phase,
        done_by=HANDS.get(row.done_by, ""),
        note=row.note,
    )
