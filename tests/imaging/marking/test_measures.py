"""What marks measure, and their errors, against trigonometry and simulation."""

from __future__ import annotations

import math
import random
import statistics

import pytest
from hypothesis import given
from hypothesis import strategies as st

from imaging.calibration import Origin, Scale, Size
from imaging.marking.measures import KINDS, Allowance, Place, allowance, click_sd, measured

NOTHING = Allowance(0, 0, "")
ONE = Scale(0.1, 0.1, 0.0, Origin.RULER, Size.NATURAL, "")


def scale(across: float, down: float, sd_percent: float = 0.0, origin: Origin = Origin.RULER) -> Scale:
    return Scale(across, down, sd_percent, origin, Size.NATURAL, "")


def at(*spots: tuple[float, float], zoom: float = 4.0) -> list[Place]:
    return [Place(x, y, zoom) for x, y in spots]


def test_a_distance_is_that_of_pythagoras_in_the_millimetres_of_each_direction() -> None:
    result = measured("distance", at((10, 10), (40, 50)), scale(0.1, 0.2), NOTHING)
    assert result is not None
    assert result.value == pytest.approx(math.hypot(3, 8))


def test_a_distance_from_a_line_is_square_to_it() -> None:
    result = measured("from_line", at((0, 0), (100, 100), (100, 0)), ONE, NOTHING)
    assert result is not None
    assert result.value == pytest.approx(10 * math.sqrt(2) / 2)


@pytest.mark.parametrize(("end", "degrees"), [((10, 0), 0), ((10, 10), 45), ((0, 10), 90), ((-10, 0), 180)])
def test_an_angle_is_told_at_its_corner_without_a_sign(end: tuple[float, float], degrees: float) -> None:
    for mirrored in (1, -1):
        result = measured("angle", at((10, 0), (0, 0), (end[0], mirrored * end[1])), None, NOTHING)
        assert result is not None
        assert result.value == pytest.approx(degrees)


def test_without_a_scale_there_are_angles_and_no_lengths() -> None:
    assert measured("distance", at((0, 0), (9, 9)), None, NOTHING) is None
    assert measured("from_line", at((0, 0), (9, 9), (0, 9)), None, NOTHING) is None
    assert measured("angle", at((9, 0), (0, 0), (0, 9)), None, NOTHING) is not None


def test_places_that_coincide_give_no_number_rather_than_nonsense() -> None:
    assert measured("angle", at((5, 5), (5, 5), (9, 9)), None, NOTHING) is None
    assert measured("from_line", at((5, 5), (5, 5), (9, 9)), ONE, NOTHING) is None
    assert measured("distance", at((5, 5), (5, 5)), ONE, NOTHING) is None


@pytest.mark.parametrize(
    ("kind", "spots", "beside"),
    [
        ("from_line", ((0, 0), (200, 0), (100, 0)), ((0, 0), (200, 0), (100, 9))),
        ("angle", ((100, 0), (0, 0), (100, 0)), ((100, 0), (0, 0), (99, 14))),
        ("angle", ((100, 0), (0, 0), (-100, 0)), ((100, 0), (0, 0), (-99, 14))),
    ],
    ids=["on the line", "arms together", "arms stretched"],
)
def test_a_result_at_the_end_of_its_range_is_no_surer_than_its_neighbours(
    kind: str, spots: tuple[tuple[float, float], ...], beside: tuple[tuple[float, float], ...]
) -> None:
    here, there = (measured(kind, at(*one), ONE, NOTHING) for one in (spots, beside))
    assert here is not None
    assert there is not None
    assert here.sd == pytest.approx(there.sd, rel=0.05)
    assert here.sd > 0.03


def test_points_and_lines_give_no_number_and_a_wrong_count_of_places_is_refused() -> None:
    assert measured("point", at((1, 1)), ONE, NOTHING) is None
    assert measured("line", at((1, 1), (5, 5)), ONE, NOTHING) is None
    with pytest.raises(ValueError, match="distance has 2 places, not 3"):
        measured("distance", at((1, 1), (5, 5), (6, 6)), ONE, NOTHING)


