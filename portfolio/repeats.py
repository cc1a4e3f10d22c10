"""What pairs of repeated measurements tell of one reader: random error, bias, and the limits of both.  Pure.

A difference is second minus first, in the unit of the measurement.  Random error and bias are told apart, as Houston
asks: Dahlberg's figure holds both (its square is the variance of one measurement plus half the squared bias), the
bias-free one only the first.

Sources: Dahlberg G, Statistical methods for medical and biological students, 1940 (formula from memory); Houston WJB,
The analysis of errors in orthodontic measurements, Am J Orthod 1983;83:382-390 (abstract read); Student's
distribution for whole degrees of freedom: Abramowitz and Stegun, Handbook of mathematical functions, 26.7.3 and 26.7.4
(from memory, held against printed tables).
"""

import math
from collections.abc import Sequence
from dataclasses import dataclass
from functools import cache

FEWEST_PAIRS_USED = 20
"""From so many pairs on a reader's own error replaces the default (choice: by the chi-square interval of 95 per cent the
true error then lies between 0.76 and 1.44 of the one found)."""
FEWEST_PAIRS_TOLD = 2
LEVEL = 0.95


@dataclass(frozen=True, slots=True)
class PairStatistics:
    """Of `pairs` pairs: Dahlberg's error of one measurement, the same without bias, and the bias with its interval.

    `bias` is the mean of second minus first; `bias_low` and `bias_high` bound it at 95 per cent (Student).  All in
    the unit of the measurement.
    """

    pairs: int
    dahlberg: float
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


def dahlberg(differences: Sequence[float]) -> float:
    """The error of one measurement, √(Σd²/2n); ValueError for no pairs."""
    if not differences:
        raise ValueError("Dahlberg's error needs pairs")
    return math.sqrt(sum(d * d for d in differences) / (2 * len(differences)))


def pair_statistics(differences: Sequence[float]) -> PairStatistics | None:
    """Everything told of these differences; None for fewer than two pairs."""
    pairs = len(differences)
    if pairs < FEWEST_PAIRS_TOLD:
        return None
    bias = math.fsum(differences) / pairs
    spread = math.sqrt(math.fsum((d - bias) ** 2 for d in differences) / (pairs - 1))
    half = student_quantile(LEVEL, pairs - 1) * spread / math.sqrt(pairs)
    return PairStatistics(pairs, dahlberg(differences), spread / math.sqrt(2), bias, bias - half, bias + half)


def student_share(t: float, degrees: int) -> float:
    """The share of Student's distribution within ± t, for `degrees` of freedom of at least 1."""
    angle = math.atan(abs(t) / math.sqrt(degrees))
    sine, cosine = math.sin(angle), math.cos(angle)
    if degrees % 2:
        terms, term = 0.0, cosine
        for n in range(1, degrees - 1, 2):
            terms += term
            term *= cosine * cosine * (n + 1) / (n + 2)
        return 2 / math.pi * (angle + sine * terms)
    terms, term = 0.0, 1.0
    for n in range(0, degrees - 1, 2):
        terms += term
        term *= cosine * cosine * (n + 1) / (n + 2)
    return sine * terms


@cache
def student_quantile(level: float, degrees: int) -> float:
    """The t within whose ± lies the share `level` (0 to under 1) of Student's distribution."""
    if not 0 <= level < 1 or degrees < 1:
        raise ValueError("a level from 0 to under 1 and at least 1 degree of freedom are needed")
    low, high = 0.0, 1.0
    while student_share(high, degrees) < level:
        high *= 2
    for _ in range(80):
        middle = (low + high) / 2
        low, high = (middle, high) if student_share(middle, degrees) < level else (low, middle)
    return (low + high) / 2
