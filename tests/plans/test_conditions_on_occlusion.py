"""Conditions on bites, relations and arches: each met, not met and unknown, exactly at the limit and beside it."""

from typing import Any

import pytest
from scipy import stats

from plans import requirements
from plans.facts import CaseFacts, StageFacts
from plans.requirements.seen import chance_of_at_least
from portfolio.errors import default_error
from portfolio.finding_sheet import Finding, Sheet
from tests.plans.held_cases import answer, front, seen, state

NOTHING = CaseFacts("A", "P")


def bite(values: str, **more: str) -> CaseFacts:
    return seen({**front("overbite", values), **more})


@pytest.mark.parametrize(
    ("fields", "values", "expected"),
    [
        ({}, "2 2 -0.5 2 2 2", "met"),
        ({}, "2 2 0 2 2 2", "not_met"),
        ({}, "2 2 2 . 2 2", "unknown"),
        ({}, "2 2 -1 . . .", "met"),
        ({"at_least": "1"}, "2 -1 2 2 2 2", "met"),
        ({"at_least": "1"}, "2 -0.9 2 2 2 2", "not_met"),
        ({"teeth_at_least": 2, "at_least": "1"}, "2 -1 -3 2 2 2", "met"),
        ({"teeth_at_least": 2, "at_least": "1"}, "2 -1 2 . 2 2", "unknown"),
        ({"teeth_at_least": 4, "at_least": "1"}, "2 -1 2 . 2 2", "not_met"),
    ],
)
def test_open_bite_in_front(fields: dict[str, Any], values: str, expected: str) -> None:
    assert state("open_bite", bite(values), region="anterior", **fields) == expected
    assert state("open_bite", NOTHING, region="anterior", **fields) == "unknown"


def test_a_statement_about_the_rest_closes_what_was_open() -> None:
    cells = {"overbite 11": "2", "overbite mouth": "rest_none"}
    assert state("open_bite", seen(cells), region="anterior") == "not_met"
    assert state("open_bite", seen({"posterior_open_bite mouth": "none"}), region="posterior") == "not_met"
    one = {"posterior_open_bite 16": "1.5", "posterior_open_bite mouth": "rest_none"}
    assert state("open_bite", seen(one), region="posterior", at_least="1.5") == "met"
    assert state("open_bite", seen(one), region="posterior", at_least="1.6") == "not_met"
    assert state("open_bite", seen(one), region="posterior", teeth_at_least=2) == "not_met"
    assert state("open_bite", seen({"posterior_open_bite right": "none"}), region="posterior") == "unknown"


def test_teeth_that_are_not_there_or_half_there_are_left_out() -> None:
    values = "2 2 2 2 2 ."
    assert state("open_bite", bite(values), region="anterior") == "unknown"
    for gone in ({"missing 23": "congenital"}, {"eruption 23": "partial"}, {"blocked_out 23": "labial"}):
        assert state("open_bite", bite(values, **gone), region="anterior") == "not_met"


def test_the_chance_of_an_open_bite_is_that_of_enough_teeth() -> None:
    sd = default_error("overbite").sd
    each = stats.norm.sf(1, loc=1.3, scale=sd)
    facts = bite("2 -1.3 -1.3 -1.3 2 2")
    found = answer("open_bite", facts, region="anterior", at_least="1", teeth_at_least=2)
    assert found.chance == pytest.approx(stats.binom(3, each).sf(1))
    assert (str(found.margin), found.unit) == ("0.3", "mm")
    assert found.margin_sd == pytest.approx(0.3 / sd)
    assert chance_of_at_least(3, [0.2] * 7) == pytest.approx(stats.binom(7, 0.2).sf(2))
    assert chance_of_at_least(0, []) == 1


