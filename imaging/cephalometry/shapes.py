"""The few shapes that every cephalometric formula is made of.

A shape is data: which points, which directed lines.  Asked with a `Place` (point name to `Vector`, millimetres,
profile facing +x, y up) it answers a `Reading`: the value and its slope by every coordinate.  Lines are pairs of
point names and have a direction, so every angle keeps its sign and every identity between angles holds.

`Coincide` is raised when two points that give a direction lie in one place; KeyError for an unplaced point.
"""

from collections.abc import Callable, Mapping
from dataclasses import dataclass
from math import degrees
from typing import Protocol

from imaging.geometry import Vector, near, turn

Line = tuple[str, str]
Place = Callable[[str], Vector]
Slopes = Mapping[str, Vector]
LEAST_LENGTH = 1e-9


class Coincide(ValueError):
    """Two points that are to give a direction lie in one place, or a divisor is 0.

    `points` are the two points' names, as the formula has them; empty for a divisor.
    """

    def __init__(self, message: str, points: Line | tuple[()] = ()) -> None:
        super().__init__(message)
        self.points = points


@dataclass(frozen=True, slots=True)
class Reading:
    """A value, and for each point how much it changes by one unit of x and of y (first order)."""

    value: float
    slopes: Slopes


class Shape(Protocol):
    """What all shapes answer."""

    def names(self) -> tuple[str, ...]:
        """The points the shape reads, in order, each once."""

    def read(self, place: Place) -> Reading:
        """The value and its slopes."""


def _once(*names: str) -> tuple[str, ...]:
    return tuple(dict.fromkeys(names))


def _arrow(place: Place, line: Line) -> Vector:
    arrow = place(line[1]) - place(line[0])
    if arrow.length < LEAST_LENGTH:
        raise Coincide(f"{line[0]} and {line[1]} lie in one place", line)
    return arrow


def _gathered(*parts: tuple[str, Vector]) -> dict[str, Vector]:
    found: dict[str, Vector] = {}
    for name, slope in parts:
        found[name] = found[name] + slope if name in found else slope
    return found


def _of_both(one: Line, by_one: Vector, other: Line, by_other: Vector) -> dict[str, Vector]:
    """Slopes by the four ends, from the slopes by the two lines."""
    return _gathered((one[0], -by_one), (one[1], by_one), (other[0], -by_other), (other[1], by_other))


@dataclass(frozen=True, slots=True)
class Turn:
    """The turn from the direction of one line to that of another, in degrees.

    Anticlockwise unless `clockwise`; `plus` is added; of the values that differ by whole turns the one in
    `middle` − 180 up to `middle` + 180 is told.
    """

    start: Line
    end: Line
    clockwise: bool = False
    middle: float = 90.0
    plus: float = 0.0

    def names(self) -> tuple[str, ...]:
        return _once(*self.start, *self.end)

    def read(self, place: Place) -> Reading:
        start, end = _arrow(place, self.start), _arrow(place, self.end)
        sign = -1.0 if self.clockwise else 1.0
        value = near(self.plus + sign * turn(start, end), self.middle)
        by_start = start.left.times(-sign * degrees(1) / start.dot(start))
        by_end = end.left.times(sign * degrees(1) / end.dot(end))
        return Reading(value, _of_both(self.start, by_start, self.end, by_end))

    def __str__(self) -> str:
        way = "clockwise" if self.clockwise else "anticlockwise"
        plus = f"{self.plus:g} + " if self.plus else ""
        return f"{plus}turn {way} from {self.start[0]}→{self.start[1]} to {self.end[0]}→{self.end[1]}"


@dataclass(frozen=True, slots=True)
class Ahead:
    """The distance of a point from a line that runs downwards; positive when the point lies anterior."""

    point: str
    line: Line

    def names(self) -> tuple[str, ...]:
        return _once(self.point, *self.line)

    def read(self, place: Place) -> Reading:
        return Across((self.line[0], self.point), self.line).read(place)

    def __str__(self) -> str:
        return f"distance of {self.point} from {self.line[0]}→{self.line[1]}, + anterior"


