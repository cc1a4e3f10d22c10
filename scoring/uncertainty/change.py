"""The change between two sheets of one reader: what both are off by together falls out of it.  Pure.

The examiner's offset is the same at both stages, so the two totals are set against each other node by node.
Verdicts on PAR: Richmond et al., Eur J Orthod 1992;14:180-187.
"""

import math
from dataclasses import dataclass
from decimal import Decimal

import numpy as np

from scoring.compare.par_change import WEIGHTS_OF_VERDICTS, par_change
from scoring.uncertainty.dense import Dense, Unit
from scoring.uncertainty.law import Distribution
from scoring.uncertainty.model import CannotBeTold
from scoring.uncertainty.normal import Floats
from scoring.uncertainty.total import ScoreLaw

SAME_READER = "Both sheets are by one reader: what all lengths are off by together is the same in both and largely cancels."


@dataclass(frozen=True, eq=False)
class ChangeLaw:
    """What the change of a total may be; `difference` is before less after, so more is better.

    `improved` and `greatly_improved` are chances of the published verdicts on PAR by the weights of 1992 (greatly
    improved counts as improved too); None elsewhere.
    """

    difference: Distribution
    improved: float | None
    greatly_improved: float | None
    because: tuple[str, ...]

    def less(self, points: Decimal | int | str = 0) -> float:
        """The chance that the total fell by more than so many points."""
        return 1 - self.difference.at_most(points)


def change_law(before: ScoreLaw, after: ScoreLaw) -> ChangeLaw:
    """The law of the change between two sheets of the same reader.

    CannotBeTold where index, edition or question differ, or where a total is only a floor.
    """
    if (before.index.key, before.terms.edition, before.question) != (
        after.index.key,
        after.terms.edition,
        after.question,
    ):
        raise CannotBeTold("the two totals are read by different indices, editions or questions")
    if before.graded:
        raise CannotBeTold("grades have no difference in points")
    if not (before.complete and after.complete):
        raise CannotBeTold("findings are missing on one of the sheets, so a total is only a floor")
    both, unit = _together(before, after)
    first = _in_unit(before, unit).first, _in_unit(after, unit).first
    by_difference: dict[int, float] = {}
    for (i, j), chance in np.ndenumerate(both):
        if chance > 0:
            gap = (first[0] + i) - (first[1] + j)
            by_difference[gap] = by_difference.get(gap, 0.0) + float(chance)
    low, high = min(by_difference), max(by_difference)
    chances = np.array([by_difference.get(k, 0.0) for k in range(low, high + 1)])
    verdicts = _verdicts(before, both, first, unit)
    told = (*before.because, SAME_READER)
    return ChangeLaw(Distribution(low, chances / chances.sum(), unit.size), *verdicts, told)


def _together(before: ScoreLaw, after: ScoreLaw) -> tuple[Floats, Unit]:
    """Chances of every pair of totals, the nodes averaged."""
    unit = Unit(min(before.unit.size, after.unit.size))
    one, two = _in_unit(before, unit).chances, _in_unit(after, unit).chances
    weights = (
        before.worked.weights
        if len(before.worked.weights) >= len(after.worked.weights)
        else after.worked.weights
    )
    rows = len(weights)
    a = np.broadcast_to(one, (rows, one.shape[1]))
    b = np.broadcast_to(two, (rows, two.shape[1]))
    return np.einsum("n,ni,nj->ij", weights, a, b), unit


def _in_unit(law: ScoreLaw, unit: Unit) -> Dense:
    return law.at_nodes.finer(int(law.unit.size / unit.size))


def _verdicts(
    law: ScoreLaw, both: Floats, first: tuple[int, int], unit: Unit
) -> tuple[float | None, float | None]:
    if law.index.key != "par" or law.terms.edition != WEIGHTS_OF_VERDICTS:
        return None, None
    improved, greatly = [], []
    for (i, j), chance in np.ndenumerate(both):
        if chance > 0:
            verdict = par_change((first[0] + i) * unit.size, (first[1] + j) * unit.size).verdict
            if verdict in ("improved", "greatly_improved"):
                improved.append(float(chance))
            if verdict == "greatly_improved":
                greatly.append(float(chance))
    return min(math.fsum(improved), 1.0), min(math.fsum(greatly), 1.0)


def detectable_change(sem: float) -> float:
    """The smallest change of a total that is more than error at 95 per cent: 1.96 √2 SEM.

    `sem` is the error of one total, from totals scored twice; never summed up from single findings.  Source: Weir
    2005, formula from memory.
    """
    if sem < 0:
        raise ValueError("the error of a total is 0 or more")
    return 1.96 * math.sqrt(2) * sem
