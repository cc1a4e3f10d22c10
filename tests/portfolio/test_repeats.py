"""Repeated measurements: a published table, printed quantiles, identities, and laws."""

from __future__ import annotations

import math
import statistics

import pytest
from hypothesis import given
from hypothesis import strategies as st

from portfolio.repeats import (
    FEWEST_PAIRS_USED,
    dahlberg,
    pair_statistics,
    student_quantile,
    student_share,
)

# Bland JM, Altman DG. Statistical methods for assessing agreement between two methods of clinical measurement.
# Lancet 1986;i:307-310, Table I: peak expiratory flow of 17 people, first and second reading by each of two meters.
WRIGHT = (
    (494, 395, 516, 434, 476, 557, 413, 442, 650, 433, 417, 656, 267, 478, 178, 423, 427),
    (490, 397, 512, 401, 470, 611, 415, 431, 638, 429, 420, 633, 275, 492, 165, 372, 421),
)
MINI = (
    (512, 430, 520, 428, 500, 600, 364, 380, 658, 445, 432, 626, 260, 477, 259, 350, 451),
    (525, 415, 508, 444, 500, 625, 460, 390, 642, 432, 420, 605, 227, 467, 268, 370, 443),
)
some_differences = st.lists(st.floats(-20, 20), min_size=2, max_size=40)


def differences(first: tuple[int, ...], second: tuple[int, ...]) -> list[float]:
    return [float(b - a) for a, b in zip(first, second, strict=True)]


def test_the_repeatability_coefficients_of_the_published_table_come_out() -> None:
    """The coefficients 43.2 and 56.4 l/min are 2·√(Σd²/n), that is 2·√2 of Dahlberg's error (printed: from memory)."""
    assert 2 * math.sqrt(2) * dahlberg(differences(*WRIGHT)) == pytest.approx(43.2, abs=0.15)
    assert 2 * math.sqrt(2) * dahlberg(differences(*MINI)) == pytest.approx(56.4, abs=0.15)


def test_bias_and_its_interval_of_the_published_table_come_out() -> None:
    """First readings of the two meters: −2.1 l/min, interval −22.0 to 17.8 (Wright minus mini, printed)."""
    found = pair_statistics(differences(MINI[0], WRIGHT[0]))
    assert found
    assert (found.pairs, round(found.bias, 1)) == (17, -2.1)
    # the paper rounds the mean to −2.1 and its standard error to 9.4 before it combines them
    assert found.bias_low == pytest.approx(-22.0, abs=0.1)
    assert found.bias_high == pytest.approx(17.8, abs=0.1)
    assert found.random_sd * math.sqrt(2) == pytest.approx(38.8, abs=0.05)
    assert not found.biased


@pytest.mark.parametrize(
    ("degrees", "printed"),
    [(1, 12.706), (2, 4.303), (3, 3.182), (9, 2.262), (10, 2.228), (16, 2.120), (19, 2.093), (30, 2.042), (120, 1.980)],
)  # fmt: skip
def test_quantiles_are_those_of_printed_tables(degrees: int, printed: float) -> None:
    """Two-sided 95 per cent points of Student's distribution, as printed in any textbook (from memory)."""
    assert student_quantile(0.95, degrees) == pytest.approx(printed, abs=0.0006)


def test_one_degree_of_freedom_is_the_distribution_of_cauchy_and_many_the_normal_one() -> None:
    assert student_share(1, 1) == pytest.approx(0.5)
    normal = statistics.NormalDist()
    assert student_share(1.5, 20_000) == pytest.approx(2 * normal.cdf(1.5) - 1, abs=1e-4)


@given(st.floats(0, 50), st.integers(1, 60))
def test_a_quantile_gives_its_share_back(t: float, degrees: int) -> None:
    share = student_share(t, degrees)
    if share < 0.9999:
        assert student_quantile(share, degrees) == pytest.approx(t, abs=1e-6, rel=1e-6)


@given(some_differences)
def test_dahlberg_holds_the_random_error_and_half_the_squared_bias(found: list[float]) -> None:
    told = pair_statistics(found)
    assert told
    n = len(found)
    expected = told.random_sd**2 * (n - 1) / n + told.bias**2 / 2
    assert told.dahlberg**2 == pytest.approx(expected, abs=1e-9)


@given(some_differences)
def test_which_tracing_came_first_turns_the_bias_and_nothing_else(found: list[float]) -> None:
    one, other = pair_statistics(found), pair_statistics([-d for d in found])
    assert one
    assert other
    assert other.dahlberg == pytest.approx(one.dahlberg)
    assert other.random_sd == pytest.approx(one.random_sd)
    assert other.bias == pytest.approx(-one.bias)
    assert (other.bias_low, other.bias_high) == pytest.approx((-one.bias_high, -one.bias_low))


@given(some_differences, st.floats(0.01, 100))
def test_another_unit_scales_everything(found: list[float], factor: float) -> None:
    one, other = pair_statistics(found), pair_statistics([d * factor for d in found])
    assert one
    assert other
    assert other.dahlberg == pytest.approx(one.dahlberg * factor)
    assert other.bias_high == pytest.approx(one.bias_high * factor, abs=1e-9)


def test_a_constant_shift_is_all_bias() -> None:
    found = pair_statistics([0.4] * 5)
    assert found
    assert found.biased
    assert found.random_sd == pytest.approx(0)
    assert found.dahlberg == pytest.approx(0.4 / math.sqrt(2))


def test_one_pair_tells_nothing_and_twenty_are_used() -> None:
    assert pair_statistics([]) is None
    assert pair_statistics([1.0]) is None
    under, enough = (pair_statistics([0.1, -0.1] * half) for half in (9, FEWEST_PAIRS_USED // 2))
    assert under
    assert enough
    assert not under.used
    assert enough.used
    with pytest.raises(ValueError, match="pairs"):
        dahlberg([])
