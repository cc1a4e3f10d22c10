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
from scoring.shapes import Rule
from scoring.uncertainty.dense import Dense, summed
from scoring.uncertainty.folding import Block, fold
from scoring.uncertainty.model import CannotBeTold, Place
from scoring.uncertainty.normal import Floats
from scoring.uncertainty.parts import limits_of
from scoring.uncertainty.reading import Cells, Reading, up_to
from scoring.uncertainty.total import ScoreLaw

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
    for place, reading in law.worked.readings.items():
        if reading.certain or len(reading.law.codes) == 1:
            continue
        told = conditional(law, place, Decimal(threshold))
        if len(told) > 1:
            found.append(_matters(law, reading, told))
    return tuple(sorted(found, key=lambda one: (-one.sd, one.places)))


def _matters(law: ScoreLaw, reading: Reading, told: Mapping[Decimal, tuple[float, float]]) -> Matters:
    outcomes = tuple(Outcome(points, chance, reached) for points, (chance, reached) in sorted(told.items()))
    mean = math.fsum(o.chance * o.reached for o in outcomes)
    variance = math.fsum(o.chance * (o.reached - mean) ** 2 for o in outcomes)
    likely = [o.reached for o in outcomes if o.chance >= RARE]
    _, _, block = law.block_of(reading.place)
    places = tuple(one.place for one in reading.made_of) or (reading.place,)
    return Matters(places, block.categories[0], math.sqrt(variance), max(likely) - min(likely), outcomes)


def conditional(law: ScoreLaw, place: Place, threshold: Decimal) -> dict[Decimal, tuple[float, float]]:
    """What one reading may score → its chance, and the chance of reaching the threshold then.

    A reading's score is told by what its block comes to when the block's other readings are as recorded, so pieces
    that make no difference to the points fall together.
    """
    pieces, joint = by_piece(law, place, threshold)
    found: dict[Decimal, tuple[float, float]] = {}
    _, _, block = law.block_of(place)
    for k, value in enumerate(pieces.values):
        points = _as_recorded(law, block, place, value)
        chance, both = joint[k]
        before = found.get(points, (0.0, 0.0))
        found[points] = before[0] + chance, before[1] + both
    return {points: (chance, both / chance) for points, (chance, both) in found.items() if chance > 0}


def _as_recorded(law: ScoreLaw, block: Block, place: Place, value: object) -> Decimal:
    """The block's weighted points with one reading set and the others as recorded."""
    certain = []
    for other in block.reads:
        recorded = law.worked.readings[other].recorded
        certain.append(Cells((value if other == place else recorded,), np.ones((1, 1))))  # type: ignore[arg-type]
    (points,) = fold(block, certain)
    weighted = (p * law.terms.weight(c) for p, c in zip(points, block.categories, strict=True))
    return sum(weighted, Decimal(0))


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


def given_piece(law: ScoreLaw, place: Place, threshold: Decimal) -> GivenPiece:
    """What each piece of a reading would make of the threshold; not for a cluster of tied numbers."""
    number, position, block = law.block_of(place)
    cluster = law.worked.clusters[number]
    assert not cluster.exact
    rest = law.without(number)
    index = block.reads.index(place)
    every = law.worked.block_cells(block, cluster.grid)
    beside = summed(
        law.dense_of(chances, cs) for n, (chances, cs) in enumerate(law.laws[number]) if n != position
    )
    inner = len(cluster.grid.weights)
    weights = np.outer(law.worked.weights, cluster.grid.weights).ravel()
    rest = Dense(
        rest.first, np.repeat(rest.chances, inner, axis=0) if len(rest.chances) > 1 else rest.chances
    )
    columns = []
    for value in every[index].values:
        only = Cells((value,), np.ones((1, 1)))
        chances = fold(block, [*every[:index], only, *every[index + 1 :]])
        one = law.dense_of(chances, block.categories).plus(beside)
        columns.append(_reached(law, one, rest, threshold, len(weights)))
    return GivenPiece(every[index], np.stack(columns, axis=1), weights)


def by_piece(law: ScoreLaw, place: Place, threshold: Decimal) -> tuple[Cells, list[tuple[float, float]]]:
    """The pieces of a reading; for each its chance, and its chance together with reaching the threshold."""
    number, _, _ = law.block_of(place)
    if law.worked.clusters[number].exact:
        return _by_box(law, number, place, threshold)
    given = given_piece(law, place, threshold)
    chances = np.broadcast_to(given.cells.chances, given.reached.shape)
    alone, both = given.weights @ chances, given.weights @ (chances * given.reached)
    return given.cells, [(float(a), float(b)) for a, b in zip(alone, both, strict=True)]


def _by_box(
    law: ScoreLaw, number: int, place: Place, threshold: Decimal
) -> tuple[Cells, list[tuple[float, float]]]:
    cluster = law.worked.clusters[number]
    rest = law.without(number)
    categories = tuple(c for block in cluster.blocks for c in block.categories)
    weights, found = law.worked.weights, []
    by_value = law.worked.exact_by_value(cluster, place)
    for chances in by_value.values():
        one = law.dense_of(chances, categories)
        reached = _reached(law, one, rest, threshold, len(weights))
        found.append((float(one.chances.sum()), float(weights @ reached)))
    return Cells(tuple(by_value), np.array([[chance for chance, _ in found]])), found


def _reached(law: ScoreLaw, one: Dense, rest: Dense, threshold: Decimal, rows: int) -> Floats:
    """The mass of the sum of both at or over the threshold, at every node."""
    wanted = -int((-threshold / law.unit.size).to_integral_value(rounding="ROUND_FLOOR"))
    tails = np.cumsum(rest.chances[:, ::-1], axis=1)[:, ::-1]
    together = np.zeros(rows)
    for k in range(one.chances.shape[1]):
        start = wanted - (one.first + k) - rest.first
        if start < tails.shape[1]:
            together = together + one.chances[:, k] * tails[:, max(start, 0)]
    return together
