"""Findings of many sheets that a few rows read alike, worked out together.  Pure.

A mould is what rows make of findings whatever the size of their numbers: parts, blocks and, for every reading, the
finding that it comes from.  Cases of one mould differ in laws alone, so every block of it runs once over all of them.
"""

from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass
from decimal import Decimal

import numpy as np
import numpy.typing as npt

from scoring.shapes import ZERO, Value
from scoring.uncertainty.folding import Block
from scoring.uncertainty.normal import Floats
from scoring.uncertainty.parts import union
from scoring.uncertainty.reading import CUT_AT_ZERO, Cells, Law, Reading, all_cells
from scoring.uncertainty.walks import Walk, walk

Kind = tuple[Law, float]
"""A law, and what one deviation of the examiner's offset adds to it."""
Indices = npt.NDArray[np.intp]
MOST_AT_ONCE = 300_000
"""Numbers that one step holds at most, so that they stay near the processor."""


@dataclass(frozen=True, eq=False)
class Batch:
    """Chances of `first`, `first + 1`, … small units: values × cases × nodes; one case or node stands for all."""

    first: int
    chances: Floats

    @property
    def moves(self) -> bool:
        """Whether the examiner's offset moves it."""
        return bool(self.chances.shape[2] > 1)

    def plus(self, other: "Batch") -> "Batch":
        """The sum of two that are independent at every node of every case."""
        a, b = (self, other) if len(self.chances) >= len(other.chances) else (other, self)
        size = len(a.chances)
        shape = np.broadcast_shapes(a.chances.shape[1:], b.chances.shape[1:])
        found = np.zeros((size + len(b.chances) - 1, *shape))
        for k, chances in enumerate(b.chances):
            found[k : k + size] += a.chances * chances
        return Batch(a.first + b.first, found)

    def of(self, cases: Indices) -> "Batch":
        """Some of the cases, in the order asked for."""
        return self if self.chances.shape[1] == 1 else Batch(self.first, self.chances[:, cases])

    def over(self, weights: Floats) -> "Batch":
        """The nodes averaged."""
        return Batch(self.first, (self.chances @ weights)[:, :, None]) if self.moves else self


@dataclass(frozen=True)
class Slot:
    """Where the law of a reading comes from: a place among the findings of a case, or always the same."""

    finding: int | None
    always: int
    """The number of the kind where no finding tells it."""


@dataclass(frozen=True, eq=False)
class Ready:
    """A block with its walk and the chances of its readings by combination of laws; `combination` of each case."""

    walk: Walk
    columns: tuple[tuple[Floats, Indices], ...]
    """For each reading chances (pieces × laws × nodes), and which law each combination has."""
    combination: Indices

    def batch(self, decimals: int) -> Batch:
        """What the block comes to by combination of laws, in units of so many decimals."""
        combinations = int(self.combination.max()) + 1
        nodes = max((chances.shape[2] for chances, _ in self.columns), default=1)
        most = max((len(stride.moves) for stride in self.walk.strides), default=1)
        size = max(1, MOST_AT_ONCE // (nodes * most))
        found = []
        for start in range(0, combinations, size):
            here = [chances[:, law[start : start + size]] for chances, law in self.columns]
            first, chances = self.walk.run(here, decimals)
            found.append(chances)
        together = found[0] if len(found) == 1 else np.concatenate(found, axis=1)
        return Batch(first, together)


@dataclass(frozen=True)
class Mould:
    """Blocks with the slots of their readings; `weights` by category, `nodes` of the examiner's offset."""

    blocks: tuple[Block, ...]
    slots: tuple[tuple[Slot, ...], ...]
    weights: Mapping[str, Decimal]
    nodes: Floats

    def run(self, kinds: Sequence[Kind], cases: Sequence[Sequence[int]]) -> tuple[Ready, ...]:
        """Every block for all cases; a case is the kind of each of its findings, by number."""
        return tuple(
            self._ready(block, slots, kinds, cases)
            for block, slots in zip(self.blocks, self.slots, strict=True)
        )

    def _ready(
        self, block: Block, slots: tuple[Slot, ...], kinds: Sequence[Kind], cases: Sequence[Sequence[int]]
    ) -> Ready:
        combinations: dict[tuple[int, ...], int] = {}
        combination = [
            combinations.setdefault(
                tuple([slot.always if slot.finding is None else case[slot.finding] for slot in slots]),
                len(combinations),
            )
            for case in cases
        ]
        tables = [self._table(block, n, kinds, [one[n] for one in combinations]) for n in range(len(slots))]
        made = walk(block, [values for values, _, _ in tables], self._weigh)
        columns = tuple((chances, law) for _, chances, law in tables)
        return Ready(made, columns, np.array(combination))

    def _weigh(self, category: str, points: Decimal) -> Decimal:
        return points * self.weights.get(category, Decimal(1))

    def _table(
        self, block: Block, number: int, kinds: Sequence[Kind], wanted: Sequence[int]
    ) -> tuple[tuple[Value, ...], Floats, Indices]:
        """One reading of a block: its pieces, their chances (pieces × laws × nodes), the law of each combination."""
        once = {kind: n for n, kind in enumerate(dict.fromkeys(wanted))}
        place = block.reads[number]
        told = [kinds[kind] for kind in once]
        cuts = union(*(block.cuts_of(Reading(place, ZERO, law, offset=offset)) for law, offset in told))
        if all(law.shape == "code" for law, _ in told):
            return *_codes([law for law, _ in told]), np.array([once[kind] for kind in wanted])
        if any(law.shape in CUT_AT_ZERO for law, _ in told):
            cuts = union(cuts, (ZERO,))
        laws = [
            all_cells(law, cuts, tuple((offset * self.nodes).tolist()) if offset else (0.0,))
            for law, offset in told
        ]
        values, chances = _side_by_side(laws)
        possible = np.flatnonzero(chances.any(axis=(1, 2)))
        law_of_each = np.array([once[kind] for kind in wanted])
        return tuple(values[k] for k in possible), chances[possible], law_of_each


def _codes(laws: Sequence[Law]) -> tuple[tuple[Value, ...], Floats]:
    """The same of codes."""
    where = {code: k for k, code in enumerate(dict.fromkeys(code for law in laws for code, _ in law.codes))}
    chances = np.zeros((len(where), len(laws), 1))
    for n, law in enumerate(laws):
        for code, chance in law.codes:
            chances[where[code], n] = chance
    return tuple(where), chances


def _side_by_side(laws: Sequence[Cells]) -> tuple[tuple[Value, ...], Floats]:
    """Pieces of all laws with their chances (pieces × laws × nodes); some laws have a piece of exactly 0 at the end."""
    values = max((one.values for one in laws), key=len)
    nodes = max(len(one.chances) for one in laws)
    chances = np.zeros((len(values), len(laws), nodes))
    for n, one in enumerate(laws):
        assert one.values == values[: len(one.values)]
        chances[: len(one.values), n] = one.chances.T
    return values, chances


def summed(batches: Iterable[Batch]) -> Batch:
    """The sum of several, what no offset touches first, then the narrowest first."""
    listed = sorted(batches, key=lambda one: (one.moves, len(one.chances)))
    total = Batch(0, np.ones((1, 1, 1)))
    for one in listed:
        total = total.plus(one)
    return total
