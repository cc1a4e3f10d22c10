"""A sheet taken apart into clusters of blocks, and put together again to a total or a category.  Pure."""

from collections import Counter
from collections.abc import Callable, Hashable, Iterable, Mapping, Sequence
from dataclasses import dataclass, replace
from decimal import Decimal
from functools import lru_cache, reduce

import numpy as np

from scoring.shapes import Value
from scoring.uncertainty.folding import Block, Join, Points, added, blocks, fold
from scoring.uncertainty.model import Place
from scoring.uncertainty.normal import Floats
from scoring.uncertainty.parts import Part
from scoring.uncertainty.reading import Cells, Derived, Law, Reading, cells
from scoring.uncertainty.shared import ALONE, MOST_EXACT, Grid, box_values, covariance, factors, rectangles

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

    def block_law(self, block: Block, grid: Grid) -> Chances:
        """Points of a block by category with chances at every node; kept where its parts can be told apart."""
        key = self._key(block) if grid is ALONE else None
        if key is None:
            return fold(block, self.block_cells(block, grid), self.join)
        found = _KEPT_LAWS.get(key)
        if found is None:
            if len(_KEPT_LAWS) >= MOST_KEPT:
                _KEPT_LAWS.clear()
            found = _KEPT_LAWS[key] = fold(block, self.block_cells(block, grid), self.join)
        return found

    def _key(self, block: Block) -> Hashable:
        if any(part.key is None for part in block.parts):
            return None
        read = tuple(
            (reading.law, reading.offset) for reading in (self.readings[place] for place in block.reads)
        )
        if any(self.readings[place].derived is not None for place in block.reads):
            return None
        order = {place: n for n, place in enumerate(block.reads)}
        made = tuple((p.category, p.key, tuple(order[place] for place in p.reads)) for p in block.parts)
        return made, read, len(self.nodes), self.join is added

    def exact_law(self, cluster: Cluster) -> Chances:
        """Points of a cluster of plain numbers, each box of pieces at once."""
        found: Chances = {}
        for points, chance, _ in self._boxes(cluster):
            found[points] = found.get(points, np.zeros(1)) + chance
        return found

    def exact_by_value(self, cluster: Cluster, place: Place) -> dict[Value, Chances]:
        """The same apart for every piece of one of the numbers."""
        index = [p for block in cluster.blocks for p in block.reads].index(place)
        found: dict[Value, Chances] = {}
        for points, chance, values in self._boxes(cluster):
            here = found.setdefault(values[index], {})
            here[points] = here.get(points, np.zeros(1)) + chance
        return found

    def _boxes(self, cluster: Cluster) -> Iterable[tuple[Points, float, tuple[Value, ...]]]:
        reads = [p for block in cluster.blocks for p in block.reads]
        cuts = tuple(c for block in cluster.blocks for c in block.cuts)
        readings = [self.readings[p] for p in reads]
        spread = covariance(readings) + np.diag([r.law.sd**2 for r in readings])
        means = tuple(r.law.mean for r in readings)
        boxes, chances = rectangles(means, tuple(map(tuple, spread.tolist())), cuts)
        for values, chance in zip(box_values(cuts, boxes), chances, strict=True):
            points: Points = ()
            start = 0
            for block in cluster.blocks:
                end = start + len(block.reads)
                (one,) = fold(
                    block, [Cells((value,), np.ones((1, 1))) for value in values[start:end]], self.join
                )
                points, start = points + one, end
            yield points, float(chance), values


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


def clusters_of(found: Sequence[Block], readings: Mapping[Place, Reading]) -> tuple[Cluster, ...]:
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
    return tuple(_cluster(tuple(group), readings) for group in grouped.values())


def _simple(block: Block, readings: Mapping[Place, Reading]) -> Iterable[Reading]:
    for place in block.reads:
        reading = readings[place]
        yield from reading.made_of or (reading,)


