"""Laws of the choice, its refusals, and what it tells beside: losses, reasons, what would help."""

from dataclasses import replace

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from plans.selection import (
    ChoiceProblem,
    FixedFault,
    GroupRule,
    IfGood,
    Pair,
    RuleBound,
    SolverStopped,
    Weight,
    choose,
    evenest,
    firmness,
    helps_most,
    program,
    why_impossible,
)

CHANCES = st.sampled_from([0.0, 0.25, 0.5, 0.9, 0.9004, 0.9996, 1.0])
MARGINS = st.sampled_from([-2.0, 0.0, 0.0004, 1.5, 200.0, float("inf")])


@st.composite
def problems(draw: st.DrawFn) -> ChoiceProblem:
    """Up to 4 slots and 9 cases, some of them of one patient; at most one group rule."""
    slots = tuple(f"s{n}" for n in range(draw(st.integers(1, 4))))
    patients = {f"c{n}": f"p{draw(st.integers(0, n))}" for n in range(draw(st.integers(1, 9)))}
    pairs = st.sampled_from([(case, slot) for case in patients for slot in slots])
    weights = draw(st.dictionaries(pairs, st.builds(Weight, CHANCES, MARGINS), max_size=25))
    counted = draw(st.frozensets(st.sampled_from(sorted(patients))))
    rules = (GroupRule("rule", counted, draw(st.integers(0, 2))),) if draw(st.integers(0, 5)) == 0 else ()
    return ChoiceProblem(slots, patients, weights, rules)


@settings(max_examples=60, deadline=None)
@given(problems(), st.data())
def test_another_case_never_makes_the_choice_worse_and_unchosen_cases_never_matter(
    problem: ChoiceProblem, data: st.DataObject
) -> None:
    choice = choose(problem)
    chosen = {pair.case for pair in choice.pairs}
    idle = [case for case in problem.patients if case not in chosen]
    assert choose(replace(problem, excluded=frozenset(idle))) == choice
    if idle:
        case = data.draw(st.sampled_from(idle))
        assert choose(replace(problem, excluded=frozenset({case}))) == choice
    for slot in problem.slots:
        more = {**problem.weights, ("new", slot): Weight(data.draw(CHANCES), data.draw(MARGINS))}
        richer = replace(problem, patients={**problem.patients, "new": "new"}, weights=more)
        assert choose(richer).standing >= choice.standing


@settings(max_examples=40, deadline=None)
@given(problems(), st.randoms(use_true_random=False))
def test_the_order_of_what_is_given_matters_between_equal_choices_only(
    problem: ChoiceProblem, rng: object
) -> None:
    pairs, cases, slots = list(problem.weights.items()), list(problem.patients.items()), list(problem.slots)
    shuffle = rng.shuffle  # type: ignore[attr-defined]
    shuffle(pairs)
    assert choose(replace(problem, weights=dict(pairs))) == choose(problem)
    shuffle(cases)
    shuffle(slots)
    other = choose(replace(problem, patients=dict(cases), slots=tuple(slots)))
    assert other.standing == choose(problem).standing


@settings(max_examples=30, deadline=None)
@given(problems())
def test_fixing_what_is_chosen_changes_nothing_and_the_evenest_choice_is_as_strong(
    problem: ChoiceProblem,
) -> None:
    choice, even = choose(problem), evenest(problem)
    held = replace(problem, fixed=tuple(Pair(pair.slot, pair.case) for pair in choice.pairs))
    assert [(p.slot, p.case) for p in choose(held).pairs] == [(p.slot, p.case) for p in choice.pairs]
    assert all(pair.fixed for pair in choose(held).pairs)
    assert even.standing[:3] == choice.standing[:3]
    assert even.standing <= choice.standing


def invented(margins: list[list[int | None]], **more: object) -> ChoiceProblem:
    """Rows are cases, columns slots; margins alone, with chances that are all alike."""
    slots = tuple(f"slot {n}" for n in range(len(margins[0])))
    cases = {f"case {n}": f"patient {n}" for n in range(len(margins))}
    weights = {
        (case, slot): Weight(0.5, float(margin))
        for case, row in zip(cases, margins, strict=True)
        for slot, margin in zip(slots, row, strict=True)
        if margin is not None
    }
    return ChoiceProblem(slots, cases, weights, **more)  # type: ignore[arg-type]


FIVE: list[list[int | None]] = [[5, None, 2], [3, 4, None], [None, 6, 1], [8, 7, None], [2, None, 9]]
"""Invented; the optima below were found with numpy and scipy beforehand, outside this project's code."""


def test_the_weakest_slot_comes_before_the_total() -> None:
    choice = choose(invented(FIVE))
    assert [pair.case for pair in choice.pairs] == ["case 3", "case 2", "case 4"]
    assert (choice.weakest and choice.weakest.weight.margin_sd, choice.standing.margins) == (6, 23_000)
    ruled = choose(invented(FIVE, rules=(GroupRule("two", frozenset({"case 1", "case 2"}), 2),)))
    assert [pair.case for pair in ruled.pairs] == ["case 1", "case 2", "case 4"]
    assert (ruled.weakest and ruled.weakest.weight.margin_sd, ruled.standing.margins) == (3, 18_000)


