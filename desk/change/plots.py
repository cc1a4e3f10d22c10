"""Plots of change as numbers for SVG: the published chart of PAR, bars before and after. Pure geometry."""

from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from decimal import Decimal
from math import ceil

from desk.axes import Tick
from scoring.compare.par_change import GREATLY_POINTS, greatly_improved_up_to, improved_up_to

SIDE = 320
"""Length of both axes of the chart, in its own units."""
LEFT, TOP, BELOW = 46, 12, 40
STEP = 10
LEAST = 50
"""The axes reach at least this many points."""
BAR = 220


@dataclass(frozen=True, slots=True)
class Dot:
    """One case in the chart, or several that fall on one place."""

    x: float
    y: float
    radius: float
    words: str


@dataclass(frozen=True, slots=True)
class ZoneWords:
    """The name of a zone and where it stands."""

    x: float
    y: float
    words: str


@dataclass(frozen=True, slots=True)
class ParChart:
    """Points before treatment to the right, after it upwards; lines bound the zones of the verdicts."""

    width: int
    height: int
    left: int
    right: int
    top: int
    bottom: int
    x_ticks: tuple[Tick, ...]
    y_ticks: tuple[Tick, ...]
    improved_line: str
    greatly_line: str
    equal_line: str
    zones: tuple[ZoneWords, ...]
    dots: tuple[Dot, ...]
    words: str
    """What the chart shows, for those who do not see it."""


def par_chart(pairs: Sequence[tuple[Decimal, Decimal, str]]) -> ParChart:
    """The published chart with one dot for each (before, after, words); equal pairs share a larger dot."""
    top_of = max([LEAST, *(ceil(float(v)) for pair in pairs for v in pair[:2])])
    most = STEP * ceil(top_of / STEP)
    scale = SIDE / most
    bottom = TOP + SIDE

    def x(value: Decimal | float) -> float:
        return round(LEFT + float(value) * scale, 1)

    def y(value: Decimal | float) -> float:
        return round(bottom - float(value) * scale, 1)

    def line(points: Iterable[tuple[Decimal, Decimal]]) -> str:
        return " ".join(f"{x(a)},{y(b)}" for a, b in points)

    end = Decimal(most)
    bend = GREATLY_POINTS * 10 / 3
    greatly = [GREATLY_POINTS, *([bend] if bend < end else []), end]
    step = STEP if most <= 60 else 2 * STEP
    ticks = range(0, most + 1, step)
    grouped: dict[tuple[Decimal, Decimal], list[str]] = {}
    for before, after, words in pairs:
        grouped.setdefault((before, after), []).append(words)
    return ParChart(
        width=LEFT + SIDE + 14,
        height=bottom + BELOW,
        left=LEFT,
        right=LEFT + SIDE,
        top=TOP,
        bottom=bottom,
        x_ticks=tuple(Tick(x(t), str(t)) for t in ticks),
        y_ticks=tuple(Tick(y(t), str(t)) for t in ticks),
        improved_line=line((v, improved_up_to(v)) for v in (Decimal(0), end)),
        greatly_line=line((v, greatly_improved_up_to(v) or Decimal(0)) for v in greatly),
        equal_line=line((v, v) for v in (Decimal(0), end)),
        zones=(
            ZoneWords(x(most * 0.04), y(most * 0.85), "worse or no different"),
            ZoneWords(x(most * 0.74), y(most * 0.475), "improved"),
            ZoneWords(x(most * 0.69), y(most * 0.17), "greatly improved"),
        ),
        dots=tuple(
            Dot(x(before), y(after), min(9.0, 3.2 + 0.8 * (len(words) - 1)), "; ".join(words[:12]))
            for (before, after), words in grouped.items()
        ),
        words=f"{len(pairs)} case{'' if len(pairs) == 1 else 's'} by points before and after treatment",
    )


@dataclass(frozen=True, slots=True)
class Bars:
    """Two bars of one row, before and after, in units of `BAR`; None where nothing is recorded."""

    before: float | None
    after: float | None


def bars(rows: Sequence[tuple[Decimal | None, Decimal | None]]) -> tuple[Bars, ...]:
    """Bars of all rows of one form on one scale."""
    most = max((value for row in rows for value in row if value is not None), default=Decimal(0))

    def length(value: Decimal | None) -> float | None:
        if value is None:
            return None
        return round(float(value / most) * BAR, 1) if most > 0 and value > 0 else 0.0

    return tuple(Bars(length(before), length(after)) for before, after in rows)
