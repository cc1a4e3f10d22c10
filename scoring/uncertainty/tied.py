"""Two or three numbers that share causes, each read by a block of its own: chances of what they score together.  Pure."""

from collections.abc import Sequence
from dataclasses import dataclass
from decimal import Decimal

import numpy as np
import numpy.typing as npt

from scoring.shapes import Value
from scoring.uncertainty.dense import Dense, Unit, digits
from scoring.uncertainty.folding import Block, points_of
from scoring.uncertainty.normal import Floats
from scoring.uncertainty.reading import Cuts, between

Counts = npt.NDArray[np.int64]


@dataclass(frozen=True, eq=False)
class Boxes:
    """Chances of the boxes of pieces (an axis for each number), with values and points of every piece by axis."""

    values: tuple[tuple[Value, ...], ...]
    points: tuple[tuple[Decimal, ...], ...]
    chances: Floats

    def decimals(self, weights: Sequence[Decimal]) -> int:
        """Decimals that the weighted points need to be whole."""
        return max(digits(p * w) for points, w in zip(self.points, weights, strict=True) for p in points)

    def dense(self, weights: Sequence[Decimal], unit: Unit) -> Dense:
        """The weighted sum."""
        return _added(self._counts(weights, unit), self.chances)

    def by_piece(self, axis: int, weights: Sequence[Decimal], unit: Unit) -> list[Dense]:
        """The same apart for every piece of one number, each with the chance of that piece as its mass."""
        counts = self._counts(weights, unit)
        found = []
        for k, here in enumerate(np.moveaxis(self.chances, axis, 0)):
            others = [count for n, count in enumerate(counts) if n != axis]
            one = _added(others, here)
            found.append(Dense(one.first + int(counts[axis][k]), one.chances))
        return found

    def _counts(self, weights: Sequence[Decimal], unit: Unit) -> list[Counts]:
        pairs = zip(self.points, weights, strict=True)
        return [np.array([unit.count(p * w) for p in points], dtype=np.int64) for points, w in pairs]


def boxes_of(blocks: Sequence[Block], cuts: Sequence[Cuts], chances: Floats) -> Boxes:
    """The boxes of blocks with one reading and one category each."""
    values = tuple(between(one) for one in cuts)
    points = tuple(
        tuple(points_of(block, (value,))[0] for value in told)
        for block, told in zip(blocks, values, strict=True)
    )
    return Boxes(values, points, chances)


def _added(counts: Sequence[Counts], chances: Floats) -> Dense:
    total: Counts = np.zeros((1,) * chances.ndim, dtype=np.int64)
    for axis, one in enumerate(counts):
        shape = [1] * chances.ndim
        shape[axis] = len(one)
        total = total + one.reshape(shape)
    first = int(total.min())
    found: Floats = np.bincount((total - first).ravel(), chances.ravel()).astype(float)
    return Dense(first, found[None, :])
