"""The records of cases as a checklist: stages across, records down, with what is told of each."""

from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from uuid import UUID

from portfolio.access import Asker, visible_record_sets, visible_records
from portfolio.ages import age_text, in_order
from portfolio.models import Case, ItemState, RecordItem, RecordSet
from portfolio.records import (
    ASKED,
    NOT_FILED,
    NOTHING_TOLD,
    PRESENT,
    RECORDS,
    Record,
    RecordState,
    state_words,
    told_of,
)
from portfolio.selectors.record_sets import stage_label


@dataclass(frozen=True, slots=True)
class Cell:
    """What is told of one record at one stage."""

    record_set: UUID
    key: str
    label: str
    stage_label: str
    picture: bool
    state: str
    words: str
    quality: str
    """`3 of 5 quality ticks`; empty where none are asked."""


@dataclass(frozen=True, slots=True)
class Line:
    """One record with its cells in the order of the stages."""

    label: str
    asked: bool
    cells: tuple[Cell, ...]


@dataclass(frozen=True, slots=True)
class Group:
    """Records that belong together under one heading."""

    heading: str
    lines: tuple[Line, ...]


@dataclass(frozen=True, slots=True)
class Column:
    """One stage at the head of the grid, with how much of it is told."""

    record_set: UUID
    stage: str
    ordinal: int
    label: str
    age: str
    told: int
    asked: int
    unassigned: int
    """Pictures that still wait for a view."""


@dataclass(frozen=True, slots=True)
class Checklist:
    """All that the page of a case's records shows."""

    columns: tuple[Column, ...]
    groups: tuple[Group, ...]


def checklist(user: Asker, case: Case) -> Checklist:
    """The grid of one case; two queries for any number of stages and records."""
    sets = in_order(visible_record_sets(user).filter(case=case))
    rows: dict[int, list[RecordItem]] = {one.pk: [] for one in sets}
    for row in visible_records(user).filter(record_set__case=case).order_by("pk"):
        rows[row.record_set_id].append(row)
    states = {number: states_of_rows(found) for number, found in rows.items()}
    columns = tuple(_column(one, states[one.pk], rows[one.pk]) for one in sets)
    lines: dict[str, list[Line]] = {}
    for record in RECORDS:
        cells = tuple(_cell(one, record, states[one.pk].get(record.key, NOTHING_TOLD)) for one in sets)
        lines.setdefault(record.group, []).append(Line(record.label, record.asked, cells))
    return Checklist(columns, tuple(Group(heading, tuple(found)) for heading, found in lines.items()))


def states_of_rows(rows: Iterable[RecordItem]) -> dict[str, RecordState]:
    """What the rows of one record set tell of each record, by its key."""
    found: dict[str, RecordState] = {}
    for row in rows:
        if not row.view:
            continue
        if row.file_id is None:
            found[row.view] = RecordState(0, row.state, row.reason, tuple(row.quality), row.version)
        else:
            before = found.get(row.view, NOTHING_TOLD)
            ticks = max(before.ticks, tuple(row.quality), key=len)
            found[row.view] = RecordState(before.pictures + 1, ticks=ticks)
    return found


def record_states(user: Asker, record_set: RecordSet) -> dict[str, RecordState]:
    """What is told of each record of one stage."""
    return states_of_rows(visible_records(user).filter(record_set=record_set))


def _column(one: RecordSet, states: dict[str, RecordState], rows: Sequence[RecordItem]) -> Column:
    return Column(
        record_set=one.public_id,
        stage=one.stage,
        ordinal=one.ordinal,
        label=stage_label(one.stage, one.ordinal).capitalize(),
        age="" if one.age_months is None else age_text(one.age_months),
        told=told_of(states),
        asked=len(ASKED),
        unassigned=sum(1 for row in rows if not row.view and row.state == ItemState.PRESENT),
    )


def _cell(one: RecordSet, record: Record, state: RecordState) -> Cell:
    here = state.pictures > 0 or (not record.picture and state.state in (PRESENT, NOT_FILED))
    ticked = bool(record.ticks) and here
    return Cell(
        record_set=one.public_id,
        key=record.key,
        label=record.label,
        stage_label=stage_label(one.stage, one.ordinal),
        picture=record.picture,
        state=state.state,
        words=state_words(record, state),
        quality=f"{len(state.ticks)} of {len(record.ticks)} quality ticks" if ticked else "",
    )
