"""Repeated measurements with intervals: published tables, printed quantiles, identities, laws."""

from __future__ import annotations

import math
import statistics

import pytest
from hypothesis import given
from hypothesis import strategies as st

from portfolio.repeated import (
    chi_square_quantile,
    chi_square_share,
    detectable_change,
    least_error,
    repeated_statistics,
    sd_interval,
)
from portfolio.repeats import FEWEST_PAIRS_USED, pair_statistics
from tests.portfolio.test_repeats import MINI, WRIGHT

values = st.floats(-20, 20)
twice = st.lists(st.tuples(values, values), min_size=2, max_size=30)
more = st.lists(st.lists(values, min_size=2, max_size=4), min_size=2, max_size=20)


def test_the_published_table_of_two_meters_comes_out() -> None:
    """Bland and Altman, Lancet 1986;i:307-310: repeatability 43.2 and 56.4 l/min (from memory), 2·√2 of Dahlberg.

    Dahlberg 15.31 and 19.91 were worked out from the table on their own.  First readings of the two meters: bias −2.1,
    SD 38.8, limits printed with 2 SD as −79.7 and 75.5; here with 1.96.
    """
    for readings, printed, own in ((WRIGHT, 43.2, 15.31), (MINI, 56.4, 19.91)):
        told = repeated_statistics(list(zip(*readings, strict=True)))
        assert told
        assert told.error == pytest.approx(own, abs=0.005)
        assert 2 * math.sqrt(2) * told.error == pytest.approx(printed, abs=0.15)
    methods = repeated_statistics(list(zip(MINI[0], WRIGHT[0], strict=True)))
    assert methods
    assert (methods.pairs, methods.places, round(methods.bias, 1)) == (17, 17, -2.1)
    half = (methods.agree_high - methods.agree_low) / 2
    assert half / 1.96 == pytest.approx(38.8, abs=0.05)
    assert methods.bias - 2 * half / 1.96 == pytest.approx(-79.7, abs=0.1)


@pytest.mark.parametrize(
    ("degrees", "low", "high"),
    [(1, 0.000982, 5.024), (2, 0.0506, 7.378), (5, 0.831, 12.833), (10, 3.247, 20.483), (20, 9.591, 34.170), (29, 16.047, 45.722)],
)  # fmt: skip
def test_quantiles_are_those_of_printed_tables(degrees: int, low: float, high: float) -> None:
    """2.5 and 97.5 per cent points of chi-square, as printed in any textbook (from memory)."""
    assert chi_square_quantile(0.025, degrees) == pytest.approx(low, rel=0.002)
    assert chi_square_quantile(0.975, degrees) == pytest.approx(high, rel=0.0005)


def test_chi_square_of_one_degree_is_the_squared_normal_and_of_two_the_exponential() -> None:
    normal = statistics.NormalDist()
    assert chi_square_share(2.25, 1) == pytest.approx(2 * normal.cdf(1.5) - 1)
    assert chi_square_share(3.0, 2) == pytest.approx(1 - math.exp(-1.5))
    with pytest.raises(ValueError, match="share"):
        chi_square_quantile(1.0, 3)


def test_twenty_pairs_leave_the_error_between_76_and_144_per_cent() -> None:
    low, high = sd_interval(1.0, FEWEST_PAIRS_USED)
    assert (low, high) == pytest.approx((0.765, 1.444), abs=0.001)


@given(twice)
def test_with_two_of_each_the_figures_are_those_of_pairs(found: list[tuple[float, float]]) -> None:
    told, pairs = repeated_statistics(found), pair_statistics([b - a for a, b in found])
    assert told
    assert pairs
    assert told.error == pytest.approx(pairs.dahlberg, abs=1e-6)
    assert told.random_sd == pytest.approx(pairs.random_sd, abs=1e-6)
    assert (told.bias, told.bias_low, told.bias_high) == pytest.approx(
        (pairs.bias, pairs.bias_low, pairs.bias_high), abs=1e-9
    )
    assert told.error_low <= told.error <= told.error_high


@given(more, st.floats(-5, 5))
def test_a_shift_of_all_repeats_is_bias_and_no_random_error(found: list[list[float]], shift: float) -> None:
    told = repeated_statistics(found)
    moved = repeated_statistics([[first, *(v + shift for v in again)] for first, *again in found])
    assert told
    assert moved
    assert moved.random_sd == pytest.approx(told.random_sd, abs=1e-6)
    assert moved.bias == pytest.approx(told.bias + shift, abs=1e-6)


def test_a_third_measurement_is_not_lost_and_rounding_is_never_no_error() -> None:
    told = repeated_statistics([(5.0, 5.2, 4.8), (3.0, 3.0)])
    assert told
    assert (told.pairs, told.places) == (3, 2)
    assert told.error == pytest.approx(math.sqrt(0.08 / 3))
    assert repeated_statistics([(5.0, 5.2)]) is None
    assert least_error(0.1) == pytest.approx(0.0288675)
    assert detectable_change(1.5) == pytest.approx(1.96 * math.sqrt(2) * 1.5)
