"""Many cases before and after by one index: a table, means by row of the form, the caseload by PAR."""

from collections import defaultdict
from collections.abc import Sequence
from dataclasses import dataclass
from decimal import Decimal
from uuid import UUID

from django.db.models import QuerySet

from desk.change.plots import ParChart, par_chart
from desk.repeats.shut import SHUT_WORDS, open_cases
from portfolio.access import Asker, visible_sheets
from portfolio.models import CaseState, Sheet, SheetPurpose, Stage
from portfolio.wording import medium_words
from scoring import registry
from scoring.compare.caseload import ParCaseload, Spread, par_caseload, spread
from scoring.compare.icon_change import icon_change
from scoring.compare.par_change import VERDICT_WORDS, WEIGHTS_OF_VERDICTS, par_change
from scoring.indices.outcome.verdicts import BOARD_LIMIT
from scoring.selectors import Caseload, SheetFrame, Standing, caseload, limits, sheet_frames
from scoring.shapes import plain

NOT_MEASURED, NOT_COMPLETE, NO_RECORDS = "not measured", "not complete", "no such records"
NOT_CHOSEN = "not measured for it"
"""Something is recorded, but the portfolio does not measure such records for the index."""
OFFERED = ("par", "icon", "irregularity", "discrepancy", "outcome")
"""Indices whose totals can be set side by side over many cases."""
ONE_SIDED = {"discrepancy": "before", "outcome": "after"}
"""Indices with a meaning on one side of treatment only: nothing is compared, the totals are summarised."""


@dataclass(frozen=True, slots=True)
class Wanted:
    """What is compared: an index between two stages, in one portfolio or all, of cases in a state."""

    index: str = "par"
    before: str = Stage.INITIAL
    after: str = Stage.FINAL
    portfolio: str = ""
    state: str = ""


@dataclass(frozen=True, slots=True)
class Pair:
    """One case: totals as numbers where complete, in words always."""

    case: UUID
    code: str
    before: Decimal | None
    after: Decimal | None
    before_words: str
    after_words: str
    difference: Decimal | None
    """After less before, so less is better."""
    percent: Decimal | None
    """Reduction in per cent of the total before; for PAR only."""
    verdict: str
    media: str
    """On what both were measured where that differs; empty where it is one medium."""
    both_there: bool
    """Whether records of both stages are there, so that their media can be compared."""


@dataclass(frozen=True, slots=True)
class RowMeans:
    """One row of the form over all cases of which both sides are complete."""

    label: str
    before: Spread | None
    after: Spread | None
    difference: Spread | None


@dataclass(frozen=True, slots=True)
class Many:
    """The caseload.  `stale` are the sheets whose scores must be worked out before these figures are whole."""

    wanted: Wanted
    label: str
    edition: str
    pairs: tuple[Pair, ...]
    rows: tuple[RowMeans, ...]
    before: Spread | None
    after: Spread | None
    difference: Spread | None
    par: ParCaseload | None
    chart: ParChart | None
    left_out: tuple[tuple[str, int], ...]
    """Why cases are not in the figures, and how many."""
    editions_differ: bool
    media_differ: int
    limit: int | None
    within_limit: int | None
    stale: tuple[int, ...]


def many(user: Asker, wanted: Wanted) -> Many:
    """Every case of the person that the wanted portfolio and state hold; a handful of queries for all."""
    every = _sheets(user, wanted)
    shut = frozenset(
        every.filter(record_set__case__in=open_cases(user)).values_list("record_set__case", flat=True)
    )
    sheets = every.exclude(record_set__case__in=shut) if shut else every
    frames = sheet_frames(sheets)
    index = registry.index(wanted.index)
    stored = caseload(sheets, frames, (wanted.index,))
    chosen = _chosen(frames, wanted)
    pairs, compared = [], []
    for case, (first, last) in chosen.items():
        before = stored.standing.get((first.pk, wanted.index)) if first else None
        after = stored.standing.get((last.pk, wanted.index)) if last else None
        frame = first or last
        assert frame is not None, case
        pair = _pair(wanted.index, stored, frame, (first, before), (last, after))
        pairs.append(pair)
        if before and after and pair.difference is not None:
            compared.append((before, after))
    editions = {stored.edition(pk, wanted.index) for pk in {f.portfolio for f in frames}}
    numbers = [(p.before, p.after) for p in pairs if p.before is not None and p.after is not None]
    by_1992 = wanted.index == "par" and editions == {WEIGHTS_OF_VERDICTS}
    one_sided = ONE_SIDED.get(wanted.index, "")
    first_numbers = [p.before for p in pairs if p.before is not None]
    after_numbers = [p.after for p in pairs if p.after is not None]
    limit = _limit(frames, wanted)
    shown = {frame.pk for two in chosen.values() for frame in two if frame}
    return Many(
        wanted=wanted,
        label=index.label,
        edition=", ".join(index.edition_words(edition) for edition in sorted(editions)),
        pairs=tuple(pairs),
        rows=() if one_sided else _rows(wanted.index, compared),
        before=spread(first_numbers if one_sided else [a for a, _ in numbers]),
        after=spread(after_numbers if one_sided else [b for _, b in numbers]),
        difference=spread([b - a for a, b in numbers]),
        par=par_caseload(numbers) if by_1992 else None,
        chart=_chart(pairs) if by_1992 and numbers else None,
        left_out=_left_out(pairs, wanted) + (((SHUT_WORDS, len(shut)),) if shut else ()),
        editions_differ=len(editions) > 1,
        media_differ=sum(bool(p.media) for p in pairs),
        limit=limit,
        within_limit=None if limit is None else sum(value <= limit for value in after_numbers),
        stale=tuple(pk for pk, _ in stored.stale if pk in shown),
    )


