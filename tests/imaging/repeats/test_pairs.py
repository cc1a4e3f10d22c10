"""Differences between a first tracing and its repeat: signs, units, measures, and which errors are used."""

from __future__ import annotations

import math
import random

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from imaging.cephalometry.face import Face
from imaging.cephalometry.landmarks import DEFAULT_POINT_SD_MM
from imaging.cephalometry.measuring import measure_face
from imaging.repeats.pairs import (
    Pair,
    measure_differences,
    measure_figures,
    own_sds,
    point_differences,
    point_figures,
)
from portfolio.repeats import FEWEST_PAIRS_USED
from tests.imaging.cephalometry.faces import ORDINARY, Points, face, flipped, moved, without


def shaken(chance: random.Random, sd: float) -> Face:
    return face({name: [chance.gauss(x, sd), chance.gauss(y, sd)] for name, (x, y) in ORDINARY.items()})


def shaken_pairs(count: int, sd: float, seed: int = 3) -> list[Pair]:
    chance = random.Random(seed)
    return [Pair(shaken(chance, sd), shaken(chance, sd)) for _ in range(count)]


def test_a_difference_is_second_minus_first_forward_and_up() -> None:
    pair = Pair(face(), face({**ORDINARY, "A": [70.0, -48.0]}))
    assert point_differences(pair)["A"] == pytest.approx((0.5, 0.3))
    assert point_differences(pair)["B"] == (0, 0)


@given(st.floats(-2, 2), st.floats(-2, 2))
@settings(max_examples=15)
def test_the_way_the_picture_faces_does_not_matter(x: float, y: float) -> None:
    changed: Points = {**ORDINARY, "A": [69.5 + x, -48.3 + y]}
    plain = point_differences(Pair(face(), face(changed)))
    left = point_differences(
        Pair(face(flipped(ORDINARY, x=-1), faces="left"), face(flipped(changed, x=-1), faces="left"))
    )
    for key, both in plain.items():
        assert left[key] == pytest.approx(both, abs=1e-9)


def test_only_points_and_measures_of_both_count() -> None:
    pair = Pair(face(without("A")), face(without("B")))
    assert not {"A", "B"} & point_differences(pair).keys()
    assert not {"sna", "snb", "anb"} & measure_differences(pair).keys()
    assert "saddle" in measure_differences(pair)


def test_a_measure_differs_as_the_two_tracings_tell_it() -> None:
    second = face({**ORDINARY, "B": [64.4, -88.2]})
    told = {one.measure.key: one.value for one in measure_face(second)[0]}
    first = {one.measure.key: one.value for one in measure_face(face())[0]}
    found = measure_differences(Pair(face(), second))
    assert found["anb"] == pytest.approx(told["anb"] - first["anb"])
    assert found["anb"] > 0.5


def test_uncalibrated_pairs_tell_angles_and_ratios_and_no_point() -> None:
    pairs = [Pair(face(mm_per_unit=None), face(mm_per_unit=None))] * 3
    assert point_figures(pairs) == ()
    told = {one.key for one in measure_figures(pairs)}
    assert {"sna", "height_ratio"} <= told
    assert not told & {"n_me", "wits", "co_gn"}


def test_dahlberg_finds_the_error_that_points_were_shaken_by() -> None:
    """120 pairs of tracings whose coordinates err by 0.7 mm: every point comes out near it, none is biased by much."""
    found = point_figures(shaken_pairs(120, 0.7))
    assert {one.key for one in found} == set(ORDINARY)
    assert sum(one.x.dahlberg for one in found) / len(found) == pytest.approx(0.7, rel=0.03)
    for one in found:
        assert one.sd == pytest.approx(0.7, rel=0.2), one.key
        assert abs(one.x.bias) < 0.35, one.key


def test_the_error_of_measures_is_the_one_that_is_propagated() -> None:
    """Points that err by the default give Dahlberg errors near the propagated ones, two independent computations."""
    found = {
        one.key: one.told.dahlberg for one in measure_figures(shaken_pairs(250, DEFAULT_POINT_SD_MM, 11))
    }
    for one in measure_face(face())[0]:
        if one.sd is not None and one.measure.key in ("sna", "snb", "anb", "fma", "impa", "n_me", "co_gn"):
            assert found[one.measure.key] == pytest.approx(one.sd, rel=0.14), one.measure.key


def test_own_errors_are_used_from_twenty_pairs_of_a_point_on() -> None:
    pairs = shaken_pairs(FEWEST_PAIRS_USED, 0.6)
    assert set(own_sds(pairs)) == set(ORDINARY)
    assert own_sds(pairs[1:]) == {}
    lacking = [*pairs[1:], Pair(face(without("A")), face())]
    assert set(own_sds(lacking)) == set(ORDINARY) - {"A"}


def test_both_directions_make_one_deviation() -> None:
    pairs = [Pair(face(), face(moved({"A": ORDINARY["A"]}, x=0.3, y=-0.4)))] * 2
    (one,) = point_figures(pairs)
    assert one.sd == pytest.approx(math.sqrt((0.3**2 + 0.4**2) / 4))