def test_three_slots_for_two_cases_are_named_with_both() -> None:
    reasons = why_impossible(invented([[1, 1, None, None], [1, 1, 1, None], *[[None, None, None, 1]] * 3]))
    assert reasons is not None
    (short,) = reasons.too_few
    assert short.slots == ("slot 0", "slot 1", "slot 2")
    assert short.cases == ("case 0", "case 1")
    assert reasons.nearest.standing.filled == 3
    assert reasons.conflict is None


def test_chances_that_round_alike_are_told_apart_by_the_margin_and_then_by_the_order() -> None:
    patients = {"first": "a", "second": "b", "third": "c"}

    def chosen(*weights: Weight) -> str | None:
        given = {(case, "slot"): weight for case, weight in zip(patients, weights, strict=True)}
        return choose(ChoiceProblem(("slot",), patients, given)).case("slot")

    assert chosen(Weight(0.9004, 1), Weight(0.8996, 2), Weight(0.9, 1.5)) == "second"
    assert chosen(Weight(0.9, 0.0001), Weight(0.9, 0.0004), Weight(0.9, 0)) == "first"
    assert chosen(Weight(0.9, 500), Weight(0.9, float("inf")), Weight(0.9, 99)) == "first"
    assert chosen(Weight(0.9, 0), Weight(0.9006, -5), Weight(0.9, 7)) == "second"


def test_what_a_rejection_costs_is_told_the_hardest_first() -> None:
    patients = {"a": "p", "b": "q", "c": "r"}
    weights = {
        ("a", "one"): Weight(0.9, 2.0),
        ("b", "one"): Weight(0.4, -0.3),
        ("b", "two"): Weight(0.8, 1.0),
        ("c", "three"): Weight(0.7, 0.5),
    }
    hardest, second, third = firmness(ChoiceProblem(("one", "two", "three"), patients, weights))
    assert (hardest.pair.case, hardest.emptied, hardest.after.empty) == ("a", 1, ("one",))
    assert (second.pair.case, second.total_chance, second.weakest_chance) == ("b", 0.8, 0.0)
    assert (third.pair.case, third.after.weakest and third.after.weakest.case) == ("c", "b")
    del weights["c", "three"]
    spare = ChoiceProblem(("one", "two"), patients, weights, fixed=(Pair("one", "a"),))
    loss = {loss.pair.case: loss for loss in firmness(spare)}["b"]
    assert loss.weakest_chance == pytest.approx(-0.1)
    assert (loss.weakest_margin, loss.moved) == (-1.0, ())


def test_the_item_that_lifts_the_choice_most_comes_first() -> None:
    problem = ChoiceProblem(("one", "two"), {"a": "p", "b": "q", "c": "r"}, {("a", "one"): Weight(0.6, 0.3)})
    unknown = {
        ("b", "two"): IfGood(Weight(0.8, 1.0), frozenset({"b overjet"})),
        ("c", "two"): IfGood(Weight(0.9, 1.5), frozenset({"c model date"})),
        ("c", "one"): IfGood(Weight(0.7, 0.5), frozenset({"c consent"})),
        ("b", "one"): IfGood(Weight(1.0, 3.0), frozenset({"b overjet", "b overbite"})),
    }
    helped = helps_most(problem, unknown)
    assert [help.items for help in helped] == [("c model date",), ("b overjet",), ("c consent",)]
    assert [(pair.slot, pair.case) for pair in helped[0].new_pairs] == [("two", "c")]
    assert helped[0].before.empty == ("two",)
    pairs = {("b", "two"): IfGood(Weight(0.8, 1.0), frozenset({"x", "y"}))}
    assert [help.items for help in helps_most(problem, pairs)] == [("x", "y")]
    assert helps_most(problem, {("b", "one"): IfGood(Weight(0.1, -1.0), frozenset({"x"}))}) == ()
    with pytest.raises(ValueError, match="not unknown: a in one"):
        helps_most(problem, {("a", "one"): IfGood(Weight(1.0, 1.0), frozenset({"x"}))})


def test_fixed_pairs_that_cannot_be_are_named_with_what_they_collide_with() -> None:
    patients = {"a": "p", "a again": "p", "b": "q", "c": "r"}
    slots = ("one", "two", "three", "four", "five")
    weights = {(case, slot): Weight(0.9, 1.0) for case in ("a", "a again", "b") for slot in slots}
    pairs = ("one a", "two a again", "three b", "three a", "four c", "five b")
    fixed = tuple(Pair(*pair.split(" ", 1)) for pair in pairs)
    reasons = why_impossible(ChoiceProblem(slots, patients, weights, fixed=fixed, excluded=frozenset({"b"})))
    assert reasons is not None
    assert reasons.faults == (
        FixedFault(fixed[1], "patient_twice", fixed[0]),
        FixedFault(fixed[2], "excluded", None),
        FixedFault(fixed[3], "slot_twice", fixed[2]),
        FixedFault(fixed[4], "not_eligible", None),
        FixedFault(fixed[5], "excluded", None),
    )