def _sheets(user: Asker, wanted: Wanted) -> QuerySet[Sheet]:
    rows = visible_sheets(user).filter(
        purpose=SheetPurpose.WORKING, record_set__stage__in=(wanted.before, wanted.after)
    )
    if wanted.portfolio:
        rows = rows.filter(record_set__case__patient__portfolio__public_id=wanted.portfolio)
    if wanted.state in CaseState.values:
        rows = rows.filter(record_set__case__state=wanted.state)
    return rows


def _chosen(
    frames: Sequence[SheetFrame], wanted: Wanted
) -> dict[int, tuple[SheetFrame | None, SheetFrame | None]]:
    """Case → sheet of the first records of the stage before and of the last of the stage after."""
    by_set: dict[int, SheetFrame] = {}
    for frame in frames:
        if frame.record_set not in by_set or frame.of_record == frame.pk:
            by_set[frame.record_set] = frame
    stages: defaultdict[int, dict[str, list[SheetFrame]]] = defaultdict(lambda: defaultdict(list))
    for frame in by_set.values():
        stages[frame.case][frame.stage].append(frame)
    found = {}
    for case, by_stage in stages.items():
        first = min(by_stage[wanted.before], key=lambda f: f.ordinal, default=None)
        last = max(by_stage[wanted.after], key=lambda f: f.ordinal, default=None)
        found[case] = (first, last)
    return found


Side = tuple[SheetFrame | None, Standing | None]


def _pair(index: str, stored: Caseload, frame: SheetFrame, first: Side, last: Side) -> Pair:
    before, before_words = _total(index, stored, *first)
    after, after_words = _total(index, stored, *last)
    percent, verdict = None, ""
    if before is not None and after is not None:
        if index == "par" and stored.edition(frame.portfolio, index) == WEIGHTS_OF_VERDICTS:
            found = par_change(before, after)
            percent, verdict = found.percent, VERDICT_WORDS[found.verdict]
        elif index == "icon":
            verdict = icon_change(before, after).improvement
    media = [side[0].medium for side in (first, last) if side[0] is not None and side[1] is not None]
    differ = len(set(media)) > 1
    return Pair(
        case=frame.case_id,
        code=frame.case_code,
        before=before,
        after=after,
        before_words=before_words,
        after_words=after_words,
        difference=None if before is None or after is None else after - before,
        percent=percent,
        verdict=verdict,
        media=", ".join(medium_words(one) for one in media) if differ else "",
        both_there=len(media) == len((first, last)),
    )


def _total(
    index: str, stored: Caseload, frame: SheetFrame | None, standing: Standing | None
) -> tuple[Decimal | None, str]:
    """The total where it is complete, and words for it."""
    if frame is None:
        return None, NO_RECORDS
    if standing is not None and standing.total is not None and standing.complete:
        return standing.total, plain(standing.total)
    if standing is None or (standing.categories and all(v is None for v in standing.categories.values())):
        return None, NOT_MEASURED
    return None, NOT_COMPLETE if stored.measured_for(frame, index) else NOT_CHOSEN


def _rows(index_key: str, compared: Sequence[tuple[Standing, Standing]]) -> tuple[RowMeans, ...]:
    found = []
    for key, label in registry.index(index_key).categories.items():
        both = [
            (Decimal(a), Decimal(b))
            for before, after in compared
            if (a := before.categories.get(key)) is not None and (b := after.categories.get(key)) is not None
        ]
        found.append(
            RowMeans(
                label,
                spread([a for a, _ in both]),
                spread([b for _, b in both]),
                spread([b - a for a, b in both]),
            )
        )
    return tuple(found)


def _chart(pairs: Sequence[Pair]) -> ParChart:
    return par_chart(
        [(p.before, p.after, p.code) for p in pairs if p.before is not None and p.after is not None]
    )


def _left_out(pairs: Sequence[Pair], wanted: Wanted) -> tuple[tuple[str, int], ...]:
    """Each reason once; a case counts by the first side that stands in the way."""
    counted: defaultdict[str, int] = defaultdict(int)
    for pair in pairs:
        one_sided = ONE_SIDED.get(wanted.index, "")
        sides = {"before": (wanted.before, pair.before_words), "after": (wanted.after, pair.after_words)}
        for stage, words in (side for name, side in sides.items() if one_sided in ("", name)):
            if words in (NO_RECORDS, NOT_MEASURED, NOT_COMPLETE, NOT_CHOSEN):
                counted[f"{Stage(stage).label}: {words}"] += 1
                break
    return tuple(counted.items())


def _limit(frames: Sequence[SheetFrame], wanted: Wanted) -> int | None:
    """The limit to hold results against, where all portfolios shown have the same."""
    if wanted.index != "outcome" or not frames:
        return None
    pks = {f.portfolio for f in frames}
    own = limits(pks, "outcome")
    values = {own.get(pk, int(BOARD_LIMIT)) for pk in pks}
    return values.pop() if len(values) == 1 else None