@dataclass(frozen=True, slots=True)
class Across:
    """How far a step goes square to a line; positive to the left of the line (up, when it runs forward)."""

    step: Line
    line: Line

    def names(self) -> tuple[str, ...]:
        return _once(*self.step, *self.line)

    def read(self, place: Place) -> Reading:
        line = _arrow(place, self.line)
        step = place(self.step[1]) - place(self.step[0])
        value = line.cross(step) / line.length
        by_step = line.left.times(1 / line.length)
        by_line = Vector(step.y, -step.x).times(1 / line.length) - line.times(value / line.dot(line))
        return Reading(value, _of_both(self.step, by_step, self.line, by_line))

    def __str__(self) -> str:
        return f"{self.step[0]} to {self.step[1]} square to {self.line[0]}→{self.line[1]}, + up"


@dataclass(frozen=True, slots=True)
class Along:
    """How far a step goes along a line; positive the way the line runs."""

    step: Line
    line: Line

    def names(self) -> tuple[str, ...]:
        return _once(*self.step, *self.line)

    def read(self, place: Place) -> Reading:
        line = _arrow(place, self.line)
        step = place(self.step[1]) - place(self.step[0])
        value = line.dot(step) / line.length
        by_step = line.times(1 / line.length)
        by_line = step.times(1 / line.length) - line.times(value / line.dot(line))
        return Reading(value, _of_both(self.step, by_step, self.line, by_line))

    def __str__(self) -> str:
        return f"{self.step[0]} to {self.step[1]} along {self.line[0]}→{self.line[1]}"


@dataclass(frozen=True, slots=True)
class Length:
    """The distance of two points."""

    line: Line

    def names(self) -> tuple[str, ...]:
        return _once(*self.line)

    def read(self, place: Place) -> Reading:
        arrow = _arrow(place, self.line)
        slope = arrow.unit()
        return Reading(arrow.length, {self.line[0]: -slope, self.line[1]: slope})

    def __str__(self) -> str:
        return f"distance {self.line[0]} to {self.line[1]}"


@dataclass(frozen=True, slots=True)
class Sum:
    """Shapes added up, those of `less` taken off; their shared points err together."""

    parts: tuple[Shape, ...]
    less: tuple[Shape, ...] = ()

    def names(self) -> tuple[str, ...]:
        return _once(*(name for part in (*self.parts, *self.less) for name in part.names()))

    def read(self, place: Place) -> Reading:
        added = [part.read(place) for part in self.parts]
        taken = [part.read(place) for part in self.less]
        slopes = _gathered(
            *((name, slope) for reading in added for name, slope in reading.slopes.items()),
            *((name, -slope) for reading in taken for name, slope in reading.slopes.items()),
        )
        return Reading(sum(r.value for r in added) - sum(r.value for r in taken), slopes)

    def __str__(self) -> str:
        added = "; plus ".join(str(part) for part in self.parts)
        return added + "".join(f"; less {part}" for part in self.less)


@dataclass(frozen=True, slots=True)
class Ratio:
    """One length over another, `times` a factor (100 for per cent)."""

    top: Shape
    bottom: Shape
    times: float = 1.0

    def names(self) -> tuple[str, ...]:
        return _once(*self.top.names(), *self.bottom.names())

    def read(self, place: Place) -> Reading:
        top, bottom = self.top.read(place), self.bottom.read(place)
        if abs(bottom.value) < LEAST_LENGTH:
            raise Coincide(f"the divisor ({self.bottom}) is 0")
        value = self.times * top.value / bottom.value
        slopes = _gathered(
            *((name, slope.times(self.times / bottom.value)) for name, slope in top.slopes.items()),
            *((name, slope.times(-value / bottom.value)) for name, slope in bottom.slopes.items()),
        )
        return Reading(value, slopes)

    def __str__(self) -> str:
        return f"({self.top}) over ({self.bottom})"
