"""The choice as one plain whole-number program for scipy's HiGHS, without any of our shortcuts.

Every eligible pair is a column; the weakest slot is a variable that no slot falls below; then the sum of chances, then
that of margins. It fills every slot or says that it cannot.
"""

from collections.abc import Iterable
from copy import deepcopy
from dataclasses import dataclass

import numpy as np
import numpy.typing as npt
from scipy.optimize import Bounds, LinearConstraint, linear_sum_assignment, milp
from scipy.sparse import csc_array

from plans.selection import ChoiceProblem, Weight

Numbers = npt.NDArray[np.float64]
FINE = 200_000
"""Thousandths of margin are below this in the instances compared."""


def thousandths(weight: Weight) -> tuple[int, int]:
    return round(weight.chance * 1000), round(weight.margin_sd * 1000)


@dataclass
class Solved:
    """Weakest pair, sum of chances and sum of margins, all in thousandths."""

    weakest: tuple[int, int]
    chances: int
    margins: int


class Rows:
    """Conditions on sums of columns, kept sparse."""

    def __init__(self) -> None:
        self.entries: list[tuple[int, int, float]] = []
        self.low: list[float] = []
        self.high: list[float] = []

    def add(self, of: Iterable[tuple[int, float]], low: float, high: float) -> None:
        self.entries += [(len(self.low), column, worth) for column, worth in of]
        self.low.append(low)
        self.high.append(high)

    def best(self, goal: Numbers, upper: Numbers) -> Numbers | None:
        """The columns with the largest sum of `goal`; None where the conditions cannot be met."""
        lines, columns, worth = zip(*self.entries, strict=True)
        answer = milp(
            -goal,
            integrality=np.ones(len(goal)),
            bounds=Bounds(np.zeros(len(goal)), upper),
            constraints=LinearConstraint(
                csc_array((worth, (lines, columns)), shape=(len(self.low), len(goal))), self.low, self.high
            ),
            options={"mip_rel_gap": 0},
        )
        assert answer.status in (0, 2), answer.message
        return None if answer.x is None else np.rint(answer.x)


def solve(problem: ChoiceProblem) -> Solved | None:
    pairs = [pair for pair in problem.weights if pair[0] not in problem.excluded]
    both = [thousandths(problem.weights[pair]) for pair in pairs]
    steps = sorted(set(both))
    place = {step: at for at, step in enumerate(steps)}
    rows, of_slot = Rows(), _columns(slot for _, slot in pairs)
    for slot in problem.slots:
        rows.add(((column, 1) for column in of_slot.get(slot, [])), 1, 1)
    for columns in _columns(problem.patients[case] for case, _ in pairs).values():
        rows.add(((column, 1) for column in columns), 0, 1)
    for rule in problem.rules:
        counted = [column for column, (case, _) in enumerate(pairs) if case in rule.cases]
        most = len(problem.slots) if rule.at_most is None else rule.at_most
        rows.add(((column, 1) for column in counted), rule.at_least, most)
    wide, last = deepcopy(rows), len(pairs)
    for slot in problem.slots:  # no slot's step lies below that of the last column
        wide.add(
            [*((column, place[both[column]]) for column in of_slot.get(slot, [])), (last, -1)], 0, np.inf
        )
    answer = wide.best(np.array([*[0.0] * last, 1.0]), np.array([*[1.0] * last, float(len(steps))]))
    if answer is None:
        return None
    least = steps[int(answer[-1])]
    usable = np.array([float(one >= least) for one in both])
    chances, margins = (np.array([float(one[part]) for one in both]) for part in (0, 1))
    first = rows.best(chances, usable)
    assert first is not None
    total = float(first @ chances)
    rows.add(enumerate(chances), total, total)
    second = rows.best(margins, usable)
    assert second is not None
    return Solved(least, round(total), round(float(second @ margins)))


def _columns(names: Iterable[str]) -> dict[str, list[int]]:
    found: dict[str, list[int]] = {}
    for column, name in enumerate(names):
        found.setdefault(name, []).append(column)
    return found


def assigned(problem: ChoiceProblem, least: tuple[int, int]) -> tuple[int, int]:
    """Sums of chances and margins of scipy's own assignment among the pairs that are no weaker than `least`.

    One case a patient, no rules; a pair's chance and margin in one number below 2^53, so that sums are exact.
    """
    cases, slots = list(problem.patients), list(problem.slots)
    worth = np.full((len(slots), len(cases)), -np.inf)
    for (case, slot), weight in problem.weights.items():
        chance, margin = thousandths(weight)
        if (chance, margin) >= least and case not in problem.excluded:
            worth[slots.index(slot), cases.index(case)] = chance * FINE * (len(slots) + 1) + margin
    rows, columns = linear_sum_assignment(worth, maximize=True)
    chosen = [problem.weights[cases[c], slots[r]] for r, c in zip(rows, columns, strict=True)]
    return sum(thousandths(one)[0] for one in chosen), sum(thousandths(one)[1] for one in chosen)
