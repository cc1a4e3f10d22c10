"""Blocks of parts that share readings, and the chances of their points, reading by reading.  Pure.

A block is worked out exactly: states of the open parts and the points of closed ones so far are kept with their
chances, and every reading moves each state by each of its pieces.  Nothing is subtracted and nothing is drawn.
"""

from collections.abc import Callable, Hashable, Mapping, Sequence
from dataclasses import dataclass
from decimal import Decimal

import numpy as np

from scoring.shapes import ZERO
from scoring.uncertainty.model import Place
from scoring.uncertainty.normal import Floats
from scoring.uncertainty.parts import Part, union
from scoring.uncertainty.reading import CUT_AT_ZERO, Cells, Cuts, Reading

Points = tuple[Decimal, ...]
Join = Callable[[Decimal, Decimal], Decimal]


def added(total: Decimal, more: Decimal) -> Decimal:
    return total + more


@dataclass(frozen=True)
class Block:
    """Parts that hang together by their readings, in an order in which each part meets its own in order.

    `cuts` are all limits at which any of the parts may change, reading by reading.
    """

    parts: tuple[Part, ...]
    reads: tuple[Place, ...]
    categories: tuple[str, ...]
    cuts: tuple[Cuts, ...]


def blocks(parts: Sequence[Part], readings: Mapping[Place, Reading]) -> list[Block]:
    """Parts grouped by shared readings."""
    root: dict[Place, Place] = {}

    def find(place: Place) -> Place:
        while root[place] != place:
            root[place] = root[root[place]]
            place = root[place]
        return place

    for part in parts:
        for place in part.reads:
            root.setdefault(place, place)
        for place in part.reads[1:]:
            root[find(place)] = find(part.reads[0])
    grouped: dict[Hashable, list[Part]] = {}
    for number, part in enumerate(parts):
        grouped.setdefault(find(part.reads[0]) if part.reads else number, []).append(part)
    return [_block(group, readings) for group in grouped.values()]


def _block(group: list[Part], readings: Mapping[Place, Reading]) -> Block:
    group = sorted(group, key=lambda part: -len(part.reads))
    reads = tuple(dict.fromkeys(place for part in group for place in part.reads))
    cuts: dict[Place, list[Cuts]] = {place: [] for place in reads}
    for part in group:
        for place, limits in zip(part.reads, part.cuts, strict=True):
            reading = readings[place]
            if reading.law.shape not in ("certain", "code") and reading.derived is None:
                cuts[place].append(limits(*reading.reach))
    for place in reads:
        if readings[place].law.shape in CUT_AT_ZERO:
            cuts[place].append((ZERO,))
    categories = tuple(dict.fromkeys(part.category for part in group))
    return Block(tuple(group), reads, categories, tuple(union(*cuts[place]) for place in reads))


def fold(block: Block, cells: Sequence[Cells], join: Join = added) -> dict[Points, Floats]:
    """Points by category → chances (one for each node); `cells` follow the block's readings."""
    if len(block.parts) == 1 and len(block.reads) == 1:
        return _one(block.parts[0], cells[0])
    where = {category: n for n, category in enumerate(block.categories)}
    readers = [
        [(n, part.reads.index(place)) for n, part in enumerate(block.parts) if place in part.reads]
        for place in block.reads
    ]
    last = {
        n: max(block.reads.index(p) for p in part.reads) for n, part in enumerate(block.parts) if part.reads
    }
    nothing: Points = (ZERO,) * len(block.categories)
    points = nothing
    open_: list[Hashable] = []
    for part in block.parts:
        open_.append(part.start if part.reads else None)
        if not part.reads:
            points = _put(points, where[part.category], part.end(part.start), join)
    states: dict[tuple[Points, tuple[Hashable, ...]], Floats] = {(points, tuple(open_)): np.ones(1)}
    for index, piece in enumerate(cells):
        after: dict[tuple[Points, tuple[Hashable, ...]], Floats] = {}
        columns = [piece.chances[:, k] for k in range(len(piece.values))]
        for (so_far, waiting), chance in states.items():
            for value, column in zip(piece.values, columns, strict=True):
                now, moved = so_far, list(waiting)
                for n, position in readers[index]:
                    part = block.parts[n]
                    state = part.step(moved[n], position, value)
                    if last[n] == index:
                        now, moved[n] = _put(now, where[part.category], part.end(state), join), None
                    else:
                        moved[n] = state
                key = (now, tuple(moved))
                more = chance * column
                after[key] = after[key] + more if key in after else more
        states = after
    found: dict[Points, Floats] = {}
    for (so_far, _), chance in states.items():
        found[so_far] = found[so_far] + chance if so_far in found else chance
    return found


def _one(part: Part, piece: Cells) -> dict[Points, Floats]:
    found: dict[Points, Floats] = {}
    for k, value in enumerate(piece.values):
        key = (part.end(part.step(part.start, 0, value)),)
        column = piece.chances[:, k]
        found[key] = found[key] + column if key in found else column
    return found


def _put(points: Points, index: int, more: Decimal, join: Join) -> Points:
    if not more:
        return points
    return (*points[:index], join(points[index], more), *points[index + 1 :])
