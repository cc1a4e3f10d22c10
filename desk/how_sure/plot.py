"""The chances of every total as bars for SVG, with the recorded total and thresholds.  Pure geometry."""

from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from decimal import ROUND_CEILING, Decimal
from math import ceil

from desk.axes import Tick
from scoring.shapes import plain
from scoring.uncertainty import Distribution, percent

WIDTH, HEIGHT = 640, 250
LEFT, RIGHT, TOP, BELOW = 46, 14, 34, 40
BOTTOM = HEIGHT - BELOW
SHOWN_FROM = 0.0005
"""Totals less likely than this at either end are not drawn, unless they are recorded or asked for."""
MOST_TICKS = 12
ROOM_FOR_WORDS = 70


@dataclass(frozen=True, slots=True)
class Bar:
    """The chance of one total; `here` where it is the recorded one."""

    x: float
    y: float
    width: float
    height: float
    here: bool
    words: str


@dataclass(frozen=True, slots=True)
class Threshold:
    """A line in front of the first total that reaches a threshold, and its words."""

    x: float
    text_x: float
    y: float
    words: str


@dataclass(frozen=True, slots=True)
class TotalsPlot:
    """Totals to the right, chances upwards."""

    width: int
    height: int
    left: int
    right: int
    top: int
    bottom: int
    x_ticks: tuple[Tick, ...]
    y_ticks: tuple[Tick, ...]
    bars: tuple[Bar, ...]
    thresholds: tuple[Threshold, ...]
    x_title: str
    words: str
    """What the plot shows, for those who do not see it."""


@dataclass(frozen=True, slots=True)
class _Scale:
    """From totals and chances to places in the plot."""

    first: Decimal
    last: Decimal
    unit: Decimal
    top_of: float

    @property
    def places(self) -> int:
        return int((self.last - self.first) / self.unit) + 1

    @property
    def one(self) -> float:
        """The width of one total."""
        return (WIDTH - LEFT - RIGHT) / self.places

    def x(self, value: Decimal) -> float:
        """The left edge of a total's place."""
        return round(LEFT + float((value - self.first) / self.unit) * self.one, 2)

    def tall(self, chance: float) -> float:
        return round(chance * (BOTTOM - TOP) / self.top_of, 2)


def totals_plot(
    law: Distribution, recorded: Decimal, thresholds: Sequence[Decimal], counted_in: str, what: str
) -> TotalsPlot:
    """Bars of all totals that matter; `thresholds` are lines at their lower edge, `what` names what is told."""
    likely = [v for v, p in law.probabilities.items() if p >= SHOWN_FROM]
    named = [*likely, recorded, *thresholds]
    scale = _Scale(min(named), max(named), law.unit, _rounded_up(max(law.probabilities.values())))
    middle = scale.one / 2
    return TotalsPlot(
        width=WIDTH,
        height=HEIGHT,
        left=LEFT,
        right=WIDTH - RIGHT,
        top=TOP,
        bottom=BOTTOM,
        x_ticks=tuple(Tick(round(scale.x(v) + middle, 2), plain(v)) for v in _ticks(scale)),
        y_ticks=tuple(
            Tick(BOTTOM - scale.tall(k * scale.top_of / 2), f"{k * scale.top_of * 50:g} %") for k in (0, 1, 2)
        ),
        bars=tuple(_bars(law, scale, recorded, counted_in)),
        thresholds=tuple(
            Threshold(
                scale.x(t),
                _beside(scale.x(t)),
                TOP - 20 + 12 * (k % 2),
                f"{plain(t)} or more: {percent(law.at_least(t))}",
            )
            for k, t in enumerate(sorted(thresholds))
        ),
        x_title=f"{what} in {counted_in}; the dark bar is the recorded one",
        words=_words(law, recorded, thresholds, counted_in, what),
    )


def _bars(law: Distribution, scale: _Scale, recorded: Decimal, counted_in: str) -> Iterator[Bar]:
    wide = round(max(scale.one * 0.82, 0.6), 2)
    for value, chance in law.probabilities.items():
        if scale.first <= value <= scale.last:
            tall = scale.tall(chance)
            words = f"{plain(value)} {counted_in}: {percent(chance)}"
            yield Bar(
                round(scale.x(value) + scale.one * 0.09, 2),
                round(BOTTOM - tall, 2),
                wide,
                tall,
                value == recorded,
                words,
            )


def _ticks(scale: _Scale) -> list[Decimal]:
    """Round totals along the axis, at most a dozen."""
    every = max(1, ceil(scale.places / MOST_TICKS))
    step = Decimal(next(s for s in (1, 2, 5, 10, 20, 25, 50, 100, 200, 500, 1000) if s >= every)) * scale.unit
    start = (scale.first / step).to_integral_value(ROUND_CEILING) * step
    return [start + k * step for k in range(int((scale.last - start) / step) + 1)]


def _beside(x: float) -> float:
    """Where words beside a line begin, so that they stay inside."""
    return round(min(x + 4, WIDTH - RIGHT - 2 * ROOM_FOR_WORDS), 2)


def _rounded_up(chance: float) -> float:
    """A round chance that all bars stay under."""
    return next(
        top for top in (0.02, 0.04, 0.06, 0.1, 0.16, 0.2, 0.3, 0.4, 0.6, 0.8, 1.0) if top >= min(chance, 1.0)
    )


def _words(
    law: Distribution, recorded: Decimal, thresholds: Sequence[Decimal], counted_in: str, what: str
) -> str:
    low, high = law.central()
    said = [
        f"Chances of the {what} in {counted_in}: recorded {plain(recorded)}, middle {plain(law.median)}, "
        f"between {plain(low)} and {plain(high)} with 90 %"
    ]
    said += [f"{plain(t)} or more with {percent(law.at_least(t))}" for t in sorted(thresholds)]
    return "; ".join(said) + "."