@pytest.mark.parametrize(
    ("fields", "cells", "expected"),
    [
        ({"teeth_at_least": 1}, {"crossbite 16": "upper_inside"}, "met"),
        ({"teeth_at_least": 2}, {"crossbite 16": "upper_inside", "crossbite 26": "upper_outside"}, "met"),
        (
            {"teeth_at_least": 2, "sense": "inside"},
            {"crossbite 16": "upper_inside", "crossbite 26": "upper_outside", "crossbite mouth": "rest_none"},
            "not_met",
        ),
        ({"teeth_at_least": 1, "sense": "outside"}, {"crossbite 26": "upper_outside"}, "met"),
        ({"teeth_at_least": 1}, {"crossbite mouth": "none"}, "not_met"),
        ({"teeth_at_least": 1}, {"crossbite 16": "edge", "crossbite mouth": "rest_none"}, "not_met"),
        ({"teeth_at_least": 1}, {"crossbite right": "none"}, "unknown"),
        ({"teeth_at_least": 3}, {"crossbite 16": "upper_inside", "crossbite right": "rest_none"}, "unknown"),
        ({"teeth_at_least": 7}, {"crossbite 16": "upper_inside", "crossbite right": "rest_none"}, "not_met"),
    ],
)
def test_crossbite_behind(fields: dict[str, Any], cells: dict[str, str], expected: str) -> None:
    assert state("crossbite", seen(cells), region="posterior", **fields) == expected


def test_crossbite_in_front_is_reverse_overjet() -> None:
    for values, expected in (
        ("3 3 -1 -0.5 3 3", "met"),
        ("3 3 -1 0 3 3", "not_met"),
        ("3 3 -1 . 3 3", "unknown"),
    ):
        facts = seen(front("overjet", values))
        assert state("crossbite", facts, region="anterior", teeth_at_least=2) == expected
    found = answer("crossbite", seen(front("overjet", "3 3 -1 -2 3 3")), region="anterior")
    assert found.says == "in crossbite: 11, 21"
    with pytest.raises(requirements.RequirementRefused, match="behind the canines only"):
        requirements.read({"kind": "crossbite", "region": "anterior", "sense": "inside"})


def test_deep_bite_by_cover_or_by_millimetres() -> None:
    for value, expected in (("80", "met"), ("79.9", "not_met"), ("100", "met")):
        assert (
            state("deep_bite", seen({"overbite_cover mouth": value}), by="cover", at_least="80") == expected
        )
    assert state("deep_bite", seen({}), by="cover", at_least="80") == "unknown"
    # Where no incisor overlaps nothing is covered, though nobody recorded a cover.
    assert state("deep_bite", bite("1 0 -2 -1 0 1"), by="cover", at_least="80") == "not_met"
    assert state("deep_bite", bite("1 0 -2 -1 0.5 1"), by="cover", at_least="80") == "unknown"
    assert state("deep_bite", bite("1 0 . -1 0 1"), by="cover", at_least="80") == "unknown"
    for values, expected in (
        ("9 4 5 4 4 9", "met"),
        ("9 4 4.9 4 4 9", "not_met"),
        (". . 5 . . .", "met"),
        ("9 . 4 4 4 9", "unknown"),
    ):
        assert state("deep_bite", bite(values), by="overbite", at_least="5") == expected
    rest = seen({"overbite 11": "4", "overbite mouth": "rest_none"})
    assert state("deep_bite", rest, by="overbite", at_least="5") == "not_met"


def test_overjet_between_limits_in_either_sense() -> None:
    for values, expected in (
        ("0 6 7 3 3 0", "met"),
        ("9 6 6.9 3 3 9", "not_met"),
        ("3 . 6 3 3 3", "unknown"),
    ):
        assert state("overjet", seen(front("overjet", values)), at_least="7") == expected
    assert state("overjet", seen(front("overjet", "3 . 6 3 3 3")), at_most="5") == "not_met"
    assert state("overjet", seen(front("overjet", "3 . 4 3 3 3")), at_most="5") == "unknown"
    reverse = seen(front("overjet", "1 -2 -1 1 1 1"))
    assert answer("overjet", reverse, sense="reverse", at_least="2").says == "2 mm at 12"
    assert state("overjet", reverse, sense="reverse", at_least="2.1") == "not_met"
    forward = seen(front("overjet", "1 2 3 1 1 1"))
    assert answer("overjet", forward, sense="reverse", at_most="0").margin == 0


