"""Conditions on missing and impacted teeth, second molars, dentition and age."""

from typing import Any

import pytest

from plans import requirements
from plans.facts import CaseFacts
from portfolio import teeth
from tests.plans.held_cases import answer, seen, staged, state

NOTHING = CaseFacts("A", "P")
ALL_TEETH = teeth.DEFAULT_PERMANENT


@pytest.mark.parametrize(
    ("fields", "cells", "expected"),
    [
        ({"which": "missing"}, {"missing 12": "lost"}, "met"),
        ({"which": "missing"}, {"missing mouth": "none"}, "not_met"),
        ({"which": "missing"}, {"missing upper": "none"}, "unknown"),
        ({"which": "missing"}, {}, "unknown"),
        ({"which": "missing"}, {"missing 18": "extracted", "missing mouth": "rest_none"}, "not_met"),
        (
            {"which": "missing", "teeth_at_least": 2},
            {"missing 12": "lost", "missing mouth": "rest_none"},
            "not_met",
        ),
        ({"which": "congenital"}, {"missing 12": "congenital"}, "met"),
        ({"which": "congenital"}, {"missing 12": "extracted", "missing mouth": "rest_none"}, "not_met"),
        ({"which": "congenital"}, {"missing 12": "unknown", "missing mouth": "rest_none"}, "unknown"),
        ({"which": "impacted"}, {"impacted 13": "yes"}, "met"),
        ({"which": "impacted"}, {"impacted 37": "tipped"}, "met"),
        ({"which": "impacted"}, {"impacted 13": "supernumerary", "impacted mouth": "rest_none"}, "not_met"),
        ({"which": "impacted"}, {"impacted 38": "yes", "impacted mouth": "rest_none"}, "not_met"),
        (
            {"which": "impacted", "canines_only": True},
            {"impacted 37": "yes", "impacted mouth": "rest_none"},
            "not_met",
        ),
        ({"which": "impacted", "canines_only": True}, {"impacted 33": "yes"}, "met"),
        ({"which": "either"}, {"missing mouth": "none"}, "unknown"),
        ({"which": "either"}, {"missing mouth": "none", "impacted mouth": "none"}, "not_met"),
        ({"which": "either", "teeth_at_least": 2}, {"missing 12": "lost", "impacted 13": "yes"}, "met"),
        ({"which": "congenital_or_impacted"}, {"impacted 13": "yes"}, "met"),
    ],
)
def test_missing_and_impacted_teeth(fields: dict[str, Any], cells: dict[str, str], expected: str) -> None:
    assert state("missing_or_impacted", seen(cells), **fields) == expected
    assert state("missing_or_impacted", NOTHING, **fields) == "unknown"


def test_a_listed_or_measured_tooth_is_not_missing() -> None:
    listed = seen({}, teeth=ALL_TEETH)
    assert state("missing_or_impacted", listed, which="missing") == "not_met"
    assert state("missing_or_impacted", listed, which="impacted") == "unknown"
    # Without a list the dentition is only assumed to be whole.
    measured = {f"tooth_width {tooth}": "7" for tooth in ALL_TEETH}
    assert state("missing_or_impacted", seen(measured), which="missing") == "not_met"
    del measured["tooth_width 22"]
    assert state("missing_or_impacted", seen(measured), which="missing") == "unknown"
    # An extra tooth beside it says nothing of the tooth itself.
    assert (
        state("missing_or_impacted", seen({**measured, "supernumerary 22": "1"}), which="missing")
        == "unknown"
    )


def test_what_is_missing_is_named() -> None:
    found = answer("missing_or_impacted", seen({"missing 12": "congenital", "impacted 13": "yes"}))
    assert found.says == "13 impacted and 12 missing"
    lacks = answer("missing_or_impacted", seen({})).lacks
    assert [lack.key for lack in lacks] == ["missing", "impacted"]


