"""Conditions on extractions, surgery, phases, time, hands, appliances, and whether the case was presented before."""

from decimal import Decimal
from typing import Any

import pytest

from plans import requirements
from plans.facts import CaseFacts
from tests.plans.held_cases import answer, course, seen, state

NOTHING = CaseFacts("A", "P")
FOUR_FIRST = frozenset(("14", "24", "34", "44"))


@pytest.mark.parametrize(
    ("fields", "extracted", "expected"),
    [
        ({"shape": "none"}, frozenset(), "met"),
        ({"shape": "none"}, frozenset(("38", "48", "54")), "met"),
        ({"shape": "none"}, frozenset(("14",)), "not_met"),
        ({"shape": "at_least", "number": 4}, FOUR_FIRST, "met"),
        ({"shape": "at_least", "number": 4}, FOUR_FIRST - {"44"} | {"48"}, "not_met"),
        ({"shape": "quadrants", "quadrants": ["1", "2"]}, FOUR_FIRST, "met"),
        (
            {"shape": "quadrants", "quadrants": ["1", "2", "3", "4"]},
            frozenset(("14", "24", "35", "44")),
            "met",
        ),
        ({"shape": "quadrants", "quadrants": ["3", "4"]}, frozenset(("14", "24", "38", "48")), "not_met"),
        ({"shape": "teeth", "teeth": ["14", "24"]}, FOUR_FIRST, "met"),
        ({"shape": "teeth", "teeth": ["14", "25"]}, FOUR_FIRST, "not_met"),
        ({"shape": "teeth", "teeth": ["38"]}, frozenset(("38",)), "met"),
        ({"shape": "only_teeth", "teeth": ["14", "24"]}, frozenset(("14", "24", "18")), "met"),
        ({"shape": "only_teeth", "teeth": ["14", "24"]}, FOUR_FIRST, "not_met"),
        ({"shape": "only_teeth", "teeth": ["14", "24"]}, frozenset(("14",)), "not_met"),
    ],
)
def test_extraction_patterns(fields: dict[str, Any], extracted: frozenset[str], expected: str) -> None:
    assert state("extractions", course(extracted=extracted), **fields) == expected
    assert state("extractions", NOTHING, **fields) == "unknown"


@pytest.mark.parametrize(
    ("kind", "fields", "parts", "expected"),
    [
        ("extractions", {"shape": "none"}, {"extracted": frozenset()}, "unknown"),
        ("extractions", {"shape": "none"}, {"extracted": FOUR_FIRST}, "not_met"),
        ("extractions", {"shape": "at_least", "number": 4}, {"extracted": FOUR_FIRST}, "met"),
        ("extractions", {"shape": "at_least", "number": 5}, {"extracted": FOUR_FIRST}, "unknown"),
        (
            "extractions",
            {"shape": "quadrants", "quadrants": ["1"]},
            {"extracted": frozenset(("24",))},
            "unknown",
        ),
        ("extractions", {"shape": "teeth", "teeth": ["14"]}, {"extracted": FOUR_FIRST}, "met"),
        ("extractions", {"shape": "only_teeth", "teeth": ["14", "24"]}, {"extracted": FOUR_FIRST}, "not_met"),
        (
            "extractions",
            {"shape": "only_teeth", "teeth": ["14"]},
            {"extracted": frozenset(("14",))},
            "unknown",
        ),
        ("surgery", {}, {"surgery": True}, "met"),
        ("surgery", {}, {"surgery": False}, "unknown"),
        ("surgery", {"wanted": False}, {"surgery": False}, "unknown"),
        ("surgery", {"wanted": False}, {"surgery": True}, "not_met"),
        ("two_phases", {}, {"phases": 2}, "met"),
        ("two_phases", {"wanted": False}, {"phases": 1}, "unknown"),
        ("appliances", {"families": ["headgear"]}, {"appliances": frozenset(("headgear",))}, "met"),
        (
            "appliances",
            {"families": ["headgear"], "used": False},
            {"appliances": frozenset(("elastics",))},
            "unknown",
        ),
    ],
)
def test_while_treatment_goes_on_what_may_follow_is_unknown(
    kind: str, fields: dict[str, Any], parts: dict[str, Any], expected: str
) -> None:
    found = answer(kind, course(over=False, **parts), **fields)
    assert found.state == expected
    assert [lack.key for lack in found.lacks] == (["end"] if expected == "unknown" else [])


def test_a_pattern_takes_its_own_fields_and_no_others() -> None:
    for fields, said in (
        ({"shape": "at_least"}, "condition.number: is required"),
        ({"shape": "quadrants"}, "condition.quadrants: is required"),
        ({"shape": "none", "number": 2}, "condition.number: belongs to another pattern"),
        ({"shape": "teeth", "teeth": ["19"]}, "is not an ISO 3950 tooth"),
        ({"shape": "teeth", "teeth": ["14", "14"]}, "names a tooth twice"),
    ):
        with pytest.raises(requirements.RequirementRefused, match=said):
            requirements.read({"kind": "extractions", **fields})


@pytest.mark.parametrize(
    ("kind", "yes", "no"),
    [
        ("surgery", course(surgery=True), course(surgery=False)),
        ("two_phases", course(phases=2), course(phases=1)),
        ("taken_over", course(transferred_in=True), course(transferred_in=False)),
        (
            "asymmetry",
            CaseFacts("A", "P", statements={"asymmetry": True}),
            CaseFacts("A", "P", statements={"asymmetry": False}),
        ),
        (
            "asymmetry",
            seen({"skeletal_asymmetry mouth": "nonsurgical"}),
            seen({"skeletal_asymmetry mouth": "none"}),
        ),
    ],
)
def test_what_was_so_or_not(kind: str, yes: CaseFacts, no: CaseFacts) -> None:
    assert (state(kind, yes), state(kind, no)) == ("met", "not_met")
    assert (state(kind, yes, wanted=False), state(kind, no, wanted=False)) == ("not_met", "met")
    for wanted in (True, False):
        assert state(kind, NOTHING, wanted=wanted) == "unknown"


