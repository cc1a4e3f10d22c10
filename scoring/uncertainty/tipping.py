"""What could tip a score: findings near a step of a rule, and findings that decide whether a threshold is reached.  Pure.

The two lists differ, and both are told: a value that lies on a limit of a single point may decide nothing.
"""

import math
from collections.abc import Iterator, Mapping
from dataclasses import dataclass, replace
from decimal import Decimal

import numpy as np

from portfolio.finding_sheet import Finding
from scoring.kernel import tallies
from scoring.measured_shapes import Bands, Limbs, PerUnit
from scoring.shapes import ZERO, Rule, Value
from scoring.uncertainty.dense import Dense, digits, summed
from scoring.uncertainty.folding import Block, points_of
from scoring.uncertainty.model import CannotBeTold, Place
from scoring.uncertainty.normal import Floats
from scoring.uncertainty.parts import limits_of
from scoring.uncertainty.reading import Cells, Reading, up_to
from scoring.uncertainty.tied import Boxes
from scoring.uncertainty.total import ScoreLaw
from scoring.uncertainty.walks import given_each, kept_walk

FARTHEST = 3.0
"""Deviations within which a limit is near."""


@dataclass(frozen=True, slots=True)
class NearStep:
    """A limit close to a recorded number.

    `at` is the limit and `distance` how far it is, in the finding's unit; `z` the same in deviations; `beyond` the
    chance that the truth lies on its other side; `change` the line's points gained (+) or lost (−) there, weighted.
    """

    findings: tuple[Finding, ...]
    site: str
    category: str
    at: Decimal
    distance: Decimal
    z: float
    beyond: float
    change: Decimal


def near_a_step(law: ScoreLaw, farthest: float = FARTHEST) -> tuple[NearStep, ...]:
    """Limits within so many deviations on either side of every recorded number, the nearest first."""
    found: list[NearStep] = []
    for category, tally in tallies(law.index, law.sheet, law.terms):
        for hit in tally.hits:
            measured = isinstance(hit.rule, Bands | PerUnit | Limbs) and isinstance(hit.value, Decimal)
            if not measured or len(hit.findings) != 1 or hit.findings[0].is_statement:
                continue
            finding = hit.findings[0]
            reading = law.worked.readings.get((finding.quantity, finding.site))
            if reading is not None and not reading.certain and isinstance(hit.value, Decimal):
                weight = law.terms.weight(category)
                for at, change in _steps(hit.rule, hit.value, reading):
                    z = abs(float(at) - reading.law.mean) / total_sd(reading)
                    if z <= farthest and weight:
                        beyond = _beyond(reading, at, hit.value)
                        distance = abs(at - hit.value)
                        found.append(
                            NearStep((finding,), hit.site, category, at, distance, z, beyond, change * weight)
                        )
    return tuple(sorted(found, key=lambda one: (one.z, one.category, one.site)))


def total_sd(reading: Reading) -> float:
    """Everything a reading may be off by, what it shares included."""
    shared = math.fsum(part * part for _, part in reading.shared)
    return math.sqrt(reading.law.sd**2 + reading.offset**2 + shared + reading.law.step**2 / 12)


def _steps(rule: Rule, value: Decimal, reading: Reading) -> Iterator[tuple[Decimal, Decimal]]:
    """The nearest limit above and below with the change of points just beyond it."""
    here, hair = rule.points(value), Decimal("0.0001")
    limits = limits_of(rule)(*reading.reach)
    for side in (1, -1):
        ahead = sorted((cut for cut in limits if (cut - value) * side >= 0), key=lambda cut: abs(cut - value))
        for cut in ahead:
            change = rule.points(cut + side * hair) - here
            if change:
                yield cut, change
                break


def _beyond(reading: Reading, at: Decimal, value: Decimal) -> float:
    """The chance of the other side of a limit; on the limit itself that of the side above where points rise there."""
    whole = replace(reading.law, sd=total_sd(reading), step=0.0)
    below = float(up_to(whole, np.array([[float(at)]]), np.zeros(1))[0, 0])
    return 1 - below if at >= value else below


@dataclass(frozen=True, slots=True)
class Outcome:
    """One thing a finding may come to: values that stand for it, its chance, and what the threshold's chance is then."""

    points: Decimal
    chance: float
    reached: float


@dataclass(frozen=True, slots=True)
class Matters:
    """How much one finding decides whether a threshold is reached.

    `sd` is the deviation of the chance over what the finding may be, `spread` its greatest less its smallest value
    over outcomes of at least 1 in 1,000; `places` are the findings (several where one value is worked out of them).
    """

    places: tuple[Place, ...]
    category: str
    sd: float
    spread: float
    outcomes: tuple[Outcome, ...]


RARE = 0.001


def leave_one_out(law: ScoreLaw, threshold: Decimal | int | str) -> tuple[Matters, ...]:
    """Every uncertain finding by how much it decides about `total >= threshold`, most first.

    First-order: shares of several findings may not be added up.
    """
    if law.graded:
        raise CannotBeTold("a grade is the worst of what is there; what decides it stands in its lines")
    found = []
    for number, cluster in enumerate(law.worked.clusters):
        beyond = Beyond(law, number, Decimal(threshold))
        for position, block in enumerate(cluster.blocks):
            open_ = [not (r.certain or len(r.law.codes) == 1) for r in block.readings]
            if not any(open_):
                continue
            for reading, uncertain, pieces in zip(
                block.readings, open_, beyond.by_piece(position), strict=True
            ):
                told = _by_points(law, block, reading.place, pieces) if uncertain else {}
                if len(told) > 1:
                    found.append(_matters(block, reading, told))
    return tuple(sorted(found, key=lambda one: (-one.sd, one.places)))