@pytest.mark.parametrize(
    ("shape", "direction", "right", "left", "expected"),
    [
        ("full_one_side", "2", "full2", "class1", "met"),
        ("full_one_side", "2", "end2", "beyond2", "met"),
        ("full_one_side", "2", "end2", "end2", "not_met"),
        ("full_one_side", "2", "full3", "class1", "not_met"),
        ("full_one_side", "either", "class1", "full3", "met"),
        ("full_one_side", "2", "full2", "", "met"),
        ("full_one_side", "2", "end2", "", "unknown"),
        ("end_one_side", "3", "toward3", "end3", "met"),
        ("end_one_side", "3", "toward3", "toward3", "not_met"),
        ("end_both", "2", "end2", "full2", "met"),
        ("end_both", "2", "end2", "toward2", "not_met"),
        ("end_both", "2", "toward2", "", "not_met"),
        ("end_both", "2", "end2", "", "unknown"),
        ("end_both", "either", "end3", "beyond3", "met"),
        ("end_both", "either", "end2", "end3", "not_met"),
        ("full_both", "3", "full3", "full3", "met"),
        ("full_both", "3", "full3", "end3", "not_met"),
        ("subdivision", "2", "class1", "end2", "met"),
        ("subdivision", "2", "full2", "class1", "met"),
        ("subdivision", "2", "toward2", "end2", "not_met"),
        ("subdivision", "2", "class1", "toward2", "not_met"),
        ("subdivision", "3", "class1", "full2", "not_met"),
        ("subdivision", "either", "class1", "full3", "met"),
        ("subdivision", "2", "class1", "", "unknown"),
        ("subdivision", "2", "toward2", "", "not_met"),
        ("class1_both", "either", "class1", "class1", "met"),
        ("class1_both", "either", "class1", "toward2", "not_met"),
        ("class1_both", "either", "", "", "unknown"),
    ],
)
def test_shapes_of_the_molar_relation(
    shape: str, direction: str, right: str, left: str, expected: str
) -> None:
    for at in ("molar_relation", "canine_relation"):
        if at == "canine_relation" and "beyond" in right + left:
            continue
        cells = {f"{at} {side}": code for side, code in (("right", right), ("left", left)) if code}
        assert state("molar_relation", seen(cells), at=at, shape=shape, direction=direction) == expected
        swapped = {
            place.replace("right", "*").replace("left", "right").replace("*", "left"): code
            for place, code in cells.items()
        }
        assert state("molar_relation", seen(swapped), at=at, shape=shape, direction=direction) == expected


def test_a_relation_read_at_another_tooth_needs_its_note() -> None:
    cells = {"molar_relation right": "full2", "molar_relation left": "full2", "molar_substitute left": "27"}
    assert state("molar_relation", seen(cells), shape="full_both", direction="2") == "unknown"
    assert state("molar_relation", NOTHING, shape="full_both", direction="2") == "unknown"


def test_the_chance_of_a_shape_is_that_of_the_true_codes() -> None:
    # A neighbour on the scale is taken for the code in 5 of 100 each way; so end to end holds with 0.95, full with 1.
    cells = {"molar_relation right": "end2", "molar_relation left": "full2"}
    found = answer("molar_relation", seen(cells), shape="end_both", direction="2")
    assert found.chance == pytest.approx(0.95)
    assert found.says == "right end to end Class II, left full step Class II"
    full = answer("molar_relation", seen(cells), shape="full_one_side", direction="2")
    assert full.chance == pytest.approx(1 - 0.95 * 0.05)


def test_incisor_class() -> None:
    asked = {"classes": ["II/1", "II/2"]}
    for code, expected in (
        ("II/1", "met"),
        ("II/2", "met"),
        ("II_indefinite", "not_met"),
        ("III", "not_met"),
    ):
        assert state("incisor_class", seen({"incisor_class mouth": code}), **asked) == expected
    assert state("incisor_class", seen({}), **asked) == "unknown"