def test_an_excluded_case_that_would_help_is_told_and_a_fixed_one_that_is_in_the_way() -> None:
    patients = {"a": "p", "b": "q", "c": "r"}
    weights = {(case, slot): Weight(0.9, 1.0) for case in ("a", "b") for slot in ("one", "two")}
    problem = ChoiceProblem(
        ("one", "two"), patients, weights, fixed=(Pair("one", "a"),), excluded=frozenset({"b", "c"})
    )
    reasons = why_impossible(problem)
    assert reasons is not None
    (short,) = reasons.too_few
    assert short == (("one", "two"), ("a",), (Pair("one", "a"),), ("b",))


def test_a_rule_that_cannot_be_obeyed_is_named_alone_and_both_ways_out_are_given() -> None:
    """Invented: surgical cases fit one slot only, and two are asked for."""
    patients = {"a": "p", "b": "q", "c": "r"}
    weights = {
        ("a", "one"): Weight(0.9, 1.0),
        ("b", "one"): Weight(0.8, 1.0),
        ("c", "two"): Weight(0.7, 1.0),
        ("c", "one"): Weight(0.7, 1.0),
    }
    rules = (
        GroupRule("two surgical", frozenset({"a", "b"}), 2),
        GroupRule("no others", frozenset({"c"}), 0, 0),
    )
    problem = ChoiceProblem(("one", "two"), patients, weights, rules)
    reasons = why_impossible(problem)
    assert reasons is not None
    assert reasons.conflict == ((), (RuleBound("two surgical", "at_least"),), ())
    assert reasons.within_rules is None
    assert [(one.rule, one.short, one.over) for one in reasons.nearest.broken] == [
        ("two surgical", 1, 0),
        ("no others", 0, 1),
    ]
    second = why_impossible(replace(problem, rules=rules[1:]))
    assert second is not None
    assert second.conflict == (("two",), (RuleBound("no others", "at_most"),), ())
    assert second.within_rules is not None
    assert second.within_rules.empty == ("two",)


@pytest.mark.parametrize(
    ("change", "message"),
    [
        ({"weights": {("x", "one"): Weight(1, 1)}}, "no case of this problem: x"),
        ({"weights": {("a", "six"): Weight(1, 1)}}, "no slot of this problem: six"),
        ({"weights": {("a", "one"): Weight(1.2, 1)}}, r"case a, slot one: chance 1\.2"),
        ({"weights": {("a", "one"): Weight(float("nan"), 1)}}, "chance nan"),
        ({"weights": {("a", "one"): Weight(1, float("nan"))}}, "margin nan"),
        ({"slots": ("one", "one")}, "slot one is named twice"),
        ({"fixed": (Pair("one", "x"),)}, "no case of this problem: x"),
        ({"excluded": frozenset({"x"})}, "no case of this problem: x"),
        ({"rules": (GroupRule("r", frozenset({"x"})),)}, "no case of this problem: x"),
        (
            {"rules": (GroupRule("r", frozenset()), GroupRule("r", frozenset()))},
            "group rule r is named twice",
        ),
    ],
)
def test_what_cannot_be_meant_is_refused_by_name(change: dict[str, object], message: str) -> None:
    with pytest.raises(ValueError, match=message):
        replace(ChoiceProblem(("one",), {"a": "p"}, {}), **change)  # type: ignore[arg-type]


def test_a_question_that_takes_too_long_is_given_up_instead_of_guessed(
    monkeypatch: pytest.MonkeyPatch,
) -> None:
    monkeypatch.setattr(program, "LONGEST_SECONDS", 0)
    rules = (GroupRule("r", frozenset({"case 0", "case 1"}), 2), GroupRule("s", frozenset({"case 4"}), 0, 0))
    with pytest.raises(SolverStopped):
        choose(invented(FIVE, rules=(*rules, GroupRule("t", frozenset({"case 4"}), 1))))


def test_a_loss_between_two_slots_without_numbers_is_nothing() -> None:
    weights = {(case, "one"): Weight(1.0, float("inf")) for case in ("a", "b")}
    (loss,) = firmness(ChoiceProblem(("one",), {"a": "p", "b": "q"}, weights))
    assert (loss.weakest_chance, loss.weakest_margin, loss.total_chance) == (0, 0, 0)
    assert [pair.case for pair in loss.moved] == ["b"]


def test_a_rule_whose_bounds_cross_is_refused() -> None:
    with pytest.raises(ValueError, match="at least 3 and at most 2"):
        GroupRule("r", frozenset(), 3, 2)


def test_nothing_to_choose_from_is_an_empty_choice() -> None:
    assert choose(ChoiceProblem((), {}, {})).complete
    nothing = choose(ChoiceProblem(("one",), {}, {}, (GroupRule("two", frozenset(), 2),)))
    assert (nothing.pairs, nothing.empty, nothing.broken[0].short) == ((), ("one",), 2)
    assert firmness(ChoiceProblem(("one",), {}, {})) == ()
