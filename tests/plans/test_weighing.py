"""Cases held against slots: who may be chosen, what they weigh, and that nothing unknown helps."""

from __future__ import annotations

import math
from collections.abc import Mapping
from decimal import Decimal
from typing import Any

import pytest

from plans.document import GroupRule, Plan, RecordRule, Slot
from plans.facts import CaseFacts, RecordFact, ScoreFact, StageFacts
from plans.requirements import read
from plans.selection import choose, helps_most
from plans.weighing import cells, if_good, item, problem_of, rule_of

TWENTY = {"kind": "index", "index": "discrepancy", "stage": "initial", "at_least": "20"}
FIRM = {**TWENTY, "firmly": True}
ASYMMETRY = {"kind": "asymmetry"}


def scored(total: int, *, complete: bool = True, under: Mapping[str, Decimal | None] | None = None) -> Any:
    missing = () if complete else ("ANB",)
    return {
        ("discrepancy", "initial"): ScoreFact(
            "discrepancy", "initial", "form", Decimal(total), complete, missing, under or {}
        )
    }


def case(code: str, total: int, patient: str = "", **more: Any) -> CaseFacts:
    complete = more.pop("complete", True)
    under = more.pop("under", None)
    return CaseFacts(
        code, patient or f"P{code}", scores=scored(total, complete=complete, under=under), **more
    )


def plan(*conditions: Mapping[str, Any], **more: Any) -> Plan:
    slots = tuple(Slot(f"s{n}", f"Slot {n}", read(one)) for n, one in enumerate(conditions))
    return Plan("Harbour plan", slots, **more)


def test_a_case_fits_where_the_condition_is_met_and_nowhere_else() -> None:
    cases = [
        case("A", 20),
        case("B", 19),
        case("C", 12, complete=False),
        case("D", 22, under={"open_bite_start=edge_point_plus": Decimal(18)}),
    ]
    table = cells(plan(TWENTY, FIRM), cases)
    states = {pair: cell.answer.state for pair, cell in table.items()}
    assert states["A", "s0"] == states["A", "s1"] == "met"
    assert states["B", "s0"] == "not_met"
    assert states["C", "s0"] == "unknown"
    assert (states["D", "s0"], states["D", "s1"]) == ("met", "depends")
    problem = problem_of(plan(TWENTY, FIRM), cases, table)
    assert set(problem.weights) == {("A", "s0"), ("A", "s1"), ("D", "s0")}


def test_a_condition_without_a_number_lies_at_no_limit() -> None:
    table = cells(plan({"kind": "asymmetry"}), [case("A", 3, statements={"asymmetry": True})])
    assert table["A", "s0"].weight == (1.0, math.inf)


def test_records_stand_beside_the_condition() -> None:
    wanted = RecordRule("initial", ("casts", "lateral"))
    when = RecordRule("final", ("casts",), read(ASYMMETRY))
    of = plan(TWENTY, records=(wanted, when))
    stages = {"initial": StageFacts("initial", records={"lateral": RecordFact("not_taken")})}
    [cell] = cells(of, [case("A", 25, stages=stages)]).values()
    assert cell.fits
    assert not cell.records_told
    [(_, initial), (_, final)] = cell.records
    assert [lack.key for lack in initial.lacks] == ["casts"]
    assert final.state == "unknown"
    stages = {
        "initial": StageFacts(
            "initial", records={"lateral": RecordFact("not_taken"), "casts": RecordFact("present")}
        )
    }
    [cell] = cells(of, [case("A", 25, stages=stages, statements={"asymmetry": False})]).values()
    assert cell.records_told


def test_an_unknown_case_counts_against_a_most_and_not_for_a_least() -> None:
    rule = GroupRule("crooked", "Asymmetric cases", read(ASYMMETRY), 1, 1)
    of = plan(TWENTY, TWENTY, groups=(rule,))
    cases = [case("A", 30), case("B", 25), case("C", 21, statements={"asymmetry": True})]
    least, most = problem_of(of, cases, cells(of, cases)).rules
    assert (set(least.cases), least.at_least, least.at_most) == ({"C"}, 1, None)
    assert (set(most.cases), most.at_least, most.at_most) == ({"A", "B", "C"}, 0, 1)
    assert rule_of(of, least.key) is rule_of(of, most.key) is rule


def test_the_missing_thing_that_would_fill_a_slot_is_named() -> None:
    of = plan(TWENTY)
    cases = [case("A", 19), case("B", 12, complete=False)]
    table = cells(of, cases)
    problem = problem_of(of, cases, table)
    assert choose(problem).empty == ("s0",)
    [lack] = table["B", "s0"].answer.lacks
    [best] = helps_most(problem, if_good(table))
    assert best.items == (item("B", lack),)
    assert [(pair.case, pair.slot) for pair in best.new_pairs] == [("B", "s0")]


def test_one_patient_is_chosen_once_and_hands_are_kept() -> None:
    of = plan(TWENTY, TWENTY)
    cases = [case("A", 30, "P1"), case("B", 29, "P1"), case("C", 21, "P2")]
    table = cells(of, cases)
    chosen = choose(problem_of(of, cases, table))
    assert {pair.case for pair in chosen.pairs} == {"A", "C"}
    chosen = choose(problem_of(of, cases, table, fixed={"C": "s0"}, excluded={"A"}))
    assert {pair.slot: pair.case for pair in chosen.pairs} == {"s0": "C", "s1": "B"}


@pytest.mark.parametrize("chance", [0.4, None])
def test_a_chance_is_handed_on_and_none_is_certainty(chance: float | None) -> None:
    tails = None if chance is None else {19: 1.0, 20: chance, 21: 0.0}
    fact = ScoreFact("discrepancy", "initial", "form", Decimal(20), True, under={}, tails=tails, sd=2.0)
    facts = CaseFacts("A", "P", scores={("discrepancy", "initial"): fact})
    [cell] = cells(plan(TWENTY), [facts]).values()
    assert cell.weight.chance == (1.0 if chance is None else chance)
    assert cell.weight.margin_sd == 0.0
