"""Reading repeats: which are due, open and handed in, what is counted, and a reader's own errors."""

from collections import defaultdict
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass, replace
from datetime import datetime, timedelta
from uuid import UUID

from django.db.models import Count, Max, Prefetch, QuerySet

from portfolio import readings
from portfolio.access import Asker
from portfolio.errors import OwnError
from portfolio.models import Portfolio, RepeatSheet, RepeatStatement, Sheet, StatementKind
from portfolio.repeating.access import first_sheets, visible_repeat_sheets
from portfolio.repeating.pairs import MeasuredAgain, Occasion, measured_again
from portfolio.selectors.record_sets import stage_label
from portfolio.selectors.sheets import readings_of, round_the_casts
from portfolio.services.sheet_writing import from_item


@dataclass(frozen=True, slots=True)
class Said:
    """One written statement about a repeat."""

    words: str
    reason: str
    at: datetime


@dataclass(frozen=True, slots=True)
class RepeatLine:
    """One repeat of a sheet; `state` is open, handed in, left out or given up."""

    public_id: UUID
    number: int
    state: str
    begun_at: datetime
    handed_in_at: datetime | None
    said: tuple[Said, ...]


@dataclass(frozen=True, slots=True)
class RecordsLine:
    """Measured records with their repeats. `due` is when they may be repeated without a reason."""

    record_set: UUID
    case_id: UUID
    case_code: str
    stage: str
    ordinal: int
    label: str
    due: datetime
    is_due: bool
    open_repeat: UUID | None
    repeats: tuple[RepeatLine, ...]


@dataclass(frozen=True, slots=True)
class Kept:
    """How many repeats there are, and how many of them no figure holds."""

    handed_in: int
    left_out: int
    given_up: int
    reasons: tuple[tuple[str, Said], ...]
    """Case and number of each repeat that is not counted, with what was said."""


def records_to_repeat(user: Asker, portfolio: Portfolio, now: datetime) -> tuple[RecordsLine, ...]:
    """The reader's measured records of a portfolio, those due longest first; six queries."""
    repeats = with_statements(visible_repeat_sheets(user)).annotate(last=Max("sheet__changes__at"))
    rows = (
        first_sheets(user)
        .filter(record_set__case__patient__portfolio=portfolio)
        .annotate(last=Max("changes__at"))
        .filter(last__isnull=False)
        .select_related("record_set__case")
        .prefetch_related(
            Prefetch("repeat_sheets", repeats.order_by("sheet__occasion"), to_attr="own_repeats")
        )
    )
    wait = timedelta(days=portfolio.repeat_wait_days)
    found = [_records_line(row, wait, now) for row in rows]
    return tuple(sorted(found, key=lambda line: (line.due, line.case_code, line.label)))


def _records_line(row: Sheet, wait: timedelta, now: datetime) -> RecordsLine:
    made: list[RepeatSheet] = getattr(row, "own_repeats")  # noqa: B009 set by the prefetch
    seen = [getattr(row, "last"), *(getattr(one, "last") for one in made)]  # noqa: B009 annotated
    seen += [s.at for one in made for s in _statements(one) if s.kind == StatementKind.GIVEN_UP]
    due = max(at for at in seen if at is not None) + wait
    here = row.record_set
    lines = tuple(repeat_line(one) for one in made)
    return RecordsLine(
        record_set=here.public_id,
        case_id=here.case.public_id,
        case_code=here.case.code,
        stage=here.stage,
        ordinal=here.ordinal,
        label=stage_label(here.stage, here.ordinal).capitalize(),
        due=due,
        is_due=due <= now,
        open_repeat=next((line.public_id for line in lines if line.state == "open"), None),
        repeats=lines,
    )


def with_statements(rows: QuerySet[RepeatSheet]) -> QuerySet[RepeatSheet]:
    """Repeats with their sheets and what was said of them, in two queries."""
    said = RepeatStatement.objects.order_by("pk")
    return rows.select_related("sheet__record_set__case__patient").prefetch_related(
        Prefetch("statements", said, to_attr="told")
    )


def _statements(repeat: RepeatSheet) -> list[RepeatStatement]:
    told: list[RepeatStatement] = getattr(repeat, "told")  # noqa: B009 set by the prefetch
    return told


def repeat_line(repeat: RepeatSheet) -> RepeatLine:
    """A repeat read by `with_statements`."""
    return RepeatLine(
        public_id=repeat.sheet.public_id,
        number=repeat.sheet.occasion - 1,
        state=_state(repeat),
        begun_at=repeat.begun_at,
        handed_in_at=repeat.sheet.handed_in_at,
        said=tuple(Said(StatementKind(s.kind).label, s.reason, s.at) for s in _statements(repeat)),
    )


