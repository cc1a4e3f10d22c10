"""Blocks of parts that share readings, and the chances of their points.  Pure.

A block is worked out exactly: states of the open parts and the points of closed ones so far are kept with their
chances, and every reading moves each state by each of its pieces (`program`).  Nothing is subtracted and nothing is
drawn.
"""

from collections.abc import Hashable, Mapping, Sequence
from dataclasses import dataclass
from functools import cached_property

import numpy as np

from scoring.shapes import ZERO, Value
from scoring.uncertainty.model import Place
from scoring.uncertainty.normal import Floats
from scoring.uncertainty.parts import Part, union
from scoring.uncertainty.program import Join, Layout, Points, added, kept_program, put
from scoring.uncertainty.reading import CUT_AT_ZERO, Cells, Cuts, Reading


@dataclass(frozen=True, eq=False)
class Block(Layout):
    """Parts that hang together by their readings, in an order in which each part meets its own in order."""

    readings: tuple[Reading, ...]

    @cached_property
    def cuts(self) -> tuple[Cuts, ...]:
        """All limits at which any of the parts may change, reading by reading."""
        return tuple(self.cuts_of(reading) for reading in self.readings)

    def cuts_of(self, reading: Reading) -> Cuts:
        """The same for another reading at one of the block's places."""
        listed: list[Cuts] = []
        shape = reading.law.shape
        if shape not in ("certain", "code") and reading.derived is None:
            reach = reading.reach
            for part in self.parts:
                listed += [
                    limits(*reach)
                    for place, limits in zip(part.reads, part.cuts, strict=True)
                    if place == reading.place
                ]
        if shape in CUT_AT_ZERO:
            listed.append((ZERO,))
        return union(*listed)

    @cached_property
    def key(self) -> Hashable:
        """Equal for blocks that do the same with their readings; None where that cannot be told."""
        if any(part.key is None for part in self.parts):
            return None
        if len(self.parts) == 1:
            return self.parts[0].category, self.parts[0].key
        order = {place: n for n, place in enumerate(self.reads)}
        return tuple((p.category, p.key, tuple(order[place] for place in p.reads)) for p in self.parts)


def blocks(parts: Sequence[Part], readings: Mapping[Place, Reading]) -> list[Block]:
    """Parts grouped by shared readings."""
    root: dict[Place, Place] = {}

    def find(place: Place) -> Place:
        while (above := root[place]) != place:
            root[place] = root[above]
            place = above
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
    categories = tuple(dict.fromkeys(part.category for part in group))
    return Block(tuple(group), reads, categories, tuple(readings[place] for place in reads))


def fold(block: Block, cells: Sequence[Cells], join: Join = added) -> dict[Points, Floats]:
    """Points by category → chances (one for each node); `cells` follow the block's readings."""
    if len(block.parts) == 1 and len(block.reads) == 1:
        return _one(block.parts[0], cells[0])
    made = kept_program(block.key, block, tuple(one.values for one in cells), join)
    chances = made.run([one.chances.T for one in cells])
    return {points: chance for points, chance in zip(made.ends, chances, strict=True) if chance.any()}


def points_of(block: Block, values: Sequence[Value], join: Join = added) -> Points:
    """The points of a block where every reading is known."""
    known = dict(zip(block.reads, values, strict=True))
    points: Points = (ZERO,) * len(block.categories)
    for part in block.parts:
        state = part.start
        for place in dict.fromkeys(part.reads):
            state = part.step(state, part.reads.index(place), known[place])
        points = put(points, block.categories.index(part.category), part.end(state), join)
    return points


def _one(part: Part, piece: Cells) -> dict[Points, Floats]:
    found: dict[Points, Floats] = {}
    for k, value in enumerate(piece.values):
        key = (part.end(part.step(part.start, 0, value)),)
        column = piece.chances[:, k]
        if column.any():
            found[key] = found[key] + column if key in found else np.array(column)
    return found
