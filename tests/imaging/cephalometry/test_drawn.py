"""The lines drawn for a measure are those of its formula: they carry the angle or distance that is told."""

from __future__ import annotations

import math

import pytest

from imaging.cephalometry.drawn import Ends, drawn_lines, parts_of_shape
from imaging.cephalometry.face import Face, Spot
from imaging.cephalometry.measuring import measure_face
from imaging.cephalometry.registry import MEASURES
from imaging.cephalometry.shapes import LEAST_LENGTH
from imaging.geometry import Vector
from tests.imaging.cephalometry.faces import ORDINARY

PIXEL = (0.2, 0.3)
"""A pixel that is higher than wide."""
POINTS = {name: Vector(300 + at[0] / PIXEL[0], 200 - at[1] / PIXEL[1]) for name, at in ORDINARY.items()}


def in_mm(at: Vector) -> Vector:
    """Millimetres with y up, as formulas take them."""
    return Vector(at.x * PIXEL[0], -at.y * PIXEL[1])


FACE = Face({name: Spot(in_mm(at)) for name, at in POINTS.items()})


def used(key: str) -> dict[str, Vector]:
    """The points that evidence of a measure freezes."""
    names = [part for name in MEASURES[key].shape.names() for part in FACE.made_of(name)]
    return {name: POINTS[name] for name in names}


def drawn(key: str) -> list[Ends]:
    lines = drawn_lines(key, used(key), "go_me", PIXEL)
    return [(in_mm(a), in_mm(b)) for a, b in lines]


def apart(point: Vector, line: Ends) -> float:
    """Millimetres from a point to the endless line."""
    along = (line[1] - line[0]).unit()
    return abs(along.cross(point - line[0]))


def holds(line: Ends, point: Vector) -> bool:
    """Whether the drawn piece of a line reaches the point."""
    along = line[1] - line[0]
    share = (point - line[0]).dot(along) / along.dot(along)
    return apart(point, line) < 1e-6 and -1e-9 <= share <= 1 + 1e-9


@pytest.mark.parametrize("key", sorted(MEASURES))
def test_every_measure_has_lines_through_the_points_of_its_formula(key: str) -> None:
    lines = drawn(key)
    parts = parts_of_shape(MEASURES[key].shape)
    named = [*(line for pair in parts.angles for line in pair), *parts.lines, *parts.distances]
    assert named
    for line in named:
        start, end = FACE.place(line[0]), FACE.place(line[1])
        assert any(holds(one, start) and holds(one, end) for one in lines), (key, line)
    for name, line in parts.squares:
        at, to = FACE.place(name), (FACE.place(line[0]), FACE.place(line[1]))
        if apart(at, to) > 10 * LEAST_LENGTH:
            (foot,) = {one[1] for one in lines if (one[0] - at).length < 1e-6 and apart(one[1], to) < 1e-6}
            assert abs((to[1] - to[0]).unit().dot((foot - at).unit())) < 1e-6, "square in millimetres"


def test_the_drawn_lines_carry_the_number_that_is_told() -> None:
    told = {one.measure.key: one.value for one in measure_face(FACE)[0]}

    def turned(one: Ends, other: Ends) -> float:
        first, second = one[1] - one[0], other[1] - other[0]
        return abs(math.degrees(math.atan2(first.cross(second), first.dot(second))))

    for key in ("anb", "sn_mp", "impa", "sna", "fma", "interincisal"):
        lines = drawn(key)
        assert len(lines) == 2, key
        found = turned(*lines)
        assert min(abs(found - abs(told[key])), abs(180 - found - abs(told[key]))) < 1e-6, key
    (length,) = drawn("ans_me")
    assert (length[1] - length[0]).length == pytest.approx(told["ans_me"])
    square = drawn("u1_na_mm")[-1]
    assert (square[1] - square[0]).length == pytest.approx(abs(told["u1_na_mm"]))


def test_lines_of_an_angle_meet_where_that_is_near_and_end_where_it_is_far() -> None:
    one, other = drawn("impa")
    middle = FACE.place("L1A")
    meeting = [end for line in (one, other) for end in line]
    assert any(holds(one, at) or holds(other, at) for at in meeting)
    crossing_near = apart(one[0], other) * apart(one[1], other) == 0 or (
        (other[1] - other[0]).cross(one[0] - other[0]) * (other[1] - other[0]).cross(one[1] - other[0]) <= 0
    )
    assert crossing_near, "the incisor's axis is drawn down to the mandibular plane"
    assert (middle - one[0]).length < 100
    far = drawn("sn_mp")
    widest = max(
        (a - b).length for a in map(in_mm, used("sn_mp").values()) for b in map(in_mm, used("sn_mp").values())
    )
    assert all((line[1] - line[0]).length < 2 * widest for line in far)


def test_what_is_not_known_draws_nothing() -> None:
    assert drawn_lines("no_such_measure", POINTS, "go_me") == ()
    assert drawn_lines("anb", {"N": POINTS["N"]}, "go_me") == ()
    assert drawn_lines("sn_mp", POINTS, "no_such_plane") == ()
    one_place = dict.fromkeys(("S", "N", "Go", "Me"), POINTS["S"])
    assert drawn_lines("sn_mp", one_place, "go_me") == ()
