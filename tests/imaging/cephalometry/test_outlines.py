"""Outlines: curves pass through their points and go along with affine maps; teeth stand on their landmarks."""

import pytest
from hypothesis import given
from hypothesis import strategies as st

from imaging.cephalometry import outlines
from imaging.cephalometry.landmarks import BY_KEY
from imaging.cephalometry.outlines import DISTAL_SHARE, MOLAR_WIDTHS_MM, controls_at, curve, incisor, molar
from imaging.geometry import Vector
from tests.imaging.cephalometry.faces import ORDINARY, face

NUMBERS = st.floats(-100, 100)
SPOTS = st.builds(Vector, NUMBERS, NUMBERS)
ROWS = st.lists(SPOTS, min_size=3, max_size=9)


def near(one: Vector, other: Vector, size: float = 1e-6) -> bool:
    return (one - other).length < size


@given(ROWS, st.booleans(), st.integers(1, 20))
def test_a_curve_passes_through_every_point_in_order(row: list[Vector], closed: bool, steps: int) -> None:
    drawn = curve(row, closed, steps)
    ends = [*row, row[0]] if closed else row
    assert list(drawn[::steps]) == ends
    assert len(drawn) == steps * (len(ends) - 1) + 1


@given(ROWS, st.booleans(), st.tuples(*[st.floats(-3, 3)] * 4), SPOTS)
def test_an_affine_map_of_the_points_maps_the_curve(
    row: list[Vector], closed: bool, m: tuple[float, float, float, float], shift: Vector
) -> None:
    def mapped(p: Vector) -> Vector:
        return Vector(m[0] * p.x + m[1] * p.y, m[2] * p.x + m[3] * p.y) + shift

    of_points = curve([mapped(p) for p in row], closed)
    assert all(near(a, mapped(b), 1e-5) for a, b in zip(of_points, curve(row, closed), strict=True))


@given(ROWS, st.booleans())
def test_a_curve_drawn_backwards_is_the_same_curve(row: list[Vector], closed: bool) -> None:
    back = [row[0], *row[:0:-1]] if closed else row[::-1]
    assert all(near(a, b) for a, b in zip(curve(row, closed), curve(back, closed)[::-1], strict=True))


@given(SPOTS, SPOTS, st.integers(2, 6))
def test_points_evenly_on_a_line_give_the_line(start: Vector, step: Vector, count: int) -> None:
    row = [start + step.times(i) for i in range(count)]
    for place, point in enumerate(curve(row, steps=4)):
        assert near(point, start + step.times(place / 4), 1e-5)


def test_neighbouring_pieces_meet_without_a_corner() -> None:
    drawn = curve([Vector(0, 0), Vector(4, 3), Vector(9, 1), Vector(12, 6)], steps=100)
    for place in (100, 200):
        before, after = drawn[place] - drawn[place - 1], drawn[place + 1] - drawn[place]
        assert abs(before.unit().cross(after.unit())) < 0.05


@pytest.mark.parametrize(
    ("count", "closed", "steps"), [(0, False, 5), (1, False, 5), (2, True, 5), (3, True, 0), (3, False, 101)]
)
def test_too_few_points_or_impossible_steps_are_refused(count: int, closed: bool, steps: int) -> None:
    with pytest.raises(ValueError, match=r"points or more|steps must be"):
        curve([Vector(i, i * i) for i in range(count)], closed, steps)


def test_every_anchor_is_a_landmark_and_the_profile_follows_the_skin() -> None:
    structures = {s.key: s for s in outlines.STRUCTURES}
    assert structures.keys() == {
        "sella", "cranial_base", "orbit", "maxilla", "palate", "mandible", "symphysis", "profile",
    }  # fmt: skip
    assert [a for s in structures.values() for a in s.anchors if a not in BY_KEY] == []
    soft = {key for key, landmark in BY_KEY.items() if landmark.kind == "soft"}
    assert set(structures["profile"].anchors) == soft
    heights = [ORDINARY[anchor][1] for anchor in structures["profile"].anchors]
    assert heights == sorted(heights, reverse=True)


def test_a_row_takes_landmarks_where_they_are_now_and_leaves_out_those_that_are_gone() -> None:
    row = ["Co", Vector(-12, -40), "Me", "D"]
    place = face({"Co": [1, 2], "Me": [3, -90]}).place
    assert controls_at(row, place) == (Vector(1, 2), Vector(-12, -40), Vector(3, -90))  # type: ignore[arg-type]


@given(SPOTS, SPOTS, st.sampled_from(["upper", "lower"]))
def test_an_incisor_runs_through_its_edge_and_apex(edge: Vector, apex: Vector, jaw: outlines.Jaw) -> None:
    if (apex - edge).length < 1:
        return
    drawn = incisor(jaw, edge, apex)
    assert drawn[0] == edge == drawn[-1]
    assert any(near(point, apex) for point in drawn)


@pytest.mark.parametrize(("jaw", "edge", "apex"), [("upper", "U1", "U1A"), ("lower", "L1", "L1A")])
def test_an_incisor_faces_forward_and_has_the_proportions_of_a_tooth(
    jaw: outlines.Jaw, edge: str, apex: str
) -> None:
    """Labiolingual width to length: 7 of 23.5 mm above, 6 of 21.5 mm below (Wheeler, from memory)."""
    tip, end = Vector(*ORDINARY[edge]), Vector(*ORDINARY[apex])
    axis = (end - tip).unit()
    aside = [axis.cross(point - tip) for point in incisor(jaw, tip, end)]
    labial = -min(aside) if jaw == "upper" else max(aside)
    forward = max(incisor(jaw, tip, end), key=lambda point: point.x)
    assert forward.x >= tip.x
    share = (max(aside) - min(aside)) / (end - tip).length
    assert share == pytest.approx(7 / 23.5 if jaw == "upper" else 6 / 21.5, rel=0.25)
    assert labial > 0


@pytest.mark.parametrize("jaw", ["upper", "lower"])
def test_a_molar_stands_on_its_cusp_with_its_width_along_the_occlusal_plane(jaw: outlines.Jaw) -> None:
    cusp, forward = Vector(40, -70), Vector(3, -0.4)
    width = MOLAR_WIDTHS_MM[jaw]
    drawn = molar(jaw, cusp, forward, width)
    assert drawn[0] == cusp == drawn[-1]
    along = [forward.unit().dot(point - cusp) for point in drawn]
    assert max(along) - min(along) == pytest.approx(width, rel=0.08)
    assert -min(along) == pytest.approx(DISTAL_SHARE * width, rel=0.08)
    rootward = [forward.unit().cross(point - cusp) for point in drawn]
    assert (max(rootward) if jaw == "upper" else -min(rootward)) > 15


def test_teeth_without_a_direction_are_refused() -> None:
    with pytest.raises(ValueError, match="one place"):
        incisor("upper", Vector(1, 1), Vector(1, 1))
    with pytest.raises(ValueError, match="occlusal plane"):
        molar("lower", Vector(1, 1), Vector(0, 0), 10)
    with pytest.raises(ValueError, match="width"):
        molar("lower", Vector(1, 1), Vector(1, 0), 0)
