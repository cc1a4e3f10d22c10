"""All, any, at least so many of, not: states, rule choices followed through, the part that decides, what is lacking."""

from dataclasses import replace
from decimal import Decimal
from itertools import product
from typing import Any

import pytest

from plans import requirements
from plans.answers import State, all_of, at_least_of
from plans.facts import CaseFacts, ScoreFact
from tests.plans.held_cases import answer, course, scored

MET = {"kind": "surgery", "wanted": True}
NOT_MET = {"kind": "surgery", "wanted": False}
UNKNOWN = {"kind": "two_phases"}
OPERATED = course(surgery=True)
STATES: tuple[State, ...] = ("met", "not_met", "unknown")
PARTS = {"met": MET, "not_met": NOT_MET, "unknown": UNKNOWN}


def state(kind: str, facts: CaseFacts, *of: Any, **fields: Any) -> str:
    return answer(kind, facts, of=list(of), **fields).state


def test_every_pair_of_states() -> None:
    told = {}
    for first, second in product(PARTS, repeat=2):
        of = (PARTS[first], PARTS[second])
        told[first, second] = (state("all", OPERATED, *of), state("any", OPERATED, *of))
    assert told == {
        ("met", "met"): ("met", "met"),
        ("met", "not_met"): ("not_met", "met"),
        ("met", "unknown"): ("unknown", "met"),
        ("not_met", "met"): ("not_met", "met"),
        ("not_met", "not_met"): ("not_met", "not_met"),
        ("not_met", "unknown"): ("not_met", "unknown"),
        ("unknown", "met"): ("unknown", "met"),
        ("unknown", "not_met"): ("not_met", "unknown"),
        ("unknown", "unknown"): ("unknown", "unknown"),
    }


def test_at_least_so_many_agrees_with_filling_in_every_unknown() -> None:
    for size in (1, 2, 3, 4):
        for states in product(STATES, repeat=size):
            filled = [
                [one if one != "unknown" else world for one, world in zip(states, worlds, strict=True)]
                for worlds in product(("met", "not_met"), repeat=size)
            ]
            for wanted in range(1, size + 1):
                outcomes = {sum(one == "met" for one in world) >= wanted for world in filled}
                expected = "unknown" if len(outcomes) == 2 else "met" if outcomes == {True} else "not_met"
                assert at_least_of(wanted, states) == expected
            every = {all(one == "met" for one in world) for world in filled}
            assert all_of(states) == (
                "unknown" if len(every) == 2 else "met" if every == {True} else "not_met"
            )


def test_not_turns_states_and_keeps_the_unknown() -> None:
    for that, expected in ((MET, "not_met"), (NOT_MET, "met"), (UNKNOWN, "unknown")):
        assert answer("not", OPERATED, that=that).state == expected
    turned = answer("not", OPERATED, that=UNKNOWN)
    assert turned.lacks
    assert turned.words.startswith("unknown: ")


def test_a_group_lacks_what_its_unknown_parts_lack() -> None:
    case = answer("all", course(), of=[MET, UNKNOWN])
    assert {lack.key for lack in case.lacks} == {"surgery", "phase_start"}
    assert answer("any", OPERATED, of=[MET, UNKNOWN]).lacks == ()
    assert [part.answer.state for part in case.parts] == ["unknown", "unknown"]
    assert case.parts[0].sentence == "Treatment included jaw surgery."


def two_scores(first: dict[str, str], second: dict[str, str]) -> CaseFacts:
    """Two indices whose totals under their choices are given; "" is in force."""
    facts = CaseFacts("A", "P")
    scores: dict[tuple[str, str], ScoreFact] = {}
    for index, totals in (("discrepancy", first), ("par", second)):
        scores |= scored(totals[""], index=index, under={k: v for k, v in totals.items() if k}).scores
    return replace(facts, scores=scores)


def firm(index: str, at_least: int) -> dict[str, Any]:
    return {"kind": "index", "index": index, "at_least": str(at_least), "firmly": True}


def test_rule_choices_are_followed_through_the_whole_group() -> None:
    facts = two_scores({"": "20", "a=1": "18", "b=1": "22"}, {"": "30", "c=1": "28"})
    both = answer("all", facts, of=[firm("discrepancy", 20), firm("par", 30)])
    # In force both are met, under a the first fails, under b both hold, under c the second fails.
    assert dict(both.under) == {
        "": "met",
        "discrepancy.a=1": "not_met",
        "discrepancy.b=1": "met",
        "par.c=1": "not_met",
    }
    assert both.words == "met under 2 of 4 choices"
    # One of them holds under every choice, as only one choice is changed at a time.
    assert answer("any", facts, of=[firm("discrepancy", 20), firm("par", 30)]).state == "met"
    assert answer("not", facts, that=firm("discrepancy", 20)).words == "met under 1 of 3 choices"
    # Whatever comes of the unknown part, under one choice it can never be met.
    assert answer("at_least_of", facts, at_least=2, of=[MET, firm("discrepancy", 20)]).state == "not_met"
    assert answer("at_least_of", facts, at_least=2, of=[MET, firm("discrepancy", 18)]).state == "unknown"


def test_a_group_hangs_on_its_weakest_needed_part() -> None:
    tails = {n: 1 - n / 40 for n in range(41)}
    facts = replace(scored("24", tails=tails, sd=2.0), course=OPERATED.course)
    near, far = (
        {"kind": "index", "index": "discrepancy", "at_least": "20"},
        {"kind": "index", "index": "discrepancy", "at_least": "10"},
    )
    every = answer("all", facts, of=[far, near, MET])
    assert every.chance == pytest.approx(0.5)
    assert (every.margin, every.margin_sd) == (Decimal(4), 2.0)
    any_of = answer("any", facts, of=[far, near])
    assert any_of.chance == pytest.approx(0.75)
    assert any_of.margin == Decimal(14)
    assert answer("any", facts, of=[near, MET]).chance == 1
    assert answer("all", facts, of=[near, NOT_MET]).chance == 0
    assert answer("all", facts, of=[near, UNKNOWN]).chance is None
    assert answer("at_least_of", facts, at_least=2, of=[far, near, NOT_MET]).chance == pytest.approx(0.5)


def test_groups_stand_inside_each_other_and_read_as_one_sentence() -> None:
    data = {
        "kind": "all",
        "of": [MET, {"kind": "any", "of": [NOT_MET, UNKNOWN]}, {"kind": "not", "that": UNKNOWN}],
    }
    assert requirements.read(data).sentence() == (
        "All of these: treatment included jaw surgery; (at least one of these: treatment was without jaw surgery; "
        "treatment was done in two phases or more); this is not so: treatment was done in two phases or more."
    )
    assert len(list(requirements.walk(requirements.read(data)))) == 7


def test_a_group_is_not_empty_not_too_deep_and_asks_for_no_more_than_it_holds() -> None:
    deep: dict[str, Any] = MET
    for _ in range(7):
        deep = {"kind": "not", "that": deep}
    for data, said in (
        ({"kind": "all", "of": []}, "condition.of: is required"),
        ({"kind": "at_least_of", "at_least": 3, "of": [MET, MET]}, "3 of 2 conditions can never be met"),
        (deep, "at most 6 deep"),
        ({"kind": "any", "of": [MET] * 21}, "at most 20"),
        ({"kind": "any", "of": "x"}, "is not a list"),
    ):
        with pytest.raises(requirements.RequirementRefused, match=said):
            requirements.read(data)