def _state(repeat: RepeatSheet) -> str:
    if not repeat.sheet.sealed:
        return "open"
    if repeat.sheet.handed_in_at is None:
        return "given up"
    turns = [s.kind for s in _statements(repeat) if s.kind in (StatementKind.LEFT_OUT, StatementKind.COUNTED)]
    return "left out" if turns and turns[-1] == StatementKind.LEFT_OUT else "handed in"


def counted(reader: Asker) -> list[RepeatSheet]:
    """The reader's handed-in repeats but those left out, in all portfolios, oldest first."""
    rows = with_statements(visible_repeat_sheets(reader)).filter(sheet__handed_in_at__isnull=False)
    return [row for row in rows.order_by("first_id", "sheet__occasion") if _state(row) == "handed in"]


def repeats_of_sheet(first: Sheet) -> tuple[RepeatLine, ...]:
    """The finished repeats of a first sheet by its own reader, counted or not, in their order; two queries."""
    rows = with_statements(visible_repeat_sheets(first.reader)).filter(first=first, sheet__sealed=True)
    return tuple(repeat_line(row) for row in rows.order_by("sheet__occasion"))


def kept(reader: Asker) -> Kept:
    """How many repeats of the reader are counted and how many are not, with every reason."""
    rows = list(with_statements(visible_repeat_sheets(reader)).filter(sheet__sealed=True).order_by("pk"))
    states = [_state(row) for row in rows]
    reasons = [
        (f"{row.sheet.record_set.case.code}, repeat {row.sheet.occasion - 1}", _newest(row))
        for row, state in zip(rows, states, strict=True)
        if state != "handed in"
    ]
    return Kept(
        handed_in=states.count("handed in"),
        left_out=states.count("left out"),
        given_up=states.count("given up"),
        reasons=tuple(reasons),
    )


def _newest(row: RepeatSheet) -> Said:
    last = [s for s in _statements(row) if s.kind in (StatementKind.LEFT_OUT, StatementKind.GIVEN_UP)][-1]
    return Said(StatementKind(last.kind).label, last.reason, last.at)


def occasions_of(rows: Sequence[RepeatSheet]) -> tuple[tuple[Sheet, Occasion], ...]:
    """For each first sheet its repeats as plain sheets, with the sheet of the first of them; one query more.

    What the first held is what it held when the first of its counted repeats was begun.
    """
    read = readings_of([row.sheet for row in rows])
    by_first: defaultdict[int, list[RepeatSheet]] = defaultdict(list)
    for row in rows:
        by_first[row.first_id].append(row)
    return tuple(
        (
            ones[0].sheet,
            Occasion(
                first=first_as_it_stood(ones[0], read[ones[0].sheet_id]),
                repeats=tuple(read[one.sheet_id] for one in ones),
                step=float(ones[0].sheet.step),
            ),
        )
        for ones in by_first.values()
    )


def first_as_it_stood(repeat: RepeatSheet, like: readings.Sheet) -> readings.Sheet:
    """The first sheet as it stood when a repeat was begun, with stage and teeth of the repeat as read."""
    facts: Iterable[Mapping[str, object]] = repeat.first_then["findings"]
    found = (from_item((str(f["quantity"]), str(f["site"]), int(str(f["nth"]))), f) for f in facts)
    findings = sorted((f for f in found if f is not None), key=round_the_casts)
    return replace(like, findings=tuple(findings))


def figures(reader: Asker) -> tuple[MeasuredAgain, ...]:
    """Numbers of all counted repeats of the reader, by quantity and method."""
    return measured_again(one for _, one in occasions_of(counted(reader)))


Stamp = tuple[object, ...]
_known: dict[int, tuple[Stamp, tuple[OwnError, ...]]] = {}
"""By reader, in this process: the errors found and the repeats they were found from, for every score asks."""


def own_errors(reader: Asker) -> tuple[OwnError, ...]:
    """The reader's own error of each quantity and method, from counted repeats of sheets in all portfolios.

    `sd` is Dahlberg's error in the quantity's unit, never under what the step of rounding leaves (step/√12);
    `bias` the mean of repeat minus first; `n` the pairs. `OwnError.used` says whether 20 pairs are reached.
    """
    if reader.pk is None:
        return ()
    rows = visible_repeat_sheets(reader).filter(sheet__handed_in_at__isnull=False)
    told = rows.aggregate(count=Count("pk", distinct=True), newest=Max("pk"), said=Max("statements"))
    if not told["count"]:
        return ()
    places = rows.aggregate(
        teeth=Max("sheet__record_set__version"), sets=Count("sheet__record_set", distinct=True)
    )
    stamp = (*told.values(), *places.values())
    before = _known.get(reader.pk)
    if before is None or before[0] != stamp:
        _known[reader.pk] = before = (stamp, tuple(_own(figures(reader))))
    return before[1]


def _own(found: Iterable[MeasuredAgain]) -> Iterable[OwnError]:
    for one in found:
        if told := one.told:
            yield OwnError(one.quantity, one.method, max(told.error, one.least), told.bias, told.pairs)