@pytest.mark.parametrize(
    ("cells", "frame", "partly", "expected"),
    [
        ({}, {"teeth": ALL_TEETH}, False, "met"),
        ({}, {"teeth": tuple(t for t in ALL_TEETH if t != "47")}, False, "not_met"),
        ({}, {}, False, "unknown"),
        ({"eruption 17": "partial"}, {"teeth": ALL_TEETH}, False, "not_met"),
        ({"eruption 17": "partial"}, {"teeth": ALL_TEETH}, True, "met"),
        ({"eruption 17": "unerupted"}, {"teeth": ALL_TEETH}, True, "not_met"),
        ({"missing 37": "extracted"}, {"teeth": ALL_TEETH}, False, "not_met"),
        ({"impacted 37": "yes"}, {"teeth": ALL_TEETH}, False, "not_met"),
        ({f"eruption {t}": "full" for t in ("17", "27", "37", "47")}, {}, False, "met"),
        ({f"eruption {t}": "full" for t in ("17", "27", "37")}, {}, False, "unknown"),
        (
            {"ridge_step 17-16": "1", "ridge_step 26-27": "0", "eruption 37": "full", "eruption 47": "full"},
            {},
            False,
            "met",
        ),
        ({"eruption 17": "unerupted"}, {}, False, "not_met"),
    ],
)
def test_second_molars(cells: dict[str, str], frame: dict[str, Any], partly: bool, expected: str) -> None:
    facts = seen(cells, stage="final", **frame)
    assert state("second_molars", facts, stage="final", partly=partly) == expected
    assert state("second_molars", NOTHING) == "unknown"


def test_dentition() -> None:
    for dentition, expected in (
        ("mixed", "met"),
        ("primary", "met"),
        ("permanent", "not_met"),
        ("", "unknown"),
    ):
        facts = staged(dentition=dentition)
        assert state("dentition", facts, dentitions=["primary", "mixed"]) == expected
    assert answer("dentition", NOTHING, dentitions=["mixed"]).lacks[0].key == "dentition"


@pytest.mark.parametrize(
    ("months", "fields", "expected", "margin"),
    [
        (143, {"at_most": 143}, "met", "0"),
        (144, {"at_most": 143}, "not_met", "-1"),
        (144, {"at_least": 144}, "met", "0"),
        (143, {"at_least": 144}, "not_met", "-1"),
        (180, {"at_least": 144, "at_most": 215}, "met", "35"),
        (216, {"at_least": 144, "at_most": 215}, "not_met", "-1"),
    ],
)
def test_age_in_completed_months(months: int, fields: dict[str, int], expected: str, margin: str) -> None:
    found = answer("age", staged(age_months=months), **fields)
    assert (found.state, str(found.margin), found.unit) == (expected, margin, "months")


def test_an_age_that_is_not_recorded_is_unknown() -> None:
    for facts in (NOTHING, staged(), staged("final", age_months=200)):
        found = answer("age", facts, at_most=143)
        assert (found.state, found.lacks[0].key, found.lacks[0].stage) == ("unknown", "age", "initial")


def test_sentences() -> None:
    said = [
        requirements.read(data).sentence()
        for data in (
            {"kind": "age", "at_most": 143},
            {"kind": "age", "at_least": 144, "at_most": 190},
            {"kind": "age", "stage": "final", "at_least": 1, "at_most": 13},
            {"kind": "missing_or_impacted", "which": "missing", "teeth_at_least": 2},
            {"kind": "second_molars", "partly": True},
            {"kind": "dentition", "dentitions": ["mixed", "primary"]},
        )
    ]
    assert said == [
        "The age before treatment is under 12 years.",
        "The age before treatment is at least 12 years and at most 15 y 10 m.",
        "The age at the end of treatment is at least 0 y 1 m and at most 1 y 1 m.",
        "At least two permanent teeth are missing before treatment (third molars aside).",
        "All four second molars have at least partly erupted at the end of treatment.",
        "The dentition before treatment is primary or mixed.",
    ]