def test_an_asymmetry_that_cannot_be_told_is_unknown_and_a_statement_wins() -> None:
    cannot = seen({"skeletal_asymmetry mouth": "unknown"})
    assert state("asymmetry", cannot) == "unknown"
    stated = CaseFacts(
        "A", "P", stages=seen({"skeletal_asymmetry mouth": "none"}).stages, statements={"asymmetry": True}
    )
    assert state("asymmetry", stated) == "met"


@pytest.mark.parametrize(
    ("months", "fields", "expected", "margin"),
    [
        (30, {"at_most": 30}, "met", "0"),
        (31, {"at_most": 30}, "not_met", "-1"),
        (12, {"at_least": 12}, "met", "0"),
        (11, {"at_least": 12}, "not_met", "-1"),
    ],
)
def test_active_treatment_time(months: int, fields: dict[str, int], expected: str, margin: str) -> None:
    found = answer("treatment_time", course(active_months=months), **fields)
    assert (found.state, str(found.margin), found.unit) == (expected, margin, "months")
    assert state("treatment_time", course(phase_months={2: months}), phase=2, **fields) == expected
    assert state("treatment_time", course(phase_months={2: months}), phase=1, **fields) == "unknown"
    assert state("treatment_time", NOTHING, **fields) == "unknown"


@pytest.mark.parametrize(
    ("shares", "supervised", "expected"),
    [
        ({"candidate": "75", "another": "25"}, False, "met"),
        ({"candidate": "74.9", "another": "25.1"}, False, "not_met"),
        ({"candidate": "50", "supervised": "25", "another": "25"}, True, "met"),
        ({"candidate": "50", "supervised": "25", "another": "25"}, False, "not_met"),
        ({"candidate": "50", "": "50"}, False, "unknown"),
        ({"candidate": "80", "": "20"}, False, "met"),
        ({"another": "40", "": "60"}, False, "not_met"),
    ],
)
def test_the_candidates_share(shares: dict[str, str], supervised: bool, expected: str) -> None:
    facts = course(share_percent={who: Decimal(share) for who, share in shares.items()})
    assert state("treated_by", facts, share_at_least="75", supervised=supervised) == expected
    assert state("treated_by", NOTHING, share_at_least="75") == "unknown"


def test_the_candidates_parts() -> None:
    asked = {"parts": ["appliances_on", "end"], "supervised": False}
    for hands, expected in (
        ({"appliances_on": ("candidate",), "end": ("candidate",)}, "met"),
        ({"appliances_on": ("candidate", "another"), "end": ("candidate",)}, "not_met"),
        ({"appliances_on": ("supervised",), "end": ("candidate",)}, "not_met"),
        ({"appliances_on": ("candidate",)}, "unknown"),
        ({"appliances_on": ("another",)}, "not_met"),
    ):
        assert state("treated_by", course(hands=hands), **asked) == expected
    both = answer("treated_by", course(hands={"end": ("another",)}), share_at_least="50", parts=["end"])
    assert (both.state, both.lacks) == ("not_met", ())


def test_appliance_families() -> None:
    asked = {"families": ["functional", "headgear"]}
    for used, expected in (
        (frozenset(("headgear", "elastics")), "met"),
        (frozenset(("elastics",)), "not_met"),
        (frozenset[str](), "not_met"),
    ):
        assert state("appliances", course(appliances=used), **asked) == expected
        turned = "met" if expected == "not_met" else "not_met"
        assert state("appliances", course(appliances=used), used=False, **asked) == turned
    for wanted in (True, False):
        assert state("appliances", NOTHING, used=wanted, **asked) == "unknown"


def test_never_presented() -> None:
    for presented, expected in ((False, "met"), (True, "not_met"), (None, "unknown")):
        assert state("never_presented", CaseFacts("A", "P", presented=presented)) == expected


def test_sentences() -> None:
    said = [
        requirements.read(data).sentence()
        for data in (
            {"kind": "extractions", "shape": "none"},
            {"kind": "extractions", "shape": "at_least", "number": 1},
            {"kind": "extractions", "shape": "quadrants", "quadrants": ["2"]},
            {"kind": "extractions", "shape": "only_teeth", "teeth": ["24", "14"]},
            {"kind": "treatment_time", "at_most": 30, "phase": 2},
            {"kind": "treated_by", "share_at_least": "75", "parts": ["end"], "supervised": False},
            {"kind": "appliances", "families": ["headgear", "aligners"], "used": False},
            {"kind": "taken_over", "wanted": False},
            {"kind": "never_presented"},
        )
    ]
    assert said == [
        "Treatment was without extraction of permanent teeth (third molars aside).",
        "At least one permanent tooth (third molars aside) was extracted in treatment.",
        "At least one permanent tooth (third molars aside) was extracted in this quadrant: upper left.",
        "The teeth extracted in treatment are exactly 14, 24 (third molars aside).",
        "The active treatment time of phase 2 is at most 30 months.",
        "The candidate treated the patient for at least 75% of the active time and did these parts: "
        "end of active treatment, not under supervision.",
        "Treatment was without aligners or headgear.",
        "The case was not taken over from another office.",
        "The case was never presented before.",
    ]
