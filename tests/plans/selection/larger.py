"""Invented problems of the size of a caseload, for comparison with general-purpose solvers and for measuring."""

import random
from dataclasses import replace

from plans.selection import ChoiceProblem, GroupRule, Weight

BOUNDS: tuple[tuple[int, int | None], ...] = ((2, None), (0, 1), (3, None))


def caseload(
    cases: int, slots: int, seed: object, share: float = 0.25, rules: int = 0, cases_of_patient: float = 1.0
) -> ChoiceProblem:
    """So many cases, a share of the pairs eligible; a tenth of the chances is 1; each rule counts a third of the cases."""
    rng = random.Random(f"{cases} {slots} {seed}")
    people = max(1, round(cases / cases_of_patient))
    names = [f"case {n}" for n in range(cases)]
    patients = {
        name: f"patient {n if cases_of_patient == 1 else rng.randrange(people)}"
        for n, name in enumerate(names)
    }
    keys = tuple(f"slot {n}" for n in range(slots))
    weights = {
        (name, slot): Weight(min(1.0, rng.random() * 1.1), round(rng.uniform(-2, 5), 3))
        for slot in keys
        for name in names
        if rng.random() < share
    }
    groups = tuple(
        GroupRule(f"rule {n}", frozenset(rng.sample(names, cases // 3)), *BOUNDS[n % 3]) for n in range(rules)
    )
    return ChoiceProblem(keys, patients, weights, groups)


def anew(problem: ChoiceProblem) -> ChoiceProblem:
    """The same problem built again from its plain data."""
    return replace(problem)
