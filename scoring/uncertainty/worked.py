"""A sheet taken apart into clusters of blocks, and put together again to a total or a category.  Pure."""

from collections.abc import Hashable, Iterable, Mapping, Sequence
from dataclasses import dataclass, replace
from decimal import Decimal
from functools import lru_cache

import numpy as np

from scoring.uncertainty.folding import Block, blocks, fold
from scoring.uncertainty.model import Place
from scoring.uncertainty.normal import Floats
from scoring.uncertainty.parts import Part
from scoring.uncertainty.program import Join, Points, added
from scoring.uncertainty.reading import Cells, Derived, Law, Reading, all_cells, cells
from scoring.uncertainty.shared import ALONE, MOST_EXACT, Grid, covariance, factors, together
from scoring.uncertainty.tied import Boxes, boxes_of

Chances = dict[Points, Floats]
MOST_KEPT = 5_000
_KEPT_LAWS: dict[Hashable, Chances] = {}


@dataclass(frozen=True)
class Cluster:
    """Blocks that share causes beyond the examiner's offset; `exact` ones are two or three plain numbers."""

    blocks: tuple[Block, ...]
    grid: Grid = ALONE
    exact: bool = False


@dataclass(frozen=True)
class Worked:
    """All parts of a sheet: readings by place, clusters, nodes of the examiner's offset with their weights."""

    readings: Mapping[Place, Reading]
    clusters: tuple[Cluster, ...]
    nodes: Floats
    weights: Floats
    join: Join = added
    """How points of parts come together: added, or the greatest of them."""

    def shifts(self, reading: Reading, grid: Grid) -> Floats:
        """How a reading is moved at every node: offset nodes × nodes of the cluster, flat."""
        inner = grid.shifts.get(reading.place)
        if not reading.offset:
            return np.zeros(1) if inner is None else np.tile(inner, len(self.nodes))
        outer = reading.offset * self.nodes
        if inner is None and len(grid.weights) == 1:
            return outer
        both = outer[:, None] + (np.zeros(len(grid.weights)) if inner is None else inner)[None, :]
        return both.ravel()

    def cells(self, reading: Reading, cuts: tuple[Decimal, ...], grid: Grid) -> Cells:
        """Pieces and chances of one reading at every node."""
        if reading.derived is not None:
            laws = tuple(_widened(one, grid).law for one in reading.made_of)
            moved = [self.shifts(one, grid) for one in reading.made_of]
            return _derived_cells(reading.derived, laws, tuple(tuple(one.tolist()) for one in moved))
        if reading.law.shape in ("certain", "code"):
            return cells(reading.law, ())
        law = _widened(reading, grid).law
        return cells(law, cuts, tuple(self.shifts(reading, grid).tolist()))

    def block_cells(self, block: Block, grid: Grid) -> list[Cells]:
        return [
            self.cells(self.readings[p], cuts, grid) for p, cuts in zip(block.reads, block.cuts, strict=True)
        ]

    def whole_cells(self, block: Block) -> list[Cells]:
        """The same of a block that shares no cause but the offset, with pieces that cannot be."""
        pairs = zip(block.readings, block.cuts, strict=True)
        return [all_cells(r.law, cuts, tuple(self.shifts(r, ALONE).tolist())) for r, cuts in pairs]

    def block_law(self, block: Block, grid: Grid) -> Chances:
        """Points of a block by category with chances at every node; kept where its parts can be told apart."""
        key = self._key(block) if grid is ALONE else None
        if key is None:
            return fold(block, self.block_cells(block, grid), self.join)
        found = _KEPT_LAWS.get(key)
        if found is None:
            if len(_KEPT_LAWS) >= MOST_KEPT:
                _KEPT_LAWS.clear()
            found = _KEPT_LAWS[key] = fold(block, self.whole_cells(block), self.join)
        return found

    def _key(self, block: Block) -> Hashable:
        if block.key is None or any(reading.derived is not None for reading in block.readings):
            return None
        read = tuple((reading.law, reading.offset) for reading in block.readings)
        return block.key, read, len(self.nodes), self.join is added

    def boxes(self, cluster: Cluster) -> Boxes:
        """A cluster of plain numbers, all boxes of pieces at once."""
        readings = [self.readings[p] for block in cluster.blocks for p in block.reads]
        cuts = tuple(c for block in cluster.blocks for c in block.cuts)
        spread = covariance(readings) + np.diag([r.law.sd**2 for r in readings])
        means = tuple(r.law.mean for r in readings)
        return boxes_of(cluster.blocks, cuts, together(means, tuple(map(tuple, spread.tolist())), cuts))


@lru_cache(maxsize=4096)
def _derived_cells(how: Derived, laws: tuple[Law, ...], shifts: tuple[tuple[float, ...], ...]) -> Cells:
    size = max(len(one) for one in shifts)
    return how.cells(laws, tuple(np.broadcast_to(np.array(one), (size,)) for one in shifts))


def _widened(reading: Reading, grid: Grid) -> Reading:
    """A reading with what its cluster's factors leave over in its own deviation."""
    rest = grid.rest.get(reading.place)
    if not rest:
        return reading
    return replace(reading, law=replace(reading.law, sd=float(np.hypot(reading.law.sd, rest))))


def clusters_of(
    found: Sequence[Block], readings: Mapping[Place, Reading], join: Join = added
) -> tuple[Cluster, ...]:
    """Blocks joined by named causes; a block without any stands alone."""
    by_cause: dict[str, list[int]] = {}
    for number, block in enumerate(found):
        for reading in _simple(block, readings):
            for name, _ in reading.shared:
                by_cause.setdefault(name, []).append(number)
    root = list(range(len(found)))

    def find(n: int) -> int:
        while root[n] != n:
            n = root[n]
        return n

    for numbers in by_cause.values():
        for other in numbers[1:]:
            root[find(other)] = find(numbers[0])
    grouped: dict[int, list[Block]] = {}
    for number, block in enumerate(found):
        grouped.setdefault(find(number), []).append(block)
    return tuple(_cluster(tuple(group), readings, join) for group in grouped.values())


def _simple(block: Block, readings: Mapping[Place, Reading]) -> Iterable[Reading]:
    for place in block.reads:
        reading = readings[place]
        yield from reading.made_of or (reading,)


def _cluster(group: tuple[Block, ...], readings: Mapping[Place, Reading], join: Join) -> Cluster:
    sharing = {r.place: r for block in group for r in _simple(block, readings) if r.shared}
    if not sharing:
        return Cluster(group)
    places = [p for block in group for p in block.reads]
    plain = all(r.law.shape == "normal" and not r.offset and r.derived is None for r in sharing.values())
    plain = plain and all(len(block.reads) == len(block.categories) == 1 for block in group)
    if plain and join is added and set(places) == set(sharing) and 1 < len(places) <= MOST_EXACT:
        return Cluster(group, exact=True)
    return Cluster(group, factors(list(sharing.values())))


def taken_apart(
    parts: Sequence[Part],
    readings: Mapping[Place, Reading],
    nodes: Floats,
    weights: Floats,
    join: Join = added,
) -> Worked:
    """Blocks and clusters of parts."""
    found = blocks(parts, readings)
    return Worked(readings, clusters_of(found, readings, join), nodes, weights, join)
