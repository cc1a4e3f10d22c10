"""Differences against means as numbers for SVG, with the limits of agreement.  Pure geometry."""

from collections import Counter
from collections.abc import Callable, Sequence
from dataclasses import dataclass
from math import floor, log10

from desk.axes import Tick
from portfolio.repeated import RepeatedStatistics

WIDTH, HEIGHT = 420, 260
LEFT, RIGHT, TOP, BELOW = 54, 96, 14, 44
TICKS = 5


@dataclass(frozen=True, slots=True)
class Level:
    """A line across the plot with its name."""

    at: float
    kind: str
    words: str


@dataclass(frozen=True, slots=True)
class Dot:
    """One pair, or several that fall on one place."""

    x: float
    y: float
    radius: float
    words: str


@dataclass(frozen=True, slots=True)
class DifferencePlot:
    """Means to the right, repeat minus first upwards."""

    width: int
    height: int
    left: int
    right: int
    top: int
    bottom: int
    x_title: str
    y_title: str
    x_ticks: tuple[Tick, ...]
    y_ticks: tuple[Tick, ...]
    levels: tuple[Level, ...]
    dots: tuple[Dot, ...]
    words: str
    """What the plot shows, for those who do not see it."""


def difference_plot(
    pairs: Sequence[tuple[float, float]], told: RepeatedStatistics, name: str, unit: str
) -> DifferencePlot:
    """The plot of Bland and Altman of (mean, difference) pairs; at least one pair is needed."""
    right, bottom = WIDTH - RIGHT, HEIGHT - BELOW
    x_marks = _marks(min(m for m, _ in pairs), max(m for m, _ in pairs))
    reach = [*(d for _, d in pairs), told.agree_low, told.agree_high, 0.0]
    y_marks = _marks(min(reach), max(reach)) if max(reach) > min(reach) else (-1.0, 0.0, 1.0)

    def x(value: float) -> float:
        return round(LEFT + (value - x_marks[0]) / (x_marks[-1] - x_marks[0]) * (right - LEFT), 1)

    def y(value: float) -> float:
        return round(bottom - (value - y_marks[0]) / (y_marks[-1] - y_marks[0]) * (bottom - TOP), 1)

    spaced = f" {unit}" if unit else ""
    low, bias, high = (signed(v) for v in (told.agree_low, told.bias, told.agree_high))
    same = Counter((x(m), y(d)) for m, d in pairs)
    said = {(x(m), y(d)): f"mean {signed(m)}, difference {signed(d)}" for m, d in pairs}
    return DifferencePlot(
        width=WIDTH,
        height=HEIGHT,
        left=LEFT,
        right=right,
        top=TOP,
        bottom=bottom,
        x_title=f"mean of the two{f', {unit}' if unit else ''}",
        y_title=f"repeat minus first{f', {unit}' if unit else ''}",
        x_ticks=tuple(Tick(x(v), signed(v, places_of(x_marks))) for v in x_marks),
        y_ticks=tuple(Tick(y(v), signed(v, places_of(y_marks))) for v in y_marks),
        levels=_levels(told, y),
        dots=tuple(
            Dot(*at, min(7.0, 3.2 + 0.7 * (n - 1)), said[at] + (f", {n} pairs" if n > 1 else ""))
            for at, n in same.items()
        ),
        words=f"{name}: {len(pairs)} pairs, bias {bias}{spaced}, limits of agreement {low} to {high}{spaced}.",
    )


def _levels(told: RepeatedStatistics, y: Callable[[float], float]) -> tuple[Level, ...]:
    bias, low, high = y(told.bias), y(told.agree_low), y(told.agree_high)
    apart = 11.0
    lines = [Level(bias, "bias", f"bias {signed(told.bias)}")]
    if abs(high - bias) >= apart:
        lines += [
            Level(high, "limit", f"+1.96 SD {signed(told.agree_high)}"),
            Level(low, "limit", f"−1.96 SD {signed(told.agree_low)}"),
        ]
    return tuple(lines)


def _marks(low: float, high: float) -> tuple[float, ...]:
    """Round numbers that span both ends, at least two."""
    span = high - low or max(abs(high), 1.0)
    raw = span / TICKS
    power = 10.0 ** floor(log10(raw))
    step = next(power * m for m in (1, 2, 5, 10) if power * m >= raw)
    first = floor(low / step)
    count = 1
    while (first + count) * step < high - step * 1e-9:
        count += 1
    return tuple(round((first + n) * step, 10) for n in range(count + 1))


def places_of(marks: Sequence[float]) -> int:
    """Decimals that tell neighbouring marks apart."""
    return max(0, -floor(log10(marks[1] - marks[0]) + 1e-9))


def signed(value: float, places: int = 2) -> str:
    """A number rounded once, with a typographic minus and no minus zero."""
    text = f"{value:.{places}f}"
    return text.replace("-", "−") if float(text) else text.removeprefix("-")
