"""The choice as one plain whole-number program for scipy's HiGHS, without any of our shortcuts.

Every eligible pair is a column; the weakest slot is a variable that no slot falls below; then the sum of chances, then
that of margins. It fills every slot or says that it cannot.
"""

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


def solve(problem: ChoiceProblem) -> Solved | None:
    pairs = [pair for pair in problem.weights if pair[0] not in problem.excluded]
    both = [thousandths(problem.weights[pair]) for pair in pairs]
    steps = sorted(set(both))
    grade = np.array([float(steps.index(one)) for one in both]) if len(steps) < 400 else _grades(both, steps)
    slots, lines, low, high = list(problem.slots), [], [], []
    for slot in slots:
        lines.append([float(pair[1] == slot) for pair in pairs])
        low.append(1.0)
        high.append(1.0)
    for patient in dict.fromkeys(problem.patients.values()):
        lines.append([float(problem.patients[case] == patient) for case, _ in pairs])
        low.append(0.0)
        high.append(1.0)
    for rule in problem.rules:
        lines.append([float(case in rule.cases) for case, _ in pairs])
        low.append(float(rule.at_least))
        high.append(float(len(slots) if rule.at_most is None else rule.at_most))
    matrix = np.array(lines)
    # The weakest as a column of its own: for each slot the grade of its case is no lower.
    weakest = np.array([grade * matrix[at] for at in range(len(slots))])
    whole = csc_array(np.block([[matrix, np.zeros((len(matrix), 1))], [weakest, -np.ones((len(slots), 1))]]))
    goal = np.zeros(len(pairs) + 1)
    goal[-1] = -1
    answer = _ask(goal, whole, [*low, *[0.0] * len(slots)], [*high, *[np.inf] * len(slots)], len(steps))
    if answer is None:
        return None
    least = steps[round(answer[-1])]
    usable = np.array([one >= least for one in both])
    chances, margins = (np.array([one[part] for one in both], dtype=float) for part in (0, 1))
    first = _ask(-chances, csc_array(matrix), low, high, 1, usable)
    assert first is not None
    total = float(np.rint(first) @ chances)
    second = _ask(-margins, csc_array(np.vstack([matrix, chances])), [*low, total], [*high, total], 1, usable)
    assert second is not None
    return Solved(least, round(total), round(float(np.rint(second) @ margins)))


def _grades(both: list[tuple[int, int]], steps: list[tuple[int, int]]) -> Numbers:
    place = {step: float(at) for at, step in enumerate(steps)}
    return np.array([place[one] for one in both])


def _ask(
    goal: Numbers,
    matrix: csc_array,
    low: list[float],
    high: list[float],
    top: float,
    usable: Numbers | None = None,
) -> Numbers | None:
    upper = np.ones(len(goal))
    if usable is not None:
        upper = usable.astype(float)
    if top > 1:
        upper[-1] = top
    answer = milp(
        goal,
        integrality=np.ones(len(goal)),
        bounds=Bounds(np.zeros(len(goal)), upper),
        constraints=LinearConstraint(matrix, low, high),
        options={"mip_rel_gap": 0},
    )
    assert answer.status in (0, 2), answer.message
    return None if answer.x is None else answer.x


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
