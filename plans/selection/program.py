"""Choices under group rules, by whole-number programming (HiGHS through scipy).  Pure.

HiGHS is asked for one wish at a time, each in numbers small enough for its tolerances; what an earlier question gave is
a condition of the next. Every answer is rounded and checked in whole numbers before it is believed.
"""

from collections.abc import Mapping, Sequence
from typing import NamedTuple

import numpy as np
import numpy.typing as npt

from plans.selection.kernel import Arc, Table
from plans.selection.plain import Pick

Whole = npt.NDArray[np.int64]


LONGEST_SECONDS = 30
"""For one question; those of a portfolio take some thousandths of a second."""


class Demand(NamedTuple):
    """A weighted sum over the columns lies from `low` to `high`; a coefficient stands for each column named."""

    of: Mapping[int, int]
    low: int
    high: int


class SolverStopped(RuntimeError):
    """HiGHS gave neither an answer nor a proof that there is none, mostly because it took too long."""


class Model:
    """Pairs of a table as columns that are 0 or 1, then for each rule how many cases it lacks and has too many.

    Always: a slot has one case at most, and a patient one slot at most. Everything else is a demand.
    """

    def __init__(self, table: Table) -> None:
        self.table = table
        self.arcs = [(slot, arc) for slot, row in enumerate(table.rows) for arc in row]
        self.width = len(self.arcs) + 2 * len(table.rules)
        slots: dict[int, dict[int, int]] = {}
        patients: dict[int, dict[int, int]] = {}
        for column, (slot, arc) in enumerate(self.arcs):
            slots.setdefault(slot, {})[column] = 1
            patients.setdefault(arc.patient, {})[column] = 1
        self.always = [Demand(of, 0, 1) for of in (*slots.values(), *patients.values()) if len(of) > 1]
        self.of_slot = [slots.get(slot, {}) for slot in range(len(table.slots))]
        self.filled: dict[int, int] = dict.fromkeys(range(len(self.arcs)), 1)

    def rules(self, broken: int = 0) -> list[Demand]:
        """The group rules; `broken` cases in sum may be missing or too many."""
        first = len(self.arcs)
        demands = []
        for number, (rule, having) in enumerate(zip(self.table.rules, self.table.having, strict=True)):
            of = {column: 1 for column, (_, arc) in enumerate(self.arcs) if arc.case in having}
            of |= {first + 2 * number: 1, first + 2 * number + 1: -1}
            most = rule.at_least + len(self.table.slots) if rule.at_most is None else rule.at_most
            demands.append(Demand(of, rule.at_least, most))
        demands.append(Demand(self.slack(), 0, broken))
        return demands

    def slack(self) -> dict[int, int]:
        """The columns of cases missing and too many."""
        return dict.fromkeys(range(len(self.arcs), self.width), 1)

    def pick(self, wish: Mapping[int, int], demands: Sequence[Demand], least: int = 0) -> Pick | None:
        """The choice with the largest sum of `wish` under the demands; None where no choice meets them.

        Arcs of free slots below the rank `least` are left out.
        """
        # Costs a second and 50 MB at the first call, which installations without group rules never pay.
        from scipy.optimize import Bounds, LinearConstraint, milp

        matrix, low, high = self._rows(demands)
        if not self.width:
            return None if (low > 0).any() else (None,) * len(self.table.slots)
        upper = self._upper(least)
        goal = np.zeros(self.width)
        for column, worth in wish.items():
            goal[column] = -worth
        answer = milp(
            goal,
            integrality=np.ones(self.width),
            bounds=Bounds(np.zeros(self.width), upper),
            constraints=LinearConstraint(matrix, low, high),
            options={"mip_rel_gap": 0, "time_limit": LONGEST_SECONDS},
        )
        if answer.status == 2:
            return None
        if answer.x is None or answer.status != 0:
            raise SolverStopped(f"no answer for the group rules: {answer.message}")
        return self._believed(np.rint(answer.x).astype(np.int64), matrix, low, high)

    def _rows(self, demands: Sequence[Demand]) -> tuple[Whole, Whole, Whole]:
        every = [*self.always, *demands]
        matrix = np.zeros((len(every), self.width), dtype=np.int64)
        for line, demand in enumerate(every):
            matrix[line, list(demand.of)] = list(demand.of.values())
        return matrix, np.array([d.low for d in every]), np.array([d.high for d in every])

    def _upper(self, least: int) -> Whole:
        free = [1 if self.table.held[slot] or arc.rank >= least else 0 for slot, arc in self.arcs]
        return np.array([*free, *[len(self.table.slots) + _most(self.table)] * (self.width - len(free))])

    def _believed(self, x: Whole, matrix: Whole, low: Whole, high: Whole) -> Pick:
        sums = matrix @ x
        if (sums < low).any() or (sums > high).any():
            raise SolverStopped("the answer for the group rules does not hold in whole numbers")
        pick: list[Arc | None] = [None] * len(self.table.slots)
        for column, (slot, arc) in enumerate(self.arcs):
            if x[column]:
                pick[slot] = arc
        return tuple(pick)


def _most(table: Table) -> int:
    return max((rule.at_least for rule in table.rules), default=0)
