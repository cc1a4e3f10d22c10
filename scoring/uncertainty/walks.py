"""What a block comes to in all, for many cases at once: states of open parts, and points along an axis.  Pure.

As a program (`program`), but points of closed parts are counted in small units instead of kept by category, so that
there are few states however many points there can be.
"""

from collections.abc import Callable, Hashable, Mapping, Sequence
from dataclasses import dataclass
from decimal import Decimal

import numpy as np

from scoring.shapes import ZERO, Value
from scoring.uncertainty.dense import digits
from scoring.uncertainty.normal import Floats
from scoring.uncertainty.program import Layout

ONE = Decimal(1)
Weigh = Callable[[str, Decimal], Decimal]
"""Weighted points of a category."""


@dataclass(frozen=True, eq=False)
class Stride:
    """What one reading does: from an open state to another with points more, by any of some pieces."""

    states: int
    """States afterwards."""
    moves: tuple[tuple[int, int, Decimal, tuple[int, ...]], ...]


@dataclass(frozen=True, eq=False)
class Walk:
    """The strides of a block, and the points of parts without readings."""

    strides: tuple[Stride, ...]
    beginning: Decimal

    @property
    def decimals(self) -> int:
        """Decimals that all points need to be whole."""
        every = [points for stride in self.strides for _, _, points, _ in stride.moves]
        return max(map(digits, (*every, self.beginning)))

    def run(self, columns: Sequence[Floats], decimals: int) -> tuple[int, Floats]:
        """The first count and the chances (counts × cases × nodes) from those of pieces (pieces × cases × nodes)."""
        first = int(self.beginning.scaleb(decimals))
        states = [np.ones((1, 1, 1))]
        for stride, chances in zip(self.strides, columns, strict=True):
            shifts = [int(points.scaleb(decimals)) for _, _, points, _ in stride.moves]
            low = min(shifts)
            size = len(states[0]) + max(shifts) - low
            shape = np.broadcast_shapes(states[0].shape[1:], chances.shape[1:])
            after = [np.zeros((size, *shape)) for _ in range(stride.states)]
            sums: dict[tuple[int, ...], Floats] = {}
            for (before, to, _, pieces), shift in zip(stride.moves, shifts, strict=True):
                if pieces not in sums:
                    sums[pieces] = (
                        chances[pieces[0]] if len(pieces) == 1 else chances[list(pieces)].sum(axis=0)
                    )
                here = states[before]
                after[to][shift - low : shift - low + len(here)] += here * sums[pieces]
            first, states = first + low, after
        return first, states[0]


def walk(layout: Layout, values: Sequence[tuple[Value, ...]], weigh: Weigh) -> Walk:
    """The walk of a layout whose readings have these pieces."""
    last = {
        n: max(layout.reads.index(p) for p in part.reads) for n, part in enumerate(layout.parts) if part.reads
    }
    beginning = sum(
        (weigh(part.category, part.end(part.start)) for part in layout.parts if not part.reads), ZERO
    )
    states: dict[tuple[Hashable, ...], int] = {
        tuple(part.start if part.reads else None for part in layout.parts): 0
    }
    strides = []
    for index, (place, pieces) in enumerate(zip(layout.reads, values, strict=True)):
        readers = [(n, p.reads.index(place)) for n, p in enumerate(layout.parts) if place in p.reads]
        after: dict[tuple[Hashable, ...], int] = {}
        moves: dict[tuple[int, int, Decimal], list[int]] = {}
        for waiting, number in states.items():
            for k, value in enumerate(pieces):
                moved, points = list(waiting), ZERO
                for n, position in readers:
                    part = layout.parts[n]
                    state = part.step(moved[n], position, value)
                    if last[n] == index:
                        points, state = points + weigh(part.category, part.end(state)), None
                    moved[n] = state
                to = after.setdefault(tuple(moved), len(after))
                moves.setdefault((number, to, points), []).append(k)
        strides.append(Stride(len(after), tuple((*move, tuple(ks)) for move, ks in moves.items())))
        states = after
    return Walk(tuple(strides), beginning)


MOST_KEPT = 4_000
_WALKS: dict[Hashable, Walk] = {}


def kept_walk(
    key: Hashable, layout: Layout, values: tuple[tuple[Value, ...], ...], weights: Mapping[str, Decimal]
) -> Walk:
    """The walk of parts that a key tells from all others, worked out once; without a key (None) every time."""
    weighed = tuple(weights.get(category, ONE) for category in layout.categories)
    named = key, values, weighed
    found = _WALKS.get(named) if key is not None else None
    if found is None:
        found = walk(layout, values, lambda category, points: points * weights.get(category, ONE))
        if len(_WALKS) >= MOST_KEPT:
            _WALKS.clear()
        if key is not None:
            _WALKS[named] = found
    return found


def given_each(columns: Sequence[Floats]) -> list[Floats]:
    """Columns (pieces × nodes) as those of cases in each of which one reading is known: piece after piece of each.

    All cases run at once then tell what a block comes to given every piece of every reading.
    """
    cases = sum(len(one) for one in columns)
    found, start = [], 0
    for one in columns:
        told = np.repeat(one[:, None, :], cases, axis=1)
        told[:, start : start + len(one)] = np.eye(len(one))[:, :, None]
        found.append(told)
        start += len(one)
    return found
