"""The same choices as scipy's general-purpose solvers find on instances too large to enumerate."""

import pytest

from plans.selection import choose, evenest, evenness, firmness, plain, under_rules
from plans.selection.best import choice_of
from plans.selection.kernel import table_of
from plans.selection.problem import chance_part, margin_part
from tests.plans.selection.larger import caseload
from tests.plans.selection.plain_program import Solved, assigned, solve


@pytest.mark.parametrize("rules", [0, 1, 3])
def test_a_caseload_is_chosen_from_as_by_a_plain_program(rules: int) -> None:
    broken = 0
    for seed, (cases, slots) in enumerate([(30, 8), (30, 8), (30, 6), (30, 12), (60, 8), (25, 10)]):
        problem = caseload(cases, slots, seed, 0.4, rules, cases_of_patient=1.3)
        solved, choice = solve(problem), choose(problem)
        assert choice.complete == (solved is not None)
        if solved is None:
            broken += 1
            continue
        standing = choice.standing
        weakest = chance_part(standing.weakest), margin_part(standing.weakest)
        assert Solved(weakest, standing.chances, standing.margins) == solved, (cases, slots, seed)
    assert broken < 3


def test_without_rules_the_total_is_that_of_an_assignment_among_the_pairs_that_are_strong_enough() -> None:
    for seed, (cases, slots) in enumerate([(100, 12), (400, 12), (1500, 8), (60, 20)]):
        problem = caseload(cases, slots, seed)
        standing = choose(problem).standing
        least = chance_part(standing.weakest), margin_part(standing.weakest)
        assert assigned(problem, least) == (standing.chances, standing.margins)
        with pytest.raises(ValueError, match="infeasible"):  # no choice keeps above the weakest
            assigned(problem, (least[0], least[1] + 1))


def test_what_is_left_without_a_case_is_what_a_plain_program_leaves() -> None:
    problem = caseload(30, 6, "firm", 0.4, 2)
    for loss in firmness(problem)[:3]:
        kept = {key: weight for key, weight in problem.weights.items() if key[0] != loss.pair.case}
        solved = solve(type(problem)(problem.slots, problem.patients, kept, problem.rules))
        after = loss.after.standing
        assert solved is not None
        assert (after.chances, after.margins) == (solved.chances, solved.margins)


def test_the_evenest_choice_is_the_same_by_prices_and_by_a_program_for_each_tier() -> None:
    for seed in range(3):
        problem = caseload(20, 5, seed, 0.5, 3)
        table = table_of(problem)
        best, ceiling = plain.best(table)
        assert table.broken(best), "else rules would play no part"
        ruled = under_rules.best(table, 5, ceiling)
        by_program = choice_of(problem, table, evenness.by_tiers(table, ruled))
        assert evenest(problem) == by_program
