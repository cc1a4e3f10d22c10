"""The part of a picture that is shown round marks holds them all and lies inside the picture."""

from __future__ import annotations

import pytest
from hypothesis import given
from hypothesis import strategies as st

from imaging.marking.crops import LEAST_SIDE, crop_of
from imaging.marking.measures import KINDS

SIZE = (2400.0, 1600.0)
PLACE = st.tuples(st.floats(0, SIZE[0]), st.floats(0, SIZE[1]))


def as_is(x: float, y: float) -> tuple[float, float]:
    return x, y


def mark(kind: str, *spots: tuple[float, float]) -> dict[str, object]:
    return {"kind": kind, "label": "", "places": [{"x": x, "y": y, "zoom": 1} for x, y in spots]}


@given(kind=st.sampled_from(sorted(KINDS)), spots=st.lists(PLACE, min_size=3, max_size=3))
def test_every_place_lies_in_the_crop_and_the_crop_in_the_picture(
    kind: str, spots: list[tuple[float, float]]
) -> None:
    here = spots[: len(KINDS[kind].places)]
    crop = crop_of({"m1": mark(kind, *here)}, as_is, SIZE)
    assert crop is not None
    left, top, right, bottom = crop.box
    assert 0 <= left < right <= SIZE[0]
    assert 0 <= top < bottom <= SIZE[1]
    for (x, y), (px, py) in zip(here, crop.points, strict=True):
        assert (left + px, top + py) == pytest.approx((x, y), abs=0.02)
        assert -0.6 <= px <= crop.width + 0.6
        assert -0.6 <= py <= crop.height + 0.6


def test_names_stand_beside_their_points_inside_the_part() -> None:
    marks = {"N": mark("point", (2390, 400)), "S": mark("point", (1800, 500))}
    crop = crop_of(marks, as_is, SIZE, named=True)
    assert crop is not None
    assert [(name, anchor) for _, _, anchor, name in crop.names] == [("N", "end"), ("S", "start")]
    for (x, y), (left, top, anchor, _) in zip(crop.points, crop.names, strict=True):
        assert top < y
        assert left < x if anchor == "end" else left > x
    unnamed = crop_of(marks, as_is, SIZE)
    assert unnamed is not None
    assert unnamed.names == ()


def test_a_single_point_is_shown_with_enough_round_it_to_tell_where_it_is() -> None:
    crop = crop_of({"m1": mark("point", (1200, 800))}, as_is, SIZE)
    assert crop is not None
    assert min(crop.width, crop.height) >= LEAST_SIDE * SIZE[0] * 0.9
    assert crop.width < SIZE[0] / 4


def test_a_small_distance_is_enlarged() -> None:
    crop = crop_of({"m1": mark("distance", (1000, 800), (1150, 800))}, as_is, SIZE)
    assert crop is not None
    assert SIZE[0] / crop.width > 6


def test_marks_cropped_away_since_are_not_drawn_elsewhere() -> None:
    assert crop_of({"m1": mark("point", (1200, 800))}, lambda x, y: (x - 1300, y), SIZE) is None


def test_a_turned_picture_carries_its_marks_with_it() -> None:
    turned = crop_of(
        {"m1": mark("distance", (10, 20), (300, 20))}, lambda x, y: (SIZE[1] - y, x), (SIZE[1], SIZE[0])
    )
    assert turned is not None
    (x0, y0), (x1, y1) = turned.points
    assert x0 == x1
    assert y1 - y0 == pytest.approx(290)


@pytest.mark.parametrize(
    "frozen",
    [
        {},
        {"words": "seen"},
        {"m1": {"kind": "circle", "places": []}},
        {"m1": {"kind": "point"}},
        {"m1": {"kind": "point", "places": [{"x": "a", "y": 1}]}},
        {"m1": None},
    ],
)
def test_frozen_marks_of_another_shape_are_passed_over(frozen: dict[str, object]) -> None:
    assert crop_of(frozen, as_is, SIZE) is None


def test_a_distance_from_a_line_is_drawn_square_to_the_line_and_the_line_as_far_as_its_foot() -> None:
    crop = crop_of({"m1": mark("from_line", (100, 100), (200, 100), (400, 300))}, as_is, SIZE)
    assert crop is not None
    foot = 400 - crop.left, 100 - crop.top
    assert crop.paths[0].endswith(
        f"L{foot[0]:.2f} {foot[1]:.2f}M{foot[0]:.2f} {foot[1]:.2f}L{foot[0]:.2f} {300 - crop.top:.2f}"
    )


@given(line=st.tuples(PLACE, PLACE))
def test_lines_beside_the_marks_are_drawn_as_far_as_they_lie_in_the_part(
    line: tuple[tuple[float, float], tuple[float, float]],
) -> None:
    marks = {"m1": mark("point", (800, 700)), "m2": mark("point", (1500, 900))}
    plain = crop_of(marks, as_is, SIZE)
    crop = crop_of(marks, as_is, SIZE, lines=[line])
    assert plain is not None
    assert crop is not None
    assert crop.box == plain.box, "the part does not grow for them"
    (ax, ay), (bx, by) = ((x - crop.left, y - crop.top) for x, y in line)
    steps = 400
    inside = [
        (ax + t / steps * (bx - ax), ay + t / steps * (by - ay))
        for t in range(steps + 1)
        if 0 <= ax + t / steps * (bx - ax) <= crop.width and 0 <= ay + t / steps * (by - ay) <= crop.height
    ]
    drawn = [path for path in crop.paths if path not in plain.paths]
    if len(inside) > 1 and inside[0] != inside[-1]:
        (path,) = drawn
        ends = [tuple(map(float, end.split())) for end in path.removeprefix("M").split("L")]
        for found, tried in zip(ends, (inside[0], inside[-1]), strict=True):
            assert abs(found[0] - tried[0]) <= abs(bx - ax) / steps + 0.02
            assert abs(found[1] - tried[1]) <= abs(by - ay) / steps + 0.02
            assert -0.01 <= found[0] <= crop.width + 0.01
            assert -0.01 <= found[1] <= crop.height + 0.01
    elif not inside:
        assert all("L" in path for path in drawn)
