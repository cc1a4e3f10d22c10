"""Plane geometry of points, directed lines and rigid motions.

One frame everywhere: x to the right (a profile faces +x), y up, turns anticlockwise positive, angles in degrees.
Lengths are in the unit of the points.  Pictures have y down; whoever reads them turns y round first.
"""

import math
from collections.abc import Sequence
from dataclasses import dataclass


@dataclass(frozen=True, slots=True)
class Vector:
    """A point or a step of the plane; no unit of its own."""

    x: float
    y: float

    def __add__(self, other: "Vector") -> "Vector":
        return Vector(self.x + other.x, self.y + other.y)

    def __sub__(self, other: "Vector") -> "Vector":
        return Vector(self.x - other.x, self.y - other.y)

    def __neg__(self) -> "Vector":
        return Vector(-self.x, -self.y)

    def times(self, factor: float) -> "Vector":
        return Vector(self.x * factor, self.y * factor)

    @property
    def length(self) -> float:
        return math.hypot(self.x, self.y)

    @property
    def left(self) -> "Vector":
        """The same step turned by a right angle, anticlockwise."""
        return Vector(-self.y, self.x)

    def dot(self, other: "Vector") -> float:
        return self.x * other.x + self.y * other.y

    def cross(self, other: "Vector") -> float:
        """Positive when `other` lies anticlockwise of this step."""
        return self.x * other.y - self.y * other.x

    def unit(self) -> "Vector":
        """The step of length 1 in this direction; ZeroDivisionError without a direction."""
        return self.times(1 / self.length)


ORIGIN = Vector(0.0, 0.0)


def turn(start: Vector, end: Vector) -> float:
    """Degrees from the direction of `start` to that of `end`, anticlockwise positive, −180 to 180."""
    return math.degrees(math.atan2(start.cross(end), start.dot(end)))


def near(angle: float, middle: float) -> float:
    """The angle by whole turns nearest to `middle`: in the half-open range middle ± 180 degrees."""
    return angle - 360 * math.floor((angle - middle + 180) / 360)


def mean(points: Sequence[Vector]) -> Vector:
    """The point in the middle of points; ZeroDivisionError for none."""
    total = ORIGIN
    for point in points:
        total = total + point
    return total.times(1 / len(points))


@dataclass(frozen=True, slots=True)
class Motion:
    """A rigid motion: a turn about the origin, then a step.  Neither scale nor mirror.

    `cosine` and `sine` are those of the turn.
    """

    cosine: float
    sine: float
    step: Vector

    def turned(self, arrow: Vector) -> Vector:
        """An arrow after the motion: it turns and is not shifted."""
        return Vector(
            self.cosine * arrow.x - self.sine * arrow.y, self.sine * arrow.x + self.cosine * arrow.y
        )

    def __call__(self, point: Vector) -> Vector:
        """Where a point goes."""
        return self.turned(point) + self.step

    @property
    def degrees(self) -> float:
        return math.degrees(math.atan2(self.sine, self.cosine))


def motion(degrees: float, step: Vector = ORIGIN) -> Motion:
    """The motion that turns by degrees anticlockwise about the origin and then steps."""
    return Motion(math.cos(math.radians(degrees)), math.sin(math.radians(degrees)), step)


def laid(moved: Vector, moved_arrow: Vector, fixed: Vector, fixed_arrow: Vector) -> Motion:
    """The motion that lays a point on a point and the direction at it on a direction.

    Lengths of the arrows do not matter; ZeroDivisionError when one has none.
    """
    from_unit, to_unit = moved_arrow.unit(), fixed_arrow.unit()
    turning = Motion(from_unit.dot(to_unit), from_unit.cross(to_unit), ORIGIN)
    return Motion(turning.cosine, turning.sine, fixed - turning.turned(moved))


def best_fit(moved: Sequence[Vector], fixed: Sequence[Vector]) -> Motion:
    """The motion that lays points on their partners with the least sum of squared distances.

    `moved` and `fixed` are paired by place.  No scale and no reflection.  ZeroDivisionError when the points
    give no direction (all in one place).

    Source: Kabsch, Acta Cryst A 1976;32:922-923; in the plane the turn has a closed form, the direction of
    the sums of the products and of the cross products of the centred pairs.
    """
    moved_middle, fixed_middle = mean(moved), mean(fixed)
    along = across = 0.0
    for a, b in zip(moved, fixed, strict=True):
        p, q = a - moved_middle, b - fixed_middle
        along += p.dot(q)
        across += p.cross(q)
    size = math.hypot(along, across)
    turning = Motion(along / size, across / size, ORIGIN)
    return Motion(turning.cosine, turning.sine, fixed_middle - turning.turned(moved_middle))


def root_mean_square(lengths: Sequence[float]) -> float:
    """The square root of the mean of squares, in the unit of the lengths; ZeroDivisionError for none."""
    return math.sqrt(sum(x * x for x in lengths) / len(lengths))
