"""Findings of many sheets that a few rows read alike, worked out together.  Pure.

A mould is what rows make of findings whatever the size of their numbers: parts, blocks and, for every reading, the
finding that it comes from.  Cases of one mould differ in laws alone, so every block of it runs once over all of them.
"""

from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass
from decimal import Decimal

import numpy as np
import numpy.typing as npt

from scoring.shapes import ZERO
from scoring.uncertainty.dense import digits
from scoring.uncertainty.folding import Block
from scoring.uncertainty.normal import Floats
from scoring.uncertainty.parts import union
from scoring.uncertainty.program import added, kept_program
from scoring.uncertainty.reading import Law, Reading, all_cells

Kind = tuple[Law, float]
"""A law, and what one deviation of the examiner's offset adds to it."""
Indices = npt.NDArray[np.intp]
MOST_AT_ONCE = 500_000
"""Numbers that one step holds at most, so that they stay near the processor."""


@dataclass(frozen=True, eq=False)
class Batch:
    """Chances of `first`, `first + 1`, … small units: cases × nodes × values; one case or node stands for all."""

    first: int
    chances: Floats

    def plus(self, other: "Batch") -> "Batch":
        """The sum of two that are independent at every node of every case."""
        a, b = (self, other) if self.chances.shape[2] >= other.chances.shape[2] else (other, self)
        width, size = b.chances.shape[2], a.chances.shape[2]
        cases, nodes = np.broadcast_shapes(a.chances.shape[:2], b.chances.shape[:2])
        found = np.zeros((cases, nodes, size + width - 1))
        for k in range(width):
            found[:, :, k : k + size] += a.chances * b.chances[:, :, k : k + 1]
        return Batch(a.first + b.first, found)

    def of(self, cases: Indices) -> "Batch":
        """Some of the cases, in the order asked for."""
        return self if len(self.chances) == 1 else Batch(self.first, self.chances[cases])


@dataclass(frozen=True, eq=False)
class Ends:
    """What a block came to: weighted points, and their chances (ends × combinations × nodes) by combination of laws.

    `combination` tells which one each case has.
    """

    points: tuple[Decimal, ...]
    chances: Floats
    combination: Indices

    @property
    def decimals(self) -> int:
        return max(map(digits, self.points), default=0)

    def batch(self, decimals: int) -> Batch:
        """In units of so many decimals."""
        counts = [int(points.scaleb(decimals)) for points in self.points]
        first = min(counts)
        found = np.zeros((*self.chances.shape[1:], max(counts) - first + 1))
        for count, chances in zip(counts, self.chances, strict=True):
            found[:, :, count - first] += chances
        return Batch(first, found).of(self.combination)


@dataclass(frozen=True)
class Slot:
    """Where the law of a reading comes from: a place among the findings of a case, or always the same."""

    finding: int | None
    always: int
    """The number of the kind where no finding tells it."""


@dataclass(frozen=True)
class Mould:
    """Blocks with the slots of their readings; `weights` by category, `nodes` of the examiner's offset."""

    blocks: tuple[Block, ...]
    slots: tuple[tuple[Slot, ...], ...]
    weights: Mapping[str, Decimal]
    nodes: Floats

    def run(self, kinds: Sequence[Kind], cases: Sequence[Sequence[int]]) -> tuple[Ends, ...]:
        """Every block for all cases; a case is the kind of each of its findings, by number."""
        return tuple(
            self._run(block, slots, kinds, cases)
            for block, slots in zip(self.blocks, self.slots, strict=True)
        )

    def _run(
        self, block: Block, slots: tuple[Slot, ...], kinds: Sequence[Kind], cases: Sequence[Sequence[int]]
    ) -> Ends:
        combinations: dict[tuple[int, ...], int] = {}
        which = [
            combinations.setdefault(
                tuple(slot.always if slot.finding is None else case[slot.finding] for slot in slots),
                len(combinations),
            )
            for case in cases
        ]
        told = list(combinations)
        tables = [self._table(block, n, [kinds[one[n]] for one in told]) for n in range(len(slots))]
        made = kept_program(block.key, block, tuple(values for values, _, _ in tables), added)
        each = max((len(step.from_state) for step in made.steps), default=1) * len(self.nodes)
        size = max(1, MOST_AT_ONCE // each)
        found = [
            made.run([chances[:, which_law[start : start + size]] for _, chances, which_law in tables])
            for start in range(0, len(told), size)
        ]
        chances = found[0] if len(found) == 1 else np.concatenate(found, axis=1)
        weights = [self.weights.get(category, Decimal(1)) for category in block.categories]
        points = tuple(sum((p * w for p, w in zip(end, weights, strict=True)), ZERO) for end in made.ends)
        if not tables:
            chances = chances.reshape(-1, 1, 1)
        return Ends(points, chances, np.array(which))

    def _table(
        self, block: Block, number: int, kinds: Sequence[Kind]
    ) -> tuple[tuple[Decimal | str, ...], Floats, Indices]:
        """One reading of a block: its pieces, their chances (pieces × laws × nodes), the law of each combination."""
        once = {kind: n for n, kind in enumerate(dict.fromkeys(kinds))}
        place = block.reads[number]
        cuts = union(*(block.cuts_of(Reading(place, ZERO, law, offset=offset)) for law, offset in once))
        laws = [
            all_cells(law, cuts, tuple((offset * self.nodes).tolist()) if offset else (0.0,))
            for law, offset in once
        ]
        rows = max(len(one.chances) for one in laws)
        table = np.stack([np.broadcast_to(one.chances, (rows, one.chances.shape[1])) for one in laws])
        possible = np.flatnonzero(table.any(axis=(0, 1)))
        values = tuple(laws[0].values[k] for k in possible)
        return values, np.moveaxis(table[:, :, possible], 2, 0), np.array([once[kind] for kind in kinds])


def summed(batches: Iterable[Batch]) -> Batch:
    """The sum of several, what no offset touches first, then the narrowest first."""
    listed = sorted(batches, key=lambda one: (one.chances.shape[1] > 1, one.chances[0].size))
    total = Batch(0, np.ones((1, 1, 1)))
    for one in listed:
        total = total.plus(one)
    return total
