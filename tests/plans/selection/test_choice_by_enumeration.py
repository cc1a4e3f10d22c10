"""The quick ways give what trying every choice gives, ties, fixed pairs and patients with several cases included."""

import random
from dataclasses import replace
from itertools import combinations

import pytest

from plans.selection import (
    Choice,
    ChoiceProblem,
    GroupRule,
    IfGood,
    Pair,
    RuleBound,
    Weight,
    choose,
    choose_within_rules,
    evenest,
    firmness,
    helps_most,
    why_impossible,
)
from plans.selection.conflicts import fixed_faults, slots_without_enough, smallest_conflict
from tests.plans.selection import enumeration
from tests.plans.selection.enumeration import Filling, fillings, small_problem


def filling_of(problem: ChoiceProblem, choice: Choice) -> Filling:
    return tuple(choice.case(slot) for slot in problem.slots)


def problems(count: int, rules: int, seed: int) -> list[ChoiceProblem]:
    """Two of three with many equal weights."""
    return [
        small_problem(random.Random(f"{seed} {rules} {n}"), rules, ties=bool(n % 3)) for n in range(count)
    ]


@pytest.mark.parametrize(("rules", "count"), [(0, 400), (1, 60), (2, 60), (3, 60)])
def test_the_choice_is_the_best_of_all_there_are(rules: int, count: int) -> None:
    empty = complete = 0
    for problem in problems(count, rules, 1):
        choice = choose(problem)
        best = enumeration.best(problem)
        assert filling_of(problem, choice) == best, problem
        assert sum(rule.short + rule.over for rule in choice.broken) == enumeration.broken(problem, best)
        empty, complete = empty + bool(choice.empty), complete + choice.complete
    assert empty > count / 10
    assert complete > count / 20


def test_the_evenest_choice_has_the_strongest_next_weakest_slots() -> None:
    for problem in (*problems(150, 0, 2), *problems(15, 2, 2)):
        assert filling_of(problem, evenest(problem)) == enumeration.even(problem), problem


def test_a_choice_within_the_rules_fills_as_many_slots_as_they_allow() -> None:
    none = fewer = 0
    for problem in problems(60, 3, 3):
        obeying = [one for one in fillings(problem) if not enumeration.broken(problem, one)]
        choice = choose_within_rules(problem)
        if not obeying:
            assert choice is None
            none += 1
            continue
        assert choice is not None
        best = max(obeying, key=lambda one: enumeration.wish(problem, one))
        assert filling_of(problem, choice) == best, problem
        fewer += bool(choose(problem).broken)
    assert none > 5
    assert fewer > 5


def test_the_loss_of_each_case_is_that_of_solving_again_without_it() -> None:
    for problem in (*problems(60, 0, 4), *problems(10, 2, 4)):
        losses = firmness(problem)
        assert {loss.pair.slot for loss in losses} == {pair.slot for pair in choose(problem).pairs}
        for loss in losses:
            case = loss.pair.case
            fixed = tuple(pair for pair in problem.fixed if pair.case != case)
            rest = ChoiceProblem(
                problem.slots,
                problem.patients,
                problem.weights,
                problem.rules,
                fixed,
                problem.excluded | {case},
            )
            assert filling_of(problem, loss.after) == enumeration.best(rest), (problem, case)
            assert loss.emptied == loss.before.standing.filled - loss.after.standing.filled
            assert loss.emptied >= 0 or case in {pair.case for pair in problem.fixed}


def test_what_helps_most_is_what_choosing_again_with_each_item_shows() -> None:
    lifting = 0
    for number, problem in enumerate((*problems(60, 0, 8), *problems(8, 2, 8))):
        rng = random.Random(number)
        pairs = [(c, s) for c in problem.patients for s in problem.slots if (c, s) not in problem.weights]
        unknown = {
            pair: IfGood(
                Weight(rng.choice((0.4, 1.0)), 1.0), frozenset(rng.sample("vwxyz", rng.choice((1, 1, 2))))
            )
            for pair in rng.sample(pairs, min(6, len(pairs)))
        }
        alone = [item for item in "vwxyz" if any(one.lacks == {item} for one in unknown.values())]
        expected = []
        for item in alone:
            known = {pair: one.weight for pair, one in unknown.items() if one.lacks == {item}}
            best = enumeration.best(better := replace(problem, weights={**problem.weights, **known}))
            if (
                enumeration.wish(better, best)[:-1]
                > enumeration.wish(problem, enumeration.best(problem))[:-1]
            ):
                expected.append((enumeration.wish(better, best)[:-1], item, best))
        expected.sort(key=lambda one: one[0], reverse=True)
        helped = helps_most(problem, unknown)
        if expected:
            assert [(help.items, filling_of(problem, help.after)) for help in helped] == [
                ((item,), best) for _, item, best in expected
            ], problem
            lifting += 1
        else:
            assert all(len(help.items) > 1 for help in helped)
    assert lifting > 20


