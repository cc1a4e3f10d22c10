"""The lines that a measure is read from, for a drawing over its radiograph.  Pure.

Points come in pixels of a picture (x to the right, y down) and lines go back as such; right angles are right in
millimetres, where a pixel is as wide and as high as it is told to be.
"""

from collections.abc import Mapping
from dataclasses import dataclass

from imaging.cephalometry.face import Face, Spot
from imaging.cephalometry.registry import MEASURES
from imaging.cephalometry.shapes import (
    LEAST_LENGTH,
    Across,
    Ahead,
    Along,
    Length,
    Line,
    Ratio,
    Shape,
    Sum,
    Turn,
)
from imaging.geometry import Vector

Ends = tuple[Vector, Vector]
OVERHANG = 0.05
"""A line goes on beyond its points by this share of the widest distance of all points."""
TO_CROSSING = 0.5
"""Two lines of an angle go on to where they cross, if that is no farther from both than this share of the same."""


@dataclass(frozen=True, slots=True)
class Parts:
    """What a shape is read from: lines that show a direction, distances between two points, steps square to a line."""

    angles: tuple[tuple[Line, Line], ...] = ()
    lines: tuple[Line, ...] = ()
    distances: tuple[Line, ...] = ()
    squares: tuple[tuple[str, Line], ...] = ()
    """A point and the line to which it is projected."""


def drawn_lines(
    key: str,
    points: Mapping[str, Vector],
    plane: str,
    pixel: tuple[float, float] = (1.0, 1.0),
) -> tuple[Ends, ...]:
    """The lines of a measure of this key between placed points; none where measure, plane or a point is not known.

    `plane` is the mandibular plane it was read with, `pixel` the width and height of a pixel in millimetres.
    """
    measure = MEASURES.get(key)
    if measure is None or not points:
        return ()
    across, down = pixel
    spots = {name: Spot(Vector(at.x * across, at.y * down)) for name, at in points.items()}
    try:
        face = Face(spots, mandibular_plane=plane)
        ends = _ends(face, parts_of_shape(measure.shape), _widest([one.at for one in spots.values()]))
    except KeyError:
        return ()
    return tuple(
        (Vector(a.x / across, a.y / down), Vector(b.x / across, b.y / down)) for a, b in dict.fromkeys(ends)
    )


def parts_of_shape(shape: Shape) -> Parts:
    """The lines a formula names; those of sums and ratios are the lines of all their parts.

    Of two angles with one line in common that are taken off each other, as in ANB, it is the angle of the other two.
    """
    match shape:
        case Turn():
            return Parts(angles=((shape.start, shape.end),))
        case Ahead():
            return Parts(lines=(shape.line,), squares=((shape.point, shape.line),))
        case Across() | Along():
            return Parts(lines=(shape.line,), squares=tuple((end, shape.line) for end in shape.step))
        case Length():
            return Parts(distances=(shape.line,))
        case Sum(parts=(Turn() as one,), less=(Turn() as other,)) if one.start == other.start:
            return Parts(angles=((one.end, other.end),))
        case Sum():
            return _together([*shape.parts, *shape.less])
        case Ratio():
            return _together([shape.top, shape.bottom])
        case _:
            raise TypeError(f"no lines are known of {type(shape).__name__}")


def _together(shapes: list[Shape]) -> Parts:
    found = [parts_of_shape(one) for one in shapes]
    return Parts(
        tuple(angle for one in found for angle in one.angles),
        tuple(line for one in found for line in one.lines),
        tuple(line for one in found for line in one.distances),
        tuple(square for one in found for square in one.squares),
    )


def _ends(face: Face, parts: Parts, widest: float) -> list[Ends]:
    more = widest * OVERHANG
    found = []
    for pair in parts.angles:
        crossing = _crossing(face, *pair)
        for line in pair:
            found.append(_run_on(face, line, [crossing] if crossing else [], more, widest * TO_CROSSING))
    for line in parts.lines:
        feet = [foot for name, to in parts.squares if to == line and (foot := _foot(face, name, line))]
        found.append(_run_on(face, line, feet, more, widest))
    found += [(face.place(a), face.place(b)) for a, b in parts.distances]
    for name, line in parts.squares:
        foot = _foot(face, name, line)
        if foot is not None and (foot - face.place(name)).length > LEAST_LENGTH:
            found.append((face.place(name), foot))
    return [one for one in found if (one[1] - one[0]).length > LEAST_LENGTH]


def _run_on(face: Face, line: Line, to: list[Vector], more: float, farthest: float) -> Ends:
    """The line through its points and on to others that lie on it, if they are no farther than `farthest`."""
    start, end = face.place(line[0]), face.place(line[1])
    if (end - start).length < LEAST_LENGTH:
        return start, end
    along, length = (end - start).unit(), (end - start).length
    reached = [(one - start).dot(along) for one in to]
    reached = [at for at in reached if -farthest <= at <= length + farthest]
    low, high = min([0.0, *reached]) - more, max([length, *reached]) + more
    return start + along.times(low), start + along.times(high)


def _crossing(face: Face, one: Line, other: Line) -> Vector | None:
    """Where two lines cross; None for parallel lines and those without a direction."""
    a, b = face.place(one[0]), face.place(other[0])
    first, second = face.place(one[1]) - a, face.place(other[1]) - b
    turned = first.cross(second)
    if abs(turned) <= LEAST_LENGTH * first.length * second.length:
        return None
    return a + first.times((b - a).cross(second) / turned)


def _foot(face: Face, name: str, line: Line) -> Vector | None:
    """The point of a line that is nearest to a point; None for a line without a direction."""
    start, arrow = face.place(line[0]), face.place(line[1]) - face.place(line[0])
    if arrow.length < LEAST_LENGTH:
        return None
    return start + arrow.times((face.place(name) - start).dot(arrow) / arrow.dot(arrow))


def _widest(points: list[Vector]) -> float:
    return max((a - b).length for a in points for b in points)
