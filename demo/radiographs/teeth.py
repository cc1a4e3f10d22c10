"""Teeth of an invented face as areas: crowns, roots and pulps, placed along the occlusal plane."""

from collections.abc import Iterator, Sequence
from dataclasses import dataclass

from demo.radiographs.face import Points
from imaging.cephalometry.outlines import Jaw, curve, incisor, molar
from imaging.geometry import Vector

Row = tuple[tuple[float, float], ...]
# Along the tooth from the cusp (0) to the apex (1) of a tooth 22 mm long, then forward (+) or back (−).
SIDE: Row = (
    (-0.02, 0.02), (0.08, 0.12), (0.22, 0.165), (0.34, 0.13), (0.60, 0.105), (0.85, 0.06), (1.0, 0.0),
    (0.85, -0.06), (0.60, -0.105), (0.34, -0.13), (0.22, -0.165), (0.08, -0.12),
)  # fmt: skip
CANINE: Row = (
    (-0.03, 0.0), (0.10, 0.10), (0.24, 0.155), (0.36, 0.13), (0.62, 0.11), (0.86, 0.06), (1.0, 0.0),
    (0.86, -0.06), (0.62, -0.11), (0.36, -0.13), (0.24, -0.155), (0.10, -0.10),
)  # fmt: skip
CROWN = 0.36
"""The share of a tooth's length that enamel covers."""


@dataclass(frozen=True, slots=True)
class Tooth:
    """One tooth as it is drawn: its whole outline, its enamel, its pulp as a line."""

    whole: Sequence[Vector]
    enamel: Sequence[Vector]
    pulp: Sequence[Vector]
    far: bool = False
    """Whether its shadow is the fainter one of two sides."""


@dataclass(frozen=True, slots=True)
class Dentition:
    """What stands between incisors and first molars: premolars of each arch, second molars, teeth still in the bone."""

    upper_premolars: int = 2
    lower_premolars: int = 2
    second_molars: bool = True
    buds: bool = False
    """Canines and premolars lie unerupted over primary teeth."""
    lost_lower_molar: bool = False
    """The lower first molar of the farther side is gone."""


def teeth(points: Points, dentition: Dentition) -> Iterator[Tooth]:
    """All teeth of both sides, the farther side first."""
    forward = (points["OPi"] - points["OPm"]).unit()
    for shift, far in ((Vector(-1.1, 0.7), True), (Vector(0, 0), False)):
        yield from _side_teeth(points, dentition, "upper", forward, shift, far)
        yield from _side_teeth(points, dentition, "lower", forward, shift, far)
    yield from _front_teeth(points)


def _front_teeth(points: Points) -> Iterator[Tooth]:
    for jaw, edge, apex in (("upper", "U1", "U1A"), ("lower", "L1", "L1A")):
        lateral = Vector(-2.2, 0.9) if jaw == "upper" else Vector(-1.2, 0.2)
        for step, far in ((lateral, True), (Vector(0, 0), False)):
            yield _front_tooth(jaw, points[edge] + step, points[apex] + step.times(1.5), far)  # type: ignore[arg-type]


def _front_tooth(jaw: Jaw, edge: Vector, apex: Vector, far: bool) -> Tooth:
    whole = incisor(jaw, edge, apex, 4)
    axis = apex - edge
    enamel = [p for p in whole if axis.dot(p - edge) < 0.42 * axis.dot(axis)]
    return Tooth(whole, enamel, [edge + axis.times(t) for t in (0.25, 0.5, 0.93)], far)


def _side_teeth(
    points: Points, dentition: Dentition, jaw: Jaw, forward: Vector, shift: Vector, far: bool
) -> Iterator[Tooth]:
    upper = jaw == "upper"
    rootward = forward.left.times(1 if upper else -1)
    cusp = points["U6" if upper else "L6"] + shift
    edge = points["U1" if upper else "L1"] + shift
    width = 10.4 if upper else 11.0
    if upper or not (far and dentition.lost_lower_molar):
        yield _molar(jaw, cusp, forward, rootward, width, far)
    if dentition.second_molars:
        back = cusp - forward.times(width + 0.2) + rootward.times(0.6)
        yield _molar(jaw, back, forward, rootward, width - 0.8, far)
    else:
        yield _bud(cusp - forward.times(width + 2.5) + rootward.times(10), forward, rootward, 6.0, far)
    front_of_molar = cusp + forward.times(2.9)
    count = dentition.upper_premolars if upper else dentition.lower_premolars
    room = forward.dot(edge - front_of_molar)
    for number in range(count):
        place = front_of_molar + forward.times(3.5 + 7.0 * number) + rootward.times(0.5 - 0.4 * number)
        yield _single(SIDE, place, forward, rootward, 15.0 if dentition.buds else 21.5, -2.0, far)
        if dentition.buds:
            yield _bud(place + rootward.times(15.0), forward, rootward, 4.4, far)
    place = front_of_molar + forward.times(3.5 + 7.0 * count + 0.5) - rootward.times(0.6)
    tip = place + forward.times(min(max(room - (4 + 7.0 * count) - 9.5, -1.5), 4.0) * 0.5)
    if not (dentition.buds and upper):
        yield _single(CANINE, tip, forward, rootward, 25.5, -8.0 if upper else 4.0, far)
        return
    yield _single(SIDE, tip, forward, rootward, 15.5, -4.0, far)
    hidden = points["U1A"] + shift.times(2) - forward.times(3.5) - rootward.times(7)
    yield _single(CANINE, hidden, forward, rootward, 19.0, -38.0, far)


def _single(
    row: Row, cusp: Vector, forward: Vector, rootward: Vector, length: float, lean: float, far: bool
) -> Tooth:
    """A tooth with one root; `lean` in degrees moves its apex back when it is negative."""
    axis = rootward + forward.times(lean / 57.3)
    axis = axis.unit().times(length)
    across = forward.times(22.0 if length > 18 else 23.0)
    whole = curve([cusp + axis.times(u) + across.times(v) for u, v in row], closed=True, steps=3)
    enamel = [p for p in whole if axis.dot(p - cusp) < CROWN * axis.dot(axis)]
    return Tooth(whole, enamel, [cusp + axis.times(t) for t in (0.24, 0.5, 0.92)], far)


def _molar(jaw: Jaw, cusp: Vector, forward: Vector, rootward: Vector, width: float, far: bool) -> Tooth:
    whole = molar(jaw, cusp, forward, width, 4)
    enamel = [p for p in whole if rootward.dot(p - cusp) < 0.62 * width]
    middle = cusp - forward.times(width * 0.24) + rootward.times(width * 0.62)
    pulp = [middle + forward.times(width * 0.12), middle - forward.times(width * 0.16)]
    return Tooth(whole, enamel, pulp, far)


def _bud(middle: Vector, forward: Vector, rootward: Vector, size: float, far: bool) -> Tooth:
    """The crown of a tooth that is still forming."""
    row = (
        (-1.0, 0.3),
        (-0.8, 0.8),
        (0.1, 1.0),
        (0.7, 0.8),
        (0.4, 0.0),
        (0.7, -0.8),
        (0.1, -1.0),
        (-0.8, -0.8),
    )
    controls = [middle + rootward.times(u * size) + forward.times(v * size) for u, v in row]
    whole = curve(controls, closed=True, steps=3)
    enamel = [p for p in whole if rootward.dot(p - middle) < 0.1 * size]
    return Tooth(whole, enamel, [middle - forward.times(size * 0.2), middle + forward.times(size * 0.2)], far)