def serving(problem: ChoiceProblem, slots: tuple[str, ...]) -> set[str]:
    """Patients who could serve any of the slots; a slot with fixed pairs takes those alone."""
    held = {slot: {pair.case for pair in problem.fixed if pair.slot == slot} for slot in slots}
    return {
        problem.patients[case]
        for case, slot in problem.weights
        if slot in slots and case not in problem.excluded
        if not held[slot] or held[slot] == {case}
    }


def test_slots_that_compete_are_one_patient_short_and_no_part_of_them_is() -> None:
    met = several = 0
    for problem in problems(500, 0, 5):
        faulty = {fault.pair.slot for fault in fixed_faults(problem) if fault.reason != "patient_twice"}
        found = slots_without_enough(problem)
        if set(choose(problem).empty) - faulty:
            assert found, problem
        for short in found:
            assert len(serving(problem, short.slots)) == len(short.slots) - 1, problem
            for size in range(1, len(short.slots)):
                for part in combinations(short.slots, size):
                    assert len(serving(problem, part)) >= size, problem
            assert {problem.patients[case] for case in short.cases} == serving(problem, short.slots)
            for case in short.set_aside:
                back = {problem.patients[case]} - serving(problem, short.slots)
                assert case in problem.excluded
                assert back
            met, several = met + 1, several + (len(short.slots) > 1)
    assert met > 100
    assert several > 40


def can_be(problem: ChoiceProblem, asked: list[str | RuleBound | Pair]) -> bool:
    """Whether some choice meets these demands, every choice tried."""
    rules = {rule.key: rule for rule in problem.rules}
    free = ChoiceProblem(problem.slots, problem.patients, problem.weights, excluded=problem.excluded)

    def meets(filling: Filling, one: str | RuleBound | Pair) -> bool:
        at = dict(zip(problem.slots, filling, strict=True))
        if isinstance(one, str):
            return at[one] is not None
        if isinstance(one, Pair):
            return at[one.slot] == one.case
        count = sum(case in rules[one.rule].cases for case in filling)
        most = rules[one.rule].at_most
        return count >= rules[one.rule].at_least if one.side == "at_least" else most is None or count <= most

    return any(all(meets(filling, one) for one in asked) for filling in fillings(free))


def test_a_conflict_cannot_be_met_and_can_without_any_one_of_its_demands() -> None:
    found = with_fixed = 0
    for problem in (*problems(30, 2, 6), *problems(15, 3, 6)):
        conflict = smallest_conflict(problem)
        faulty = {fault.pair for fault in fixed_faults(problem)}
        if conflict is None:
            whole: list[str | RuleBound | Pair] = [*problem.slots, *(set(problem.fixed) - faulty)]
            whole += [RuleBound(rule.key, "at_least") for rule in problem.rules]
            whole += [RuleBound(rule.key, "at_most") for rule in problem.rules]
            assert can_be(problem, whole), problem
            continue
        asked: list[str | RuleBound | Pair] = [*conflict.slots, *conflict.rules, *conflict.fixed]
        assert not can_be(problem, asked), problem
        for one in asked:
            assert can_be(problem, [other for other in asked if other is not one]), (problem, one)
        found, with_fixed = found + 1, with_fixed + bool(conflict.fixed)
    assert found > 15
    assert with_fixed > 1


def test_there_is_a_reason_exactly_where_there_is_no_complete_choice() -> None:
    for problem in (*problems(100, 0, 7), *problems(12, 2, 7)):
        reasons = why_impossible(problem)
        assert (reasons is None) == choose(problem).complete
        if reasons is not None:
            assert reasons.faults or reasons.too_few or reasons.conflict, problem


def test_many_small_rules_are_obeyed_where_they_can_be() -> None:
    """Invented: three slots, rules that leave one choice only."""
    patients = {f"c{n}": f"p{n}" for n in range(6)}
    weights = {(case, slot): Weight(0.9, 1.0) for case in patients for slot in "abc"}
    rules = tuple(GroupRule(f"only {n}", frozenset({f"c{n}"}), 1, 1) for n in (1, 3, 5))
    choice = choose(ChoiceProblem(tuple("abc"), patients, weights, rules))
    assert [choice.case(slot) for slot in "abc"] == ["c1", "c3", "c5"]
