"""Chances of whole numbers of small units at every node, and how several are added.  Pure.

All sums are of products of chances, so nothing is lost: no Fourier transform, no subtraction.
"""

from collections import Counter
from collections.abc import Callable, Hashable, Iterable, Mapping
from dataclasses import dataclass
from decimal import Decimal
from functools import cached_property, reduce

import numpy as np

from scoring.uncertainty.normal import Floats
from scoring.uncertainty.program import Points

Chances = Mapping[Points, Floats]
MOST_KEPT = 5_000


@dataclass(frozen=True)
class Unit:
    """The small unit in which points are counted, so that all are whole."""

    size: Decimal

    def count(self, points: Decimal) -> int:
        return int(points / self.size)


@dataclass(frozen=True, eq=False)
class Dense:
    """Chances at every node (rows) of `first`, `first + 1`, … small units."""

    first: int
    chances: Floats

    def plus(self, other: "Dense") -> "Dense":
        """The sum of two that are independent at every node."""
        a, b = (self, other) if self.chances.shape[1] >= other.chances.shape[1] else (other, self)
        first = a.first + b.first
        if b.chances.shape[1] == 1:
            return Dense(first, a.chances * b.chances)
        if len(a.chances) == len(b.chances) == 1:
            return Dense(first, np.convolve(a.chances[0], b.chances[0])[None, :])
        return Dense(first, convolved(a.chances, b.chances))

    @cached_property
    def _tails(self) -> Floats:
        """Chances of each count or more, and of more than can be."""
        reached = np.cumsum(self.chances[:, ::-1], axis=1)[:, ::-1]
        return np.hstack([reached, np.zeros((len(reached), 1))])

    def at_least(self, wanted: int, fewer: int) -> Floats:
        """At every node the mass of `wanted` units or more, of 1 less, … up to `fewer` values (values × nodes)."""
        tails = self._tails
        where = np.clip(wanted - self.first - np.arange(fewer), 0, tails.shape[1] - 1)
        found: Floats = tails.T[where]
        return found

    def finer(self, times: int) -> "Dense":
        """The same in units that are so many times smaller."""
        if times == 1:
            return self
        found = np.zeros((len(self.chances), (self.chances.shape[1] - 1) * times + 1))
        found[:, ::times] = self.chances
        return Dense(self.first * times, found)


NOTHING = Dense(0, np.ones((1, 1)))


def convolved(wide: Floats, narrow: Floats) -> Floats:
    """Row by row the convolution of two arrays (rows × values, or × 1 row), exact but for rounding."""
    width = narrow.shape[1]
    size = wide.shape[1] + width - 1
    padded = np.zeros((len(wide), size + width - 1))
    padded[:, width - 1 : width - 1 + wide.shape[1]] = wide
    row, one = padded.strides
    windows = np.lib.stride_tricks.as_strided(
        padded, (len(wide), size, width), (row, one, one), writeable=False
    )
    found: Floats = np.einsum("now,nw->no", windows, narrow[:, ::-1])
    return found


def dense(law: Chances, told: Callable[[Points], Decimal], unit: Unit) -> Dense:
    """The chances of one number told by points."""
    counts = [unit.count(told(points)) for points in law]
    first, last = min(counts), max(counts)
    rows = max(len(chance) for chance in law.values())
    found = np.zeros((rows, last - first + 1))
    for count, chance in zip(counts, law.values(), strict=True):
        found[:, count - first] += chance
    return Dense(first, found)


_DENSES: dict[tuple[int, Hashable], tuple[Chances, Dense]] = {}


def dense_once(law: Chances, key: Hashable, told: Callable[[Points], Decimal], unit: Unit) -> Dense:
    """The same as `dense`, worked out once for a law and a key of what is told by it."""
    found = _DENSES.get((id(law), key))
    if found is None:
        if len(_DENSES) >= MOST_KEPT:
            _DENSES.clear()
        found = _DENSES[id(law), key] = law, dense(law, told, unit)
    return found[1]


_POWERS: dict[tuple[int, int], tuple[Dense, Dense]] = {}


def _times(one: Dense, count: int) -> Dense:
    """The sum of so many alike, kept while the one is kept."""
    if count == 1:
        return one
    found = _POWERS.get((id(one), count))
    if found is None:
        if len(_POWERS) >= MOST_KEPT:
            _POWERS.clear()
        half = _times(one, count // 2)
        whole = half.plus(half)
        found = _POWERS[id(one), count] = one, whole.plus(one) if count % 2 else whole
    return found[1]


def summed(many: Iterable[Dense]) -> Dense:
    """The sum of several, the narrowest first; those that are one and the same object are taken together."""
    listed = list(many)
    if len(listed) == 1:
        return listed[0]
    alike = Counter(id(one) for one in listed)
    once = {id(one): one for one in listed}
    ordered = sorted((_times(once[key], n) for key, n in alike.items()), key=lambda one: one.chances.shape[1])
    return reduce(Dense.plus, ordered) if ordered else NOTHING


def averaged(one: Dense, weights: Floats) -> Dense:
    """The inner nodes (a cluster's, weighed so) averaged, the outer ones (the examiner's) kept."""
    inner = len(weights)
    if inner == 1 or len(one.chances) == 1:
        return one
    rows = one.chances.reshape(-1, inner, one.chances.shape[1])
    return Dense(one.first, np.einsum("nik,i->nk", rows, weights))


def greatest(many: Iterable[Dense]) -> Dense:
    """The greatest of several that are independent at every node, and at least 0."""
    listed = list(many)
    last = max((one.first + one.chances.shape[1] - 1 for one in listed), default=0)
    reached = np.ones((1, last + 1))
    for one in listed:
        wide = np.zeros((one.chances.shape[0], last + 1))
        for k in range(one.chances.shape[1]):
            wide[:, max(one.first + k, 0)] += one.chances[:, k]
        reached = reached * np.cumsum(wide, axis=1)
    return Dense(0, np.maximum(np.diff(reached, axis=1, prepend=0.0), 0.0))


_DIGITS: dict[tuple[int, tuple[Decimal, ...]], tuple[Chances, int]] = {}


def digits_of(law: Chances, weights: tuple[Decimal, ...]) -> int:
    """How many decimals the weighted points of a law need, worked out once."""
    found = _DIGITS.get((id(law), weights))
    if found is None:
        if len(_DIGITS) >= MOST_KEPT:
            _DIGITS.clear()
        points = (one * weight for key in law for one, weight in zip(key, weights, strict=True))
        found = _DIGITS[id(law), weights] = law, max(map(digits, points), default=0)
    return found[1]


def digits(points: Decimal) -> int:
    """Decimals after the point that are not 0 at the end."""
    exponent = points.normalize().as_tuple().exponent
    assert isinstance(exponent, int)
    return max(0, -exponent)


def unit_of(decimals: int) -> Unit:
    """The unit in which points of so many decimals are whole."""
    return Unit(Decimal(1).scaleb(-decimals))