def _matters(block: Block, reading: Reading, told: Mapping[Decimal, tuple[float, float]]) -> Matters:
    outcomes = tuple(Outcome(points, chance, reached) for points, (chance, reached) in sorted(told.items()))
    mean = math.fsum(o.chance * o.reached for o in outcomes)
    variance = math.fsum(o.chance * (o.reached - mean) ** 2 for o in outcomes)
    likely = [o.reached for o in outcomes if o.chance >= RARE]
    places = tuple(one.place for one in reading.made_of) or (reading.place,)
    return Matters(places, block.categories[0], math.sqrt(variance), max(likely) - min(likely), outcomes)


Pieces = list[tuple[Value, float, float]]
"""Pieces of a reading: the value that stands for each, its chance, its chance together with reaching the threshold."""


def _by_points(
    law: ScoreLaw, block: Block, place: Place, pieces: Pieces
) -> dict[Decimal, tuple[float, float]]:
    """What one reading may score → its chance, and the chance of reaching the threshold then.

    A reading's score is told by what its block comes to when the block's other readings are as recorded, so pieces
    that make no difference to the points fall together.
    """
    found: dict[Decimal, tuple[float, float]] = {}
    weights = law.weights(block.categories)
    recorded = [reading.recorded for reading in block.readings]
    index = block.reads.index(place)
    for value, chance, both in pieces:
        raw = points_of(block, [*recorded[:index], value, *recorded[index + 1 :]])
        points = sum((p * w for p, w in zip(raw, weights, strict=True)), ZERO)
        before = found.get(points, (0.0, 0.0))
        found[points] = before[0] + chance, before[1] + both
    return {points: (chance, both / chance) for points, (chance, both) in found.items() if chance > 0}


@dataclass(frozen=True, eq=False)
class GivenPiece:
    """The chance of reaching a threshold given each piece of a reading (nodes × pieces), and what the nodes weigh."""

    cells: Cells
    reached: Floats
    weights: Floats

    def of(self, pieces: Cells) -> float:
        """The chance of reaching it where the pieces have other chances."""
        where = {value: k for k, value in enumerate(self.cells.values)}
        kept = [k for k, value in enumerate(pieces.values) if value in where]
        reached = self.reached[:, [where[pieces.values[k]] for k in kept]]
        told = (pieces.chances[:, kept] * reached).sum(axis=1) / pieces.chances[:, kept].sum(axis=1)
        return float(np.broadcast_to(told, self.weights.shape) @ self.weights)


class Beyond:
    """What is left to a threshold beside each block of one cluster."""

    def __init__(self, law: ScoreLaw, number: int, threshold: Decimal) -> None:
        self.law, self.number = law, number
        self.cluster = law.worked.clusters[number]
        self.wanted = math.ceil(threshold / law.unit.size)
        self.rest = law.without(number)
        self.weights = np.outer(law.worked.weights, self.cluster.grid.weights).ravel()

    def by_piece(self, position: int) -> list[Pieces]:
        """The pieces of every reading of a block."""
        if self.cluster.exact:
            return [self._of_boxes(position)]
        found: list[Pieces] = []
        for given in self.given(position):
            chances = np.broadcast_to(given.cells.chances, given.reached.shape)
            alone, both = given.weights @ chances, given.weights @ (chances * given.reached)
            found.append(list(zip(given.cells.values, alone.tolist(), both.tolist(), strict=True)))
        return found

    def given(self, position: int) -> list[GivenPiece]:
        """What each piece of each reading of a block would make of the threshold: one walk over all of them."""
        law, block = self.law, self.cluster.blocks[position]
        every = law.worked.block_cells(block, self.cluster.grid)
        made = kept_walk(block.key, block, tuple(one.values for one in every), law.terms.weights)
        columns = given_each([one.chances.T for one in every])
        first, chances = made.run(columns, digits(law.unit.size))
        left = self._left(position)
        tails = left.at_least(self.wanted - first, len(chances))
        reached = np.einsum("vcn,vn->cn", chances, tails)
        reached = np.broadcast_to(reached, (reached.shape[0], len(self.weights)))
        found, start = [], 0
        for one in every:
            found.append(GivenPiece(one, reached[start : start + len(one.values)].T, self.weights))
            start += len(one.values)
        return found

    def _left(self, position: int) -> Dense:
        """Everything but one block, at every node of the offset and of the cluster."""
        inner = len(self.cluster.grid.weights)
        rest = self.rest
        if inner > 1 and len(rest.chances) > 1:
            rest = Dense(rest.first, np.repeat(rest.chances, inner, axis=0))
        laws = [one for n, one in enumerate(self.law.laws[self.number]) if n != position]
        return rest.plus(summed(self.law.dense_of(chances, cs) for chances, cs in laws)) if laws else rest

    def _of_boxes(self, position: int) -> Pieces:
        ((boxes, categories),) = self.law.laws[self.number]
        assert isinstance(boxes, Boxes)
        found: Pieces = []
        pieces = boxes.by_piece(position, self.law.weights(categories), self.law.unit)
        for value, one in zip(boxes.values[position], pieces, strict=True):
            tails = self.rest.at_least(self.wanted - one.first, one.chances.shape[1])
            reached = np.broadcast_to(one.chances[0] @ tails, self.law.worked.weights.shape)
            found.append((value, float(one.chances.sum()), float(self.law.worked.weights @ reached)))
        return found


def given_piece(law: ScoreLaw, place: Place, threshold: Decimal) -> GivenPiece:
    """What each piece of a reading would make of the threshold; not for a cluster of tied numbers."""
    number, position, block = law.block_of(place)
    assert not law.worked.clusters[number].exact
    return Beyond(law, number, threshold).given(position)[block.reads.index(place)]