@pytest.mark.parametrize("kind", [key for key, kind in KINDS.items() if kind.unit])
@given(
    turn=st.floats(0, 360),
    shift=st.tuples(st.floats(-500, 500), st.floats(-500, 500)),
    mirror=st.sampled_from([1, -1]),
)
def test_turning_shifting_and_mirroring_the_picture_changes_no_result(
    kind: str, turn: float, shift: tuple[float, float], mirror: int
) -> None:
    c, s = math.cos(math.radians(turn)), math.sin(math.radians(turn))
    spots = [(0.0, 0.0), (120.0, 30.0), (40.0, 90.0)][: len(KINDS[kind].places)]
    moved = [(c * x - s * mirror * y + shift[0], s * x + c * mirror * y + shift[1]) for x, y in spots]
    before, after = (measured(kind, at(*one), ONE, NOTHING) for one in (spots, moved))
    assert before is not None
    assert after is not None
    assert after.value == pytest.approx(before.value, abs=1e-6)
    assert after.sd == pytest.approx(before.sd, rel=1e-3)


def test_the_error_of_clicks_is_the_scatter_of_many_clicks() -> None:
    """Simulation: 20000 clicks with the stated deviation of each coordinate."""
    random.seed(5)
    spots, sizes = [(100.0, 100.0), (180.0, 130.0), (120.0, 190.0)], scale(0.08, 0.09)
    sd = click_sd(2.0)
    for kind in ("distance", "from_line", "angle"):
        here = spots[: len(KINDS[kind].places)]
        told = measured(kind, at(*here, zoom=2.0), sizes, NOTHING)
        assert told is not None
        seen = []
        for _ in range(4000):
            shaken = [(x + random.gauss(0, sd), y + random.gauss(0, sd)) for x, y in here]
            one = measured(kind, at(*shaken, zoom=2.0), sizes, NOTHING)
            assert one is not None
            seen.append(one.value)
        assert statistics.stdev(seen) == pytest.approx(told.sd, rel=0.06)


def test_marks_put_at_a_larger_picture_are_surer_and_a_coarser_rendition_makes_them_less_sure() -> None:
    assert click_sd(8.0) < click_sd(1.0) < click_sd(0.25)
    assert click_sd(8.0, share=0.4) > click_sd(8.0)


def test_the_error_of_the_scale_goes_into_every_length_in_per_cent_of_it() -> None:
    sure, unsure = (
        measured("distance", at((0, 0), (300, 0), zoom=100), scale(0.1, 0.1, sd), NOTHING)
        for sd in (0.0, 2.0)
    )
    assert sure is not None
    assert unsure is not None
    assert dict(unsure.parts)["scale"] == pytest.approx(0.6)
    assert unsure.sd == pytest.approx(math.hypot(sure.sd, 0.6))


def test_perspective_and_tilt_are_allowed_for_once_by_the_scale_of_a_ruler_or_else_here() -> None:
    """5 mm nearer at 300 mm: 1.7 per cent; 10 degrees of tilt: 1.5 per cent (trigonometry)."""
    by_ruler, by_file = (
        allowance(scale(0.1, 0.1, 2.3, origin), projected=False) for origin in (Origin.RULER, Origin.FILE)
    )
    assert by_ruler.percent == 0
    assert by_file.percent == pytest.approx(
        100 * math.hypot(5 / 295, 1 - math.cos(math.radians(10))), abs=1e-9
    )
    assert by_file.percent == pytest.approx(math.hypot(1.7, 1.5), abs=0.02)


def test_a_right_angle_astride_the_tilt_turns_by_as_much_as_is_allowed_for() -> None:
    tilted = math.cos(math.radians(10))
    arms = math.degrees(2 * math.atan2(tilted, 1))
    assert allowance(None, projected=False).degrees == pytest.approx(90 - arms)


def test_a_radiograph_is_not_looked_at_by_a_camera() -> None:
    found = allowance(ONE, projected=True)
    assert (found.percent, found.degrees) == (0, 0)
    assert "detector" in found.words
