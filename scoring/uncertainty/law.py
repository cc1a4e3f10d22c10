"""Chances of a whole number of small units: how totals and categories are told.  Pure."""

from collections.abc import Iterable, Mapping
from dataclasses import dataclass
from decimal import Decimal
from functools import cached_property

import numpy as np

from scoring.shapes import plain
from scoring.uncertainty.normal import Floats


@dataclass(frozen=True, eq=False)
class Distribution:
    """Chances of values `(first + k) × unit`, which sum to 1 and are never negative."""

    first: int
    chances: Floats
    unit: Decimal = Decimal(1)

    def __post_init__(self) -> None:
        if not len(self.chances) or self.chances.min() < 0 or abs(self.chances.sum() - 1) > 1e-9:
            raise ValueError("chances must be 0 or more and sum to 1")

    @cached_property
    def values(self) -> tuple[Decimal, ...]:
        return tuple((self.first + k) * self.unit for k in range(len(self.chances)))

    @cached_property
    def probabilities(self) -> Mapping[Decimal, float]:
        """Every value that can be, with its chance, from the smallest on."""
        return {v: float(p) for v, p in zip(self.values, self.chances, strict=True) if p > 0}

    def at_least(self, value: Decimal | int | str) -> float:
        """The chance of this value or more, summed from the small end."""
        wanted = Decimal(value)
        most = sum(p for v, p in self.probabilities.items() if v < wanted)
        tail = self._summed(p for v, p in self.probabilities.items() if v >= wanted)
        return (
            tail if tail <= most else 1 - self._summed(p for v, p in self.probabilities.items() if v < wanted)
        )

    def at_most(self, value: Decimal | int | str) -> float:
        """The chance of this value or less."""
        wanted = Decimal(value)
        return self._summed(p for v, p in self.probabilities.items() if v <= wanted)

    @staticmethod
    def _summed(chances: Iterable[float]) -> float:
        """Smallest first, so that small ones are not lost among large ones."""
        return min(float(sum(sorted(chances))), 1.0)

    def quantile(self, share: float) -> Decimal:
        """The smallest value up to which at least this share lies."""
        reached = np.cumsum(self.chances)
        k = int(np.searchsorted(reached, share * reached[-1] - 1e-12))
        return self.values[min(k, len(self.values) - 1)]

    def central(self, share: float = 0.9) -> tuple[Decimal, Decimal]:
        """The range between the tails of (1 − share)/2 on either side: from 5 to 95 per cent by default."""
        tail = (1 - share) / 2
        return self.quantile(tail), self.quantile(1 - tail)

    @property
    def median(self) -> Decimal:
        return self.quantile(0.5)

    @cached_property
    def mean(self) -> float:
        return float(np.dot([float(v) for v in self.values], self.chances))

    @cached_property
    def sd(self) -> float:
        away = np.array([float(v) for v in self.values]) - self.mean
        return float(np.sqrt(np.dot(away * away, self.chances)))

    def printed(self, least: float = 5e-7) -> list[list[str]]:
        """Pairs of value and chance to six decimals; what prints as 0 is left out."""
        return [[plain(v), f"{p:.6f}"] for v, p in self.probabilities.items() if p >= least]


def percent(chance: float) -> str:
    """Whole per cent; never 0 or 100, for no error is known that well: `< 1 %`, `> 99 %`."""
    if chance < 0.01:
        return "< 1 %"
    if chance > 0.99:
        return "> 99 %"
    return f"{chance * 100:.0f} %"
