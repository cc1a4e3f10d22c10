"""What a reader sees of repeats: which radiographs may be repeated, and the figures of all pairs."""

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import datetime
from uuid import UUID

from django.db.models import Max, Prefetch

from imaging.cephalometry.landmarks import BY_KEY, DEFAULT_POINT_SD_MM
from imaging.cephalometry.measuring import measure_face
from imaging.cephalometry.trace_print import UNITS, fixed
from imaging.models import RepeatTracing, Tracing
from imaging.repeats.access import visible_repeats
from imaging.repeats.own_errors import ReadPair, counted_repeats, read_pairs
from imaging.repeats.pairs import (
    MeasureFigures,
    PointFigures,
    measure_differences,
    measure_figures,
    point_differences,
    point_figures,
)
from imaging.tracing.access import visible_tracings
from portfolio.access import Asker
from portfolio.models import ItemState
from portfolio.repeats import FEWEST_PAIRS_USED, PairStatistics
from portfolio.selectors import stage_label

MINUS = "\N{MINUS SIGN}"
WAIT_DAYS = 14
"""Days to wait before a repeat, so that the first is forgotten (common practice, no source)."""


@dataclass(frozen=True, slots=True)
class Repeatable:
    """One traced radiograph of the reader: what stands, and the repeats of it in their order."""

    picture: UUID
    case_id: UUID
    case_code: str
    stage: str
    ordinal: int
    label: str
    points: int
    last_change: datetime | None
    early: bool
    """Whether the first tracing was changed less than two weeks ago."""
    open_repeat: UUID | None
    finished: tuple[tuple[int, UUID, datetime], ...]


@dataclass(frozen=True, slots=True)
class ShownFigures:
    """Statistics in words: rounded once to hundredths, signs as typographic minus."""

    pairs: int
    dahlberg: str
    random: str
    bias: str
    low: str
    high: str
    biased: bool
    used: bool


@dataclass(frozen=True, slots=True)
class PointRow:
    key: str
    name: str
    x: ShownFigures
    y: ShownFigures
    sd: str


@dataclass(frozen=True, slots=True)
class MeasureRow:
    key: str
    label: str
    unit: str
    told: ShownFigures


@dataclass(frozen=True, slots=True)
class Figures:
    """All pairs of a reader together."""

    pairs: int
    points: tuple[PointRow, ...]
    measures: tuple[MeasureRow, ...]
    used: int
    """For how many points the reader's own error stands in place of the default."""
    unreadable: int
    uncalibrated: int


@dataclass(frozen=True, slots=True)
class PairLine:
    """One measure of one pair."""

    label: str
    unit: str
    first: str
    second: str
    difference: str
    mean: str


@dataclass(frozen=True, slots=True)
class PairTold:
    """One finished repeat beside the first tracing as it stood when the repeat was begun."""

    number: int
    begun_at: datetime
    finished_at: datetime | None
    counts: bool
    measures: tuple[PairLine, ...]
    points: tuple[tuple[str, str, str, str], ...]
    """Key, name, forward, up: in mm, second minus first."""
    unit: str
    why: str


def repeatable(user: Asker, now: datetime) -> tuple[Repeatable, ...]:
    """The reader's first tracings with points, the one that was changed longest ago first."""
    repeats = visible_repeats(user).select_related("tracing").order_by("tracing__repeat")
    rows = (
        visible_tracings(user)
        .filter(reader=user.pk, repeat=0, item__state=ItemState.PRESENT)
        .exclude(points={})
        .annotate(last=Max("revisions__at"))
        .select_related("item__record_set__case")
        .prefetch_related(Prefetch("repeats", queryset=repeats, to_attr="own_repeats"))
        .order_by("last", "pk")
    )
    found = []
    for row in rows:
        here = row.item.record_set
        made: list[RepeatTracing] = row.own_repeats
        found.append(
            Repeatable(
                picture=row.item.public_id,
                case_id=here.case.public_id,
                case_code=here.case.code,
                stage=here.stage,
                ordinal=here.ordinal,
                label=stage_label(here.stage, here.ordinal),
                points=len(row.points),
                last_change=row.last,
                early=row.last is not None and (now - row.last).days < WAIT_DAYS,
                open_repeat=next((one.tracing.public_id for one in made if one.finished_at is None), None),
                finished=tuple(
                    (one.tracing.repeat, one.tracing.public_id, one.finished_at)
                    for one in made
                    if one.finished_at is not None
                ),
            )
        )
    return tuple(found)


