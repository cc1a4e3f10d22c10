"""How the parts of a block come to their points, written down once: which state goes where by which piece.  Pure.

A program knows nothing of chances.  Run over arrays it gives the chances of all ends for any number of nodes and
cases at once; nothing is subtracted, so chances stay as small as they are.
"""

from collections.abc import Callable, Hashable, Sequence
from dataclasses import dataclass
from decimal import Decimal

import numpy as np
import numpy.typing as npt

from scoring.shapes import ZERO, Value
from scoring.uncertainty.model import Place
from scoring.uncertainty.normal import Floats
from scoring.uncertainty.parts import Part

Points = tuple[Decimal, ...]
Join = Callable[[Decimal, Decimal], Decimal]
Indices = npt.NDArray[np.intp]
State = tuple[Points, tuple[Hashable, ...]]


def added(total: Decimal, more: Decimal) -> Decimal:
    return total + more


@dataclass(frozen=True, eq=False)
class Step:
    """What one reading does: sets of its pieces that do the same, and moves from a state by a set to a state.

    `pieces` lists the pieces of all sets, set after set, each beginning at `sets`; moves are sorted by where they
    lead, the moves to each state beginning at `arrivals`.
    """

    pieces: Indices
    sets: Indices
    from_state: Indices
    by_set: Indices
    arrivals: Indices


@dataclass(frozen=True, eq=False)
class Program:
    """The steps of a block and the points of its ends, one category beside the other."""

    steps: tuple[Step, ...]
    ends: tuple[Points, ...]

    def run(self, columns: Sequence[Floats]) -> Floats:
        """Chances of the ends (ends × nodes) from those of the pieces of each reading (pieces × nodes, or × 1).

        With more axes (ends × cases × nodes) many cases are run at once.
        """
        states = np.ones((1,) * (columns[0].ndim if columns else 2))
        for step, chances in zip(self.steps, columns, strict=True):
            gathered = np.add.reduceat(chances[step.pieces], step.sets, axis=0)
            moved = states[step.from_state] * gathered[step.by_set]
            states = np.add.reduceat(moved, step.arrivals, axis=0)
        return states


@dataclass(frozen=True)
class Layout:
    """Parts with the readings they meet: categories of the points, places in order."""

    parts: tuple[Part, ...]
    reads: tuple[Place, ...]
    categories: tuple[str, ...]


def program(layout: Layout, values: Sequence[tuple[Value, ...]], join: Join) -> Program:
    """The program of a layout whose readings have these pieces."""
    where = {category: n for n, category in enumerate(layout.categories)}
    readers = [
        [(n, part.reads.index(place)) for n, part in enumerate(layout.parts) if place in part.reads]
        for place in layout.reads
    ]
    last = {
        n: max(layout.reads.index(p) for p in part.reads) for n, part in enumerate(layout.parts) if part.reads
    }
    states: dict[State, int] = {_beginning(layout, where, join): 0}
    steps = []
    for index, pieces in enumerate(values):
        after: dict[State, int] = {}
        moves: dict[tuple[int, int], list[int]] = {}
        for (so_far, waiting), number in states.items():
            for k, value in enumerate(pieces):
                now, moved = so_far, list(waiting)
                for n, position in readers[index]:
                    part = layout.parts[n]
                    state = part.step(moved[n], position, value)
                    if last[n] == index:
                        now, moved[n] = put(now, where[part.category], part.end(state), join), None
                    else:
                        moved[n] = state
                to = after.setdefault((now, tuple(moved)), len(after))
                moves.setdefault((to, number), []).append(k)
        steps.append(_step(moves))
        states = after
    return _gathered(steps, [points for points, _ in states])


def _beginning(layout: Layout, where: dict[str, int], join: Join) -> State:
    points: Points = (ZERO,) * len(layout.categories)
    waiting: list[Hashable] = []
    for part in layout.parts:
        waiting.append(part.start if part.reads else None)
        if not part.reads:
            points = put(points, where[part.category], part.end(part.start), join)
    return points, tuple(waiting)


def _step(moves: dict[tuple[int, int], list[int]]) -> Step:
    sets: dict[tuple[int, ...], int] = {}
    ordered = sorted(moves.items())
    by_set = [sets.setdefault(tuple(pieces), len(sets)) for _, pieces in ordered]
    starts: list[int] = []
    pieces: list[int] = []
    for one in sets:
        starts.append(len(pieces))
        pieces += one
    to = np.array([to for (to, _), _ in ordered])
    return Step(
        np.array(pieces),
        np.array(starts),
        np.array([number for (_, number), _ in ordered]),
        np.array(by_set),
        np.flatnonzero(np.diff(to, prepend=-1)),
    )


def _gathered(steps: list[Step], points: list[Points]) -> Program:
    """States at the end all wait for nothing, so each has points of its own."""
    assert len(set(points)) == len(points)
    return Program(tuple(steps), tuple(points))


def put(points: Points, index: int, more: Decimal, join: Join) -> Points:
    """The points with more joined to those of one category."""
    if not more:
        return points
    return (*points[:index], join(points[index], more), *points[index + 1 :])


MOST_KEPT = 4_000
_PROGRAMS: dict[Hashable, Program] = {}


def kept_program(key: Hashable, layout: Layout, values: tuple[tuple[Value, ...], ...], join: Join) -> Program:
    """The program of parts that a key tells from all others, worked out once; without a key (None) every time."""
    if key is None:
        return program(layout, values, join)
    named = key, values, join is added
    found = _PROGRAMS.get(named)
    if found is None:
        if len(_PROGRAMS) >= MOST_KEPT:
            _PROGRAMS.clear()
        found = _PROGRAMS[named] = program(layout, values, join)
    return found
