"""Speed of the choice of cases, from plain data to the list, as ratios to a plain whole-number program of the same run.

The program (HiGHS through scipy) is the textbook one: every eligible pair a column, the weakest slot a variable, then the
two totals; both must agree on all three. Of a program of residents it solves the first few, and the ratio is that of the
time each resident takes.
"""

import statistics
import time
from collections.abc import Sequence
from dataclasses import replace

from plans.selection import ChoiceProblem, choose, firmness, why_impossible
from plans.selection.problem import chance_part, margin_part
from tests.plans.selection.larger import caseload
from tests.plans.selection.plain_program import Solved, solve

RESIDENTS = 200
COMPARED = 6


def ours(problem: ChoiceProblem) -> Solved | None:
    """Checked names and numbers, and the best choice."""
    choice = choose(replace(problem))
    standing = choice.standing
    weakest = chance_part(standing.weakest), margin_part(standing.weakest)
    return Solved(weakest, standing.chances, standing.margins) if choice.complete else None


def timed(work: object, problems: Sequence[ChoiceProblem]) -> tuple[list[float], list[object]]:
    """Milliseconds of each, and what came out."""
    assert callable(work)
    took, results = [], []
    for problem in problems:
        start = time.perf_counter()
        results.append(work(problem))
        took.append((time.perf_counter() - start) * 1000)
    return took, results


def compared(words: str, wanted: str, problems: Sequence[ChoiceProblem], times: int = 1) -> None:
    """One line: the median, the wanted figure, and the ratio to the plain program."""
    took, results = timed(ours, [problem for problem in problems for _ in range(times)])
    plain, theirs = timed(solve, problems[:COMPARED])
    assert results[::times][:COMPARED] == theirs
    mine, others = statistics.median(took), statistics.median(plain)
    print(
        f"{words}: {mine:.1f} ms, slowest {max(took):.1f} ms ({wanted}); "
        f"plain program {others:.0f} ms, {mine / others:.3f} of it"
    )


def main() -> None:
    choose(caseload(30, 8, "warm", 0.4, 3))
    solve(caseload(30, 8, "warm", 0.4, 3))  # the solver's own import is not measured
    compared("5,000 cases, 12 slots", "wanted: under 20 ms", [caseload(5000, 12, 0)], times=9)
    thirty = [caseload(30, 8, seed, 0.4, 3) for seed in range(25)]
    compared("30 cases, 8 slots, three group rules", "wanted: under 150 ms", thirty)
    for slots in (6, 12):
        for rules in (0, 3):
            program = [caseload(30, slots, seed, 0.4, rules) for seed in range(RESIDENTS)]
            took, results = timed(ours, program)
            plain, theirs = timed(solve, program[:COMPARED])
            assert results[:COMPARED] == theirs
            ratio = statistics.mean(took) / statistics.mean(plain)
            print(
                f"{RESIDENTS} residents, 30 cases each, {slots} slots, {rules} group rules: {sum(took) / 1000:.2f} s "
                f"(wanted: under 3 s); {ratio:.3f} of the plain program's time for each"
            )
    firm, _ = timed(firmness, thirty[:10])
    reasons, _ = timed(
        why_impossible,
        [replace(problem, excluded=frozenset(list(problem.patients)[:20])) for problem in thirty[:10]],
    )
    print(
        f"what each case's rejection costs, 30 cases, 8 slots, three rules: {statistics.median(firm):.0f} ms"
    )
    print(
        f"why there is no complete choice, 10 cases for 8 slots, three rules: {statistics.median(reasons):.0f} ms"
    )


if __name__ == "__main__":
    main()
