"""What measurements repeated twice or more tell of one reader, with intervals and limits of agreement.  Pure.

A place is measured once, and again in each repeat; every repeat makes a pair with what stood before it.  For two
measurements of each place all figures are those of `portfolio.repeats`; with more, the variances within the places
are pooled, so no repeat is lost and none counts twice.

Sources: Dahlberg 1940 and Houston 1983, as in `portfolio.repeats`; Bland JM, Altman DG, Lancet 1986;i:307-310
(limits of agreement, here with 1.96); interval of a standard deviation by chi-square: any textbook (from memory);
the distribution for whole degrees of freedom: Abramowitz and Stegun, Handbook of mathematical functions, 26.4.4 and
26.4.5 (from memory, held against printed tables).
"""

import math
from collections.abc import Sequence
from dataclasses import dataclass
from functools import cache

from portfolio.repeats import FEWEST_PAIRS_USED, LEVEL, student_quantile

FEWEST_PAIRS_SHOWN = 5
"""From so many pairs on figures are shown (choice; under it the interval spans more than a factor of six)."""
WITHIN_LIMITS = 1.96


@dataclass(frozen=True, slots=True)
class RepeatedStatistics:
    """Of `places` places with `pairs` repeated measurements; all but the counts in the unit of the measurement.

    `error` is Dahlberg's error of one measurement with its chi-square interval, `random_sd` the same without bias.
    `bias` is the mean over places of (mean of the repeats minus first), with Student's interval.  All intervals are
    of 95 per cent.  `agree_low` and `agree_high` are the limits of agreement of two measurements, bias ± 1.96 SD.
    """

    pairs: int
    places: int
    error: float
    error_low: float
    error_high: float
    random_sd: float
    bias: float
    bias_low: float
    bias_high: float

    @property
    def used(self) -> bool:
        """Whether there are enough pairs for the figure to stand in place of a default."""
        return self.pairs >= FEWEST_PAIRS_USED

    @property
    def biased(self) -> bool:
        """Whether the interval of the bias leaves out zero."""
        return self.bias_low > 0 or self.bias_high < 0

    @property
    def agree_low(self) -> float:
        return self.bias - WITHIN_LIMITS * math.sqrt(2) * self.random_sd

    @property
    def agree_high(self) -> float:
        return self.bias + WITHIN_LIMITS * math.sqrt(2) * self.random_sd


def repeated_statistics(places: Sequence[Sequence[float]]) -> RepeatedStatistics | None:
    """Figures of places measured at least twice, each as (first, second, …); None for fewer than two places."""
    measured = [place for place in places if len(place) > 1]
    if len(measured) < 2:
        return None
    pairs = sum(len(place) - 1 for place in measured)
    differences = [math.fsum(place[1:]) / (len(place) - 1) - place[0] for place in measured]
    count = len(differences)
    bias = math.fsum(differences) / count
    spread = math.sqrt(math.fsum((d - bias) ** 2 for d in differences) / (count - 1))
    half = student_quantile(LEVEL, count - 1) * spread / math.sqrt(count)
    within = math.fsum(_sum_of_squares(place) for place in measured)
    low, high = sd_interval(math.sqrt(within / pairs), pairs)
    return RepeatedStatistics(
        pairs=pairs,
        places=count,
        error=math.sqrt(within / pairs),
        error_low=low,
        error_high=high,
        random_sd=math.sqrt(_without_bias(measured) / (pairs - 1)),
        bias=bias,
        bias_low=bias - half,
        bias_high=bias + half,
    )


def least_error(step: float) -> float:
    """The error that rounding to `step` leaves, step/√12: measurements that agree were rounded, not exact."""
    return step / math.sqrt(12)


def detectable_change(sem: float) -> float:
    """The smallest change that errors of two measurements do not explain at 95 per cent, 1.96·√2·SEM.

    Weir JP, J Strength Cond Res 2005;19:231-240 (abstract read, formula from memory).
    """
    return WITHIN_LIMITS * math.sqrt(2) * sem


def _sum_of_squares(values: Sequence[float]) -> float:
    mean = math.fsum(values) / len(values)
    return math.fsum((v - mean) ** 2 for v in values)


def _without_bias(places: Sequence[Sequence[float]]) -> float:
    """The least sum of squares within places when one shift is taken off every repeat."""
    weights = [(len(place) - 1) / len(place) for place in places]
    differences = [math.fsum(place[1:]) / (len(place) - 1) - place[0] for place in places]
    shift = math.fsum(w * d for w, d in zip(weights, differences, strict=True)) / math.fsum(weights)
    return math.fsum(_sum_of_squares((place[0], *(v - shift for v in place[1:]))) for place in places)


def sd_interval(sd: float, degrees: int) -> tuple[float, float]:
    """The interval of 95 per cent of a standard deviation with these degrees of freedom, by chi-square."""
    tail = (1 - LEVEL) / 2
    return (
        sd * math.sqrt(degrees / chi_square_quantile(1 - tail, degrees)),
        sd * math.sqrt(degrees / chi_square_quantile(tail, degrees)),
    )


def chi_square_share(x: float, degrees: int) -> float:
    """The share of the chi-square distribution up to `x`, for `degrees` of freedom of at least 1."""
    if x <= 0:
        return 0.0
    half = x / 2
    if degrees % 2:
        above = math.erfc(math.sqrt(half))
        first, terms = 0.5, (degrees - 1) // 2
    else:
        above = math.exp(-half)
        first, terms = 1.0, degrees // 2 - 1
    for n in range(terms):
        power = first + n
        above += math.exp(power * math.log(half) - half - math.lgamma(power + 1))
    return 1 - min(above, 1.0)


@cache
def chi_square_quantile(share: float, degrees: int) -> float:
    """The x up to which lies this share (over 0, under 1) of the chi-square distribution."""
    if not 0 < share < 1 or degrees < 1:
        raise ValueError("a share between 0 and 1 and at least 1 degree of freedom are needed")
    low, high = 0.0, float(degrees)
    while chi_square_share(high, degrees) < share:
        high *= 2
    for _ in range(80):
        middle = (low + high) / 2
        low, high = (middle, high) if chi_square_share(middle, degrees) < share else (low, middle)
    return (low + high) / 2
