"""Totals of many sheets at once are those of one sheet after the other, and of 50-digit arithmetic."""

import math
import random
from collections.abc import Mapping
from dataclasses import replace
from decimal import Decimal

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from portfolio.errors import OwnError
from portfolio.finding_sheet import Finding, Sheet
from scoring.registry import INDEXES
from scoring.uncertainty import (
    BY_FINDING,
    CannotBeTold,
    Distribution,
    ErrorModel,
    Question,
    law_of,
    laws_of,
)
from tests.scoring.sheets import cases, neutral_with
from tests.scoring.uncertainty.fifty_digits import exact_below
from tests.scoring.uncertainty.mouths import drawn, traced, unsure

DISCREPANCY = INDEXES["discrepancy"]
OWN = (OwnError("overjet", "caliper", 0.17, 0.02, 40),)


def apart(a: Distribution, b: Distribution) -> float:
    one, other = a.probabilities, b.probabilities
    return max(abs(one.get(v, 0.0) - other.get(v, 0.0)) for v in {*one, *other})


def held(
    sheets: list[Sheet],
    errors: ErrorModel,
    question: Question = Question.TRUE_SCORE,
    choices: Mapping[str, str] | None = None,
) -> int:
    """Every total against that of the sheet alone; how many were worked out one by one."""
    told = laws_of(DISCREPANCY, sheets, errors, question, choices=choices)
    for sheet, total in zip(sheets, told.totals, strict=True):
        assert isinstance(total, Distribution)
        assert math.fsum(total.chances) == pytest.approx(1, abs=1e-13)
        alone = law_of(DISCREPANCY, sheet, errors, question, choices=choices).total
        assert apart(total, alone) < 1e-12
    return told.one_by_one


def test_many_drawn_mouths_have_the_totals_that_each_has_alone() -> None:
    rng = random.Random(23)
    sheets = [drawn(rng) for _ in range(30)]
    sheets += [unsure("discrepancy"), *(case.sheet for case in cases("discrepancy")[:25])]
    assert held(sheets, ErrorModel()) == 0
    assert held(sheets[:12], BY_FINDING) == 0
    assert held(sheets[:12], ErrorModel(OWN, step=Decimal("0.5")), Question.ANOTHER_EXAMINER) == 0


def test_under_every_rule_choice_they_are_the_same_as_alone() -> None:
    rng = random.Random(4)
    sheets = [drawn(rng) for _ in range(2)]
    # fractions of points have hundreds of values: one mouth with few of them
    few = [neutral_with(["anb mouth 6.4", "overbite 11 -0.4", "crowding upper 2.8"])]
    for choice in DISCREPANCY.choices:
        for value in choice.values[1:]:
            held(few if value == "fraction" else sheets, ErrorModel(), choices={choice.id: value})


def test_causes_that_findings_share_are_worked_out_for_the_sheet_alone_and_counted() -> None:
    rng = random.Random(8)
    sheets = [drawn(rng) for _ in range(8)]
    sheets[2] = traced(sheets[2], rng)
    sheets[5] = traced(sheets[5], rng, ("anb", "sn_mp"))
    sheets[6] = traced(sheets[6], rng, ("impa",))
    scale = (("scale/p", "0.10"),)
    sheets[7] = replace(
        sheets[7],
        findings=tuple(
            replace(f, sd="0.20", error_parts=scale) if f.quantity == "overjet" else f
            for f in sheets[7].findings
        ),
    )
    assert held(sheets, ErrorModel()) == 3, "one angle alone shares with nobody"


@settings(max_examples=10, deadline=None)
@given(st.integers(0, 10_000), st.integers(0, 5))
def test_neither_company_nor_order_moves_a_total(seed: int, shift: int) -> None:
    rng = random.Random(seed)
    sheets = [drawn(rng) for _ in range(6)]
    first = laws_of(DISCREPANCY, sheets).totals
    turned = laws_of(DISCREPANCY, sheets[shift:] + sheets[:shift]).totals
    (alone,) = laws_of(DISCREPANCY, [replace(sheets[shift], findings=sheets[shift].findings[::-1])]).totals
    for one, other in ((first[shift], turned[0]), (first[shift], alone)):
        assert isinstance(one, Distribution)
        assert isinstance(other, Distribution)
        assert apart(one, other) < 1e-13


def test_a_total_of_two_uncertain_findings_is_that_of_fifty_digit_arithmetic() -> None:
    """Overjet 5.2 ± 0.3 and ANB 5.4 ± 0.7, all else certain: P(total = 2) = Φ(−0.2/0.3) Φ(0.1/0.7)."""
    sheet = neutral_with()
    certain = tuple(replace(f, sd="0") for f in sheet.findings if (f.quantity, f.site) != ("anb", "mouth"))
    findings = (*certain, Finding("overjet", "11", "5.2", sd="0.3"), Finding("anb", "mouth", "5.4", sd="0.7"))
    (total,) = laws_of(DISCREPANCY, [replace(sheet, findings=findings)], BY_FINDING).totals
    assert isinstance(total, Distribution)
    two = exact_below(Decimal("-0.2") / Decimal("0.3")) * exact_below(Decimal("0.1") / Decimal("0.7"))
    assert total.probabilities[Decimal(2)] == pytest.approx(float(two), abs=1e-12)


def test_other_indices_go_one_by_one_and_what_has_no_total_says_why() -> None:
    told = laws_of(INDEXES["par"], [unsure("par")])
    assert told.one_by_one == 1
    assert isinstance(told.totals[0], Distribution)
    (refused,) = laws_of(INDEXES["space"], [cases("space")[0].sheet]).totals
    assert isinstance(refused, CannotBeTold)
    assert laws_of(DISCREPANCY, []).totals == ()
    with pytest.raises(ValueError, match="one sheet"):
        laws_of(DISCREPANCY, [], ErrorModel(readings={("anb", "mouth"): (Decimal(4), Decimal(5))}))