def open_repeat(first: Tracing) -> UUID | None:
    """The unfinished repeat of a first tracing: who looks at the first spoils it."""
    row = (
        visible_repeats(first.reader)
        .filter(first=first, finished_at__isnull=True)
        .select_related("tracing")
        .first()
    )
    return row.tracing.public_id if row else None


def figures(user: Asker) -> Figures:
    """Dahlberg and bias of every point and measure over the reader's counted pairs."""
    read = read_pairs(counted_repeats(user))
    pairs = [one.pair for one in read if one.pair]
    points = point_figures(pairs)
    return Figures(
        pairs=len(pairs),
        points=tuple(_point_row(one) for one in points),
        measures=tuple(_measure_row(one) for one in measure_figures(pairs)),
        used=sum(one.x.used for one in points),
        unreadable=sum(one.pair is None for one in read),
        uncalibrated=sum(not pair.first.calibrated for pair in pairs),
    )


def pair_told(user: Asker, repeat: RepeatTracing) -> PairTold:
    """One finished repeat that comes with tracing, picture and first tracing loaded."""
    (read,) = read_pairs([repeat])
    counted = any(one.pk == repeat.pk for one in counted_repeats(user))
    return PairTold(
        number=repeat.tracing.repeat,
        begun_at=repeat.begun_at,
        finished_at=repeat.finished_at,
        counts=counted,
        measures=_pair_measures(read),
        points=_pair_points(read),
        unit="mm" if read.pair and read.pair.first.calibrated else "pixels",
        why=""
        if read.pair
        else "The picture lies on its side now. Turn it on its own page until the head stands upright.",
    )


def _pair_measures(read: ReadPair) -> tuple[PairLine, ...]:
    if read.pair is None:
        return ()
    first, second = (
        {one.measure.key: one for one in measure_face(face)[0]}
        for face in (read.pair.first, read.pair.second)
    )
    lines = []
    for key, difference in measure_differences(read.pair).items():
        one = first[key]
        start = one.value
        lines.append(
            PairLine(
                one.measure.label,
                UNITS[one.measure.unit].strip(),
                signed(start, 1),
                signed(second[key].value, 1),
                signed(difference, 1),
                signed(start + difference / 2, 1),
            )
        )
    return tuple(lines)


def _pair_points(read: ReadPair) -> tuple[tuple[str, str, str, str], ...]:
    if read.pair is None:
        return ()
    return tuple(
        (key, BY_KEY[key].name, signed(x, 1), signed(y, 1))
        for key, (x, y) in point_differences(read.pair).items()
    )


def signed(value: float, places: int = 2) -> str:
    """A number rounded once, with a typographic minus."""
    return fixed(value, places).replace("-", MINUS)


def _shown(told: PairStatistics) -> ShownFigures:
    return ShownFigures(
        told.pairs,
        fixed(told.dahlberg),
        fixed(told.random_sd),
        signed(told.bias),
        signed(told.bias_low),
        signed(told.bias_high),
        told.biased,
        told.used,
    )


def _point_row(one: PointFigures) -> PointRow:
    return PointRow(one.key, BY_KEY[one.key].name, _shown(one.x), _shown(one.y), fixed(one.sd))


def _measure_row(one: MeasureFigures) -> MeasureRow:
    return MeasureRow(one.key, one.label, UNITS[one.unit].strip(), _shown(one.told))


def own_error_words(sds: Sequence[str]) -> str:
    """What is said of a reader's own errors on pages that use them; empty while there are none."""
    if not sds:
        return ""
    return (
        f"Errors of {len(sds)} points are your own, from at least {FEWEST_PAIRS_USED} repeat tracings; the others are "
        f"the default of {DEFAULT_POINT_SD_MM} mm."
    )