def _cluster(group: tuple[Block, ...], readings: Mapping[Place, Reading]) -> Cluster:
    sharing = {r.place: r for block in group for r in _simple(block, readings) if r.shared}
    if not sharing:
        return Cluster(group)
    places = [p for block in group for p in block.reads]
    plain = all(r.law.shape == "normal" and not r.offset and r.derived is None for r in sharing.values())
    if plain and set(places) == set(sharing) and 1 < len(places) <= MOST_EXACT:
        return Cluster(group, exact=True)
    return Cluster(group, factors(list(sharing.values())))


@dataclass(frozen=True)
class Unit:
    """The small unit in which points are counted, so that all are whole."""

    size: Decimal

    def count(self, points: Decimal) -> int:
        return int(points / self.size)


@dataclass(frozen=True)
class Dense:
    """Chances at every node (rows) of `first`, `first + 1`, … small units."""

    first: int
    chances: Floats

    def plus(self, other: "Dense") -> "Dense":
        """The sum of two that are independent at every node."""
        a, b = (self, other) if self.chances.shape[1] >= other.chances.shape[1] else (other, self)
        if b.chances.shape == (1, 1):
            return Dense(a.first + b.first, a.chances * b.chances)
        rows = max(a.chances.shape[0], b.chances.shape[0])
        width = a.chances.shape[1]
        found = np.zeros((rows, width + b.chances.shape[1] - 1))
        for k in np.flatnonzero(b.chances.any(axis=0)):
            found[:, k : k + width] += a.chances * b.chances[:, k : k + 1]
        return Dense(a.first + b.first, found)


NOTHING = Dense(0, np.ones((1, 1)))


def dense(law: Mapping[Points, Floats], told: Callable[[Points], Decimal], unit: Unit) -> Dense:
    """The chances of one number told by points."""
    by_count: dict[int, Floats] = {}
    for points, chance in law.items():
        count = unit.count(told(points))
        by_count[count] = by_count[count] + chance if count in by_count else chance
    first, last = min(by_count), max(by_count)
    rows = max(len(np.atleast_1d(c)) for c in by_count.values())
    found = np.zeros((rows, last - first + 1))
    for count, chance in by_count.items():
        found[:, count - first] += chance
    return Dense(first, found)


def averaged(one: Dense, grid: Grid) -> Dense:
    """The nodes of a cluster averaged, the examiner's kept."""
    inner = len(grid.weights)
    if inner == 1 or one.chances.shape[0] == 1:
        return one
    rows = one.chances.reshape(-1, inner, one.chances.shape[1])
    return Dense(one.first, np.einsum("nik,i->nk", rows, grid.weights))


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
    alike = Counter(id(one) for one in listed)
    once = {id(one): one for one in listed}
    ordered = sorted((_times(once[key], n) for key, n in alike.items()), key=lambda one: one.chances.shape[1])
    return reduce(Dense.plus, ordered) if ordered else NOTHING


_DENSES: dict[tuple[int, Hashable], tuple[Mapping[Points, Floats], Dense]] = {}


def dense_once(
    law: Mapping[Points, Floats], key: Hashable, told: Callable[[Points], Decimal], unit: Unit
) -> Dense:
    """The same as `dense`, worked out once for a law and a key of what is told by it."""
    found = _DENSES.get((id(law), key))
    if found is None:
        if len(_DENSES) >= MOST_KEPT:
            _DENSES.clear()
        found = _DENSES[id(law), key] = law, dense(law, told, unit)
    return found[1]


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


def finest(points: Iterable[Decimal]) -> Unit:
    """The unit in which all points are whole: a power of ten, or 1."""
    digits = 0
    for one in points:
        exponent = one.normalize().as_tuple().exponent
        assert isinstance(exponent, int)
        digits = max(digits, -exponent)
    return Unit(Decimal(1).scaleb(-digits))


def taken_apart(
    parts: Sequence[Part],
    readings: Mapping[Place, Reading],
    nodes: Floats,
    weights: Floats,
    join: Join = added,
) -> Worked:
    """Blocks and clusters of parts."""
    found = blocks(parts, readings)
    return Worked(readings, clusters_of(found, readings), nodes, weights, join)