@pytest.mark.parametrize(
    ("sense", "arch", "upper", "lower", "expected"),
    [
        ("crowded", "upper", "6", None, "met"),
        ("crowded", "upper", "5.9", None, "not_met"),
        ("crowded", "lower", "6", None, "unknown"),
        ("crowded", "one", "6", None, "met"),
        ("crowded", "one", "5", None, "unknown"),
        ("crowded", "one", "5", "5", "not_met"),
        ("crowded", "both", "6", "6", "met"),
        ("crowded", "both", "5", None, "not_met"),
        ("crowded", "both", "6", None, "unknown"),
        ("spaced", "upper", "-6", None, "met"),
        ("spaced", "upper", "6", None, "not_met"),
        ("spaced", "one", "none", "-6.5", "met"),
        ("crowded", "one", "none", "none", "not_met"),
    ],
)
def test_crowding_and_spacing(
    sense: str, arch: str, upper: str | None, lower: str | None, expected: str
) -> None:
    cells = {f"crowding {site}": v for site, v in (("upper", upper), ("lower", lower)) if v}
    assert state("crowding", seen(cells), sense=sense, arch=arch, at_least="6") == expected


def test_the_arch_that_decides_gives_margin_and_chance() -> None:
    facts = seen({"crowding upper": "7", "crowding lower": "9"})
    one, both = (answer("crowding", facts, arch=arch, at_least="6") for arch in ("one", "both"))
    assert (str(one.margin), str(both.margin)) == ("3", "1")
    sd = default_error("crowding", "").sd
    assert both.chance == pytest.approx(stats.norm.sf(6, loc=7, scale=sd))
    assert one.says == "upper 7 mm short of space, lower 9 mm short of space"


def test_one_measurement_and_its_chance() -> None:
    asked = {"quantity": "anb", "at_least": "4"}
    for value, expected in (("4", "met"), ("3.9", "not_met"), ("-2", "not_met")):
        assert state("measure", seen({"anb mouth": value}), **asked) == expected
    assert state("measure", seen({}), **asked) == "unknown"
    assert answer("measure", seen({}), **asked).words == "unknown: ANB not recorded"
    assert (
        state(
            "measure", seen({"functional_shift mouth": "unknown"}), quantity="functional_shift", at_least="1"
        )
        == "unknown"
    )
    found = answer("measure", seen({"anb mouth": "5"}), **asked)
    assert found.chance == pytest.approx(stats.norm.sf(4, loc=5, scale=0.7))
    assert answer("measure", seen({"anb mouth": "4"}), **asked).chance == pytest.approx(0.5)
    between = answer("measure", seen({"anb mouth": "5"}), quantity="anb", at_least="4", at_most="5.5")
    assert between.chance == pytest.approx(stats.norm.cdf(5.5, 5, 0.7) - stats.norm.cdf(4, 5, 0.7))
    with pytest.raises(requirements.RequirementRefused, match="anb takes"):
        requirements.read({"kind": "measure", "quantity": "anb", "at_least": "-100"})


def test_an_angle_to_another_mandibular_plane_does_not_count() -> None:
    asked = {"quantity": "sn_mp", "at_least": "38", "plane": "go_me"}
    for plane, expected in (("go_me", "met"), ("go_gn", "unknown"), ("", "unknown")):
        finding = Finding("sn_mp", "mouth", "40", plane=plane)
        sheet = Sheet("initial", "permanent", (finding,))
        facts = CaseFacts("A", "P", stages={"initial": StageFacts("initial", sheet=sheet)})
        found = answer("measure", facts, **asked)
        assert found.state == expected
        assert answer("measure", facts, quantity="sn_mp", at_least="38").state == "met"
    assert found.words == "unknown: SN to mandibular plane (Go–Me) not recorded"
    assert requirements.read({"kind": "measure", **asked}).sentence() == (
        "SN to mandibular plane (Go–Me) before treatment is at least 38°."
    )
    with pytest.raises(requirements.RequirementRefused, match="not measured to the mandibular plane"):
        requirements.read({"kind": "measure", **asked, "quantity": "anb"})


def test_teeth_are_named_in_the_notation_of_the_portfolio() -> None:
    facts = CaseFacts("A", "P", stages=seen(front("overjet", "3 3 -1 3 3 3")).stages, notation="universal")
    assert answer("crossbite", facts, region="anterior").says == "in crossbite: 8"
    asked = requirements.read({"kind": "extractions", "shape": "teeth", "teeth": ["24", "14"]})
    assert asked.sentence("palmer") == "Treatment included extraction of UR4, UL4."
