"""The chances of every total as bars for SVG, with the recorded total and thresholds.  Pure geometry."""

from collections.abc import Sequence
from dataclasses import dataclass
from decimal import Decimal
from math import ceil

from scoring.shapes import plain
from scoring.uncertainty import Distribution, percent

WIDTH, HEIGHT = 640, 250
LEFT, RIGHT, TOP, BELOW = 46, 14, 34, 40
SHOWN_FROM = 0.0005
"""Totals less likely than this at either end are not drawn, unless they are recorded or asked for."""
MOST_TICKS = 12
ROOM_FOR_WORDS = 70


@dataclass(frozen=True, slots=True)
class Tick:
    """A mark on an axis: where and what it says."""

    at: float
    label: str


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
    recorded: Tick | None
    x_title: str
    words: str
    """What the plot shows, for those who do not see it."""


def totals_plot(
    law: Distribution, recorded: Decimal, thresholds: Sequence[Decimal], counted_in: str
) -> TotalsPlot:
    """Bars of all totals that matter; `thresholds` are lines at their lower edge."""
    likely = [v for v, p in law.probabilities.items() if p >= SHOWN_FROM]
    first = min([*likely, recorded, *thresholds])
    last = max([*likely, recorded, *thresholds])
    places = int((last - first) / law.unit) + 1
    bottom = HEIGHT - BELOW
    one = (WIDTH - LEFT - RIGHT) / places
    greatest = max(law.probabilities.values())
    top_of = _rounded_up(greatest)
    scale = (bottom - TOP) / top_of

    def x(value: Decimal) -> float:
        return round(LEFT + float((value - first) / law.unit) * one, 2)

    bars = []
    for value, chance in law.probabilities.items():
        if first <= value <= last:
            tall = chance * scale
            words = f"{plain(value)} {counted_in}: {percent(chance)}"
            wide = max(one * 0.82, 0.6)
            bars.append(
                Bar(
                    round(x(value) + one * 0.09, 2),
                    round(bottom - tall, 2),
                    round(wide, 2),
                    round(tall, 2),
                    value == recorded,
                    words,
                )
            )
    middle = one / 2
    every = max(1, ceil(places / MOST_TICKS))
    step = Decimal(next(s for s in (1, 2, 5, 10, 20, 25, 50, 100, 200, 500, 1000) if s >= every)) * law.unit
    start = -(-first // step) * step
    ticks = [start + k * step for k in range(int((last - start) / step) + 1)]
    return TotalsPlot(
        width=WIDTH,
        height=HEIGHT,
        left=LEFT,
        right=WIDTH - RIGHT,
        top=TOP,
        bottom=bottom,
        x_ticks=tuple(Tick(round(x(v) + middle, 2), plain(v)) for v in ticks),
        y_ticks=tuple(
            Tick(round(bottom - k * top_of / 2 * scale, 2), f"{k * top_of * 50:g} %") for k in (0, 1, 2)
        ),
        bars=tuple(bars),
        thresholds=tuple(
            Threshold(
                x(t),
                _beside(x(t)),
                TOP - 20 + 12 * (k % 2),
                f"{plain(t)} or more: {percent(law.at_least(t))}",
            )
            for k, t in enumerate(sorted(thresholds))
        ),
        recorded=Tick(round(x(recorded) + middle, 2), plain(recorded)),
        x_title=f"total in {counted_in}; the dark bar is the recorded one",
        words=_words(law, recorded, thresholds, counted_in),
    )


def _beside(x: float) -> float:
    """Where words beside a line begin, so that they stay inside."""
    return round(min(x + 4, WIDTH - RIGHT - 2 * ROOM_FOR_WORDS), 2)


def _rounded_up(chance: float) -> float:
    """A round chance that all bars stay under."""
    return next(
        top for top in (0.02, 0.04, 0.06, 0.1, 0.16, 0.2, 0.3, 0.4, 0.6, 0.8, 1.0) if top >= min(chance, 1.0)
    )


def _words(law: Distribution, recorded: Decimal, thresholds: Sequence[Decimal], counted_in: str) -> str:
    low, high = law.central()
    said = [
        f"Chances of the total in {counted_in}: recorded {plain(recorded)}, middle {plain(law.median)}, "
        f"between {plain(low)} and {plain(high)} with 90 %"
    ]
    said += [f"{plain(t)} or more with {percent(law.at_least(t))}" for t in sorted(thresholds)]
    return "; ".join(said) + "."
