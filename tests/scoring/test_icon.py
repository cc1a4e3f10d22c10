"""ICON against its published rules: every limit, what gives the top score, what is missing, judgements.

Rules from memory of Daniels and Richmond, J Orthod 2000;27:149-162; the aesthetic weight and the top score
of impacted teeth were read in an annex that explains the index.
"""

import json
from decimal import Decimal
from functools import partial
from io import StringIO
from pathlib import Path

import pytest
from django.core.management import call_command
from hypothesis import given
from hypothesis import strategies as st

from portfolio.readings import Sheet, write_json
from portfolio.sources import cite
from scoring import kernel, registry
from scoring.index import ChoiceRefused
from scoring.kernel import tallies
from tests.scoring import scored_lines
from tests.scoring.rule_cells import fired_cells, held_cells
from tests.scoring.scored_lines import lacks, line
from tests.scoring.sheets import cases, neutral_with

INDEX = registry.index("icon")
MIXED = "16 55 54 53 12 11 21 22 63 64 65 26 46 85 84 83 42 41 31 32 73 74 75 36"
WORST = (
    "aesthetic_component mouth 10",
    "crowding upper 20",
    "overjet 11 -1",
    "overbite 21 -5",
    "buccal_interdigitation right cusp_to_cusp",
    "buccal_interdigitation left cusp_to_cusp",
)
scored = partial(scored_lines.scored, "icon")
raw = partial(scored_lines.raw, "icon")


def test_every_rule_band_and_code_fires_in_a_worked_case() -> None:
    fired: set[str] = set()
    for case in cases("icon"):
        fired |= fired_cells(tallies(INDEX, case.sheet, INDEX.terms(case.edition, case.choices)))
    assert sorted(held_cells(INDEX, "2000", {}) - fired) == []


def test_totals_run_from_7_to_128() -> None:
    """7 and 128 follow from the rules by arithmetic."""
    assert scored().total == 7
    assert scored(*WORST).total == 128


def test_weights_stand_in_the_order_of_the_form() -> None:
    terms = INDEX.terms(None, {})
    assert {c: terms.weight(c) for c in INDEX.categories} == {
        "aesthetic": 7,
        "upper_space": 5,
        "crossbite": 5,
        "vertical": 4,
        "buccal_ap": 3,
    }
    assert list(INDEX.categories) == ["aesthetic", "upper_space", "crossbite", "vertical", "buccal_ap"]
    assert (INDEX.editions, INDEX.choices) == (("2000",), ())


@pytest.mark.parametrize("grade", range(1, 11))
def test_the_aesthetic_grade_counts_seven_times(grade: int) -> None:
    score = scored(f"aesthetic_component mouth {grade}")
    assert score.categories["aesthetic"] == 7 * grade
    found = line(score, "aesthetic", "mouth").as_dict()
    more = {"at": str(grade + 1), "points": str(7 * grade + 7), "distance": "1"}
    fewer = {"at": str(grade - 1), "points": str(7 * grade - 7), "distance": "1"}
    assert found["next_step"] == (more if grade < 10 else None)
    assert found["previous_step"] == (fewer if grade > 1 else None)


def test_a_grade_with_zeros_behind_the_point_is_the_same_grade() -> None:
    assert raw("aesthetic", "aesthetic_component mouth 5.0") == 5


@pytest.mark.parametrize(
    ("category", "finding", "below", "at", "above"),
    [
        ("upper_space", "crowding upper {}", ("1.99", 0), ("2", 0), ("2.01", 1)),
        ("upper_space", "crowding upper {}", ("4.99", 1), ("5", 1), ("5.01", 2)),
        ("upper_space", "crowding upper {}", ("8.99", 2), ("9", 2), ("9.01", 3)),
        ("upper_space", "crowding upper {}", ("12.99", 3), ("13", 3), ("13.01", 4)),
        ("upper_space", "crowding upper {}", ("16.99", 4), ("17", 4), ("17.01", 5)),
        ("upper_space", "crowding upper {}", ("-1.99", 0), ("-2", 0), ("-2.01", 1)),
        ("upper_space", "crowding upper {}", ("-4.99", 1), ("-5", 1), ("-5.01", 2)),
        ("upper_space", "crowding upper {}", ("-8.99", 2), ("-9", 2), ("-9.01", 3)),
        ("crossbite", "overjet 11 {}", ("-0.01", 1), ("0", 1), ("0.01", 0)),
        ("crossbite", "overjet 23 {}", ("-0.01", 1), ("0", 1), ("0.01", 0)),
        ("vertical", "overbite_cover mouth {}", ("33.33", 0), ("33.34", 1), ("66.66", 1)),
        ("vertical", "overbite_cover mouth {}", ("66.67", 2), ("99.99", 2), ("100", 3)),
        ("vertical", "overbite 12 {}", ("0.01", 0), ("0", 0), ("-0.01", 1)),
        ("vertical", "overbite 12 {}", ("-0.99", 1), ("-1", 1), ("-1.01", 2)),
        ("vertical", "overbite 12 {}", ("-1.99", 2), ("-2", 2), ("-2.01", 3)),
        ("vertical", "overbite 12 {}", ("-3.99", 3), ("-4", 3), ("-4.01", 4)),
        ("vertical", "overbite 13 {}", ("-1", 0), ("-4", 0), ("-9", 0)),
    ],
)
def test_just_below_at_and_just_above_a_limit(
    category: str, finding: str, below: tuple[str, int], at: tuple[str, int], above: tuple[str, int]
) -> None:
    for value, points in (below, at, above):
        assert raw(category, finding.format(value)) == points, value


@given(st.integers(-3000, 3000), st.integers(-3000, 3000))
def test_more_crowding_or_more_spacing_never_scores_less(a: int, b: int) -> None:
    if a * b >= 0:
        less, more = sorted((a, b), key=abs)
        found = [raw("upper_space", f"crowding upper {Decimal(v) / 100}") for v in (less, more)]
        assert found[0] <= found[1]


@given(st.integers(0, 2000), st.integers(0, 2000))
def test_a_wider_open_bite_never_scores_less(a: int, b: int) -> None:
    found = [raw("vertical", f"overbite 11 -{Decimal(v) / 100}") for v in sorted((a, b))]
    assert found[0] <= found[1]


@given(st.integers(0, 20000), st.integers(0, 20000))
def test_more_cover_never_scores_less(a: int, b: int) -> None:
    found = [raw("vertical", f"overbite_cover mouth {Decimal(v) / 100}") for v in sorted((a, b))]
    assert found[0] <= found[1]
    assert found[0] == sum(3 * min(a, b) > limit for limit in (10000, 20000)) + (min(a, b) >= 10000)


@given(st.integers(1, 10), st.integers(1, 10))
def test_a_higher_grade_never_scores_less(a: int, b: int) -> None:
    found = [raw("aesthetic", f"aesthetic_component mouth {v}") for v in sorted((a, b))]
    assert found[0] <= found[1]


@given(st.integers(-2000, 2500), st.integers(-2000, 2500))
def test_a_smaller_overjet_never_scores_less(a: int, b: int) -> None:
    found = [raw("crossbite", f"overjet 12 {Decimal(v) / 100}") for v in sorted((a, b))]
    assert found[0] >= found[1]


@pytest.mark.parametrize(
    ("changes", "points"),
    [
        (("impacted 33 yes",), 5),
        (("impacted 36 tipped",), 5),
        (("impacted 21 supernumerary",), 5),
        (("impacted 38 yes", "impacted 48 tipped"), 0),
        (("eruption 45 unerupted", "eruption_space 45 3.99"), 5),
        (("eruption 45 unerupted", "eruption_space 45 4"), 0),
        (("eruption 45 unerupted", "eruption_space 45 4.01"), 0),
        (("supernumerary 11 2",), 0),
        ((), 0),
    ],
)
def test_an_impacted_tooth_of_either_arch_gives_the_top_score(changes: tuple[str, ...], points: int) -> None:
    assert raw("upper_space", "impacted mouth rest_none", *changes) == points


def test_an_impaction_beats_crowding_and_other_impactions() -> None:
    score = scored("impacted mouth rest_none", "impacted 36 tipped", "impacted 44 yes", "crowding upper 6")
    assert score.categories["upper_space"] == 25
    beaten = {x.site: x.beaten_by for x in score.lines if x.category == "upper_space" and x.beaten_by}
    assert beaten == {"upper": "impacted 44", "36": "impacted 44"}


def test_crowding_of_the_lower_arch_and_none_are_read_as_they_stand() -> None:
    assert raw("upper_space", "crowding lower 15") == 0
    assert raw("upper_space", "- crowding upper", "crowding mouth none") == 0
    assert raw("upper_space", "crowding upper none") == 0


@pytest.mark.parametrize("code", ["edge", "upper_inside", "upper_outside"])
@pytest.mark.parametrize("tooth", ["14", "17", "24", "26"])
def test_any_posterior_crossbite_scores_once(tooth: str, code: str) -> None:
    both = ("crossbite mouth rest_none", f"crossbite {tooth} {code}", f"crossbite 15 {code}", "overjet 22 0")
    score = scored(*both)
    assert score.categories["crossbite"] == 5
    assert [x.points for x in score.lines if x.category == "crossbite" and x.points] == [5]
    assert {x.beaten_by for x in score.lines if x.category == "crossbite" and x.beaten_by} == {"overjet 22"}


def test_a_primary_tooth_holds_the_place_of_its_successor() -> None:
    away = ("- overjet 13", "- overjet 23", "overjet 63 2")
    for changes in (("overjet 53 0",), ("overjet 53 2", "crossbite mouth rest_none", "crossbite 55 edge")):
        score = scored(*away, *changes, teeth=MIXED, dentition="mixed")
        assert score.complete
        assert score.categories["crossbite"] == 5


def test_cover_and_open_bite_share_one_part() -> None:
    score = scored("overbite_cover mouth 70", "overbite 11 -1.5", "overbite 22 -1")
    assert score.categories["vertical"] == 8
    assert line(score, "vertical", "11").beaten_by == "overbite_cover mouth"


def test_both_sides_of_the_buccal_segments_are_added() -> None:
    changes = ("buccal_interdigitation right cusp_to_cusp", "buccal_interdigitation left off")
    assert raw("buccal_ap", *changes) == 3


@pytest.mark.parametrize(
    ("changes", "missing"),
    [
        (("- aesthetic_component mouth",), ["aesthetic: aesthetic_component mouth"]),
        (("- crowding upper",), ["upper_space: crowding upper"]),
        (("- impacted mouth", "impacted 13 yes", "- overjet 13"), ["upper_space: impacted mouth"]),
        (("- impacted mouth", "impacted upper none"), ["upper_space: impacted lower"]),
        (("- crossbite mouth", "crossbite left none"), ["crossbite: crossbite 17 16 15 14"]),
        (("- overjet 13", "- overjet 22"), ["crossbite: overjet 13 22"]),
        (("- overbite_cover mouth",), ["vertical: overbite_cover mouth"]),
        (("- overbite_cover mouth", "overbite 11 -1"), ["vertical: overbite 12 21 22"]),
        (("- buccal_interdigitation right",), ["buccal_ap: buccal_interdigitation right"]),
    ],
)
def test_what_nobody_recorded_is_named_and_the_total_is_a_floor(
    changes: tuple[str, ...], missing: list[str]
) -> None:
    score = scored(*changes)
    assert lacks(score) == missing
    assert not score.complete


def test_impactions_looked_for_without_the_crowding_leave_a_floor_and_not_an_open_part() -> None:
    assert scored("- crowding upper").categories["upper_space"] == 0
    assert scored("- crowding upper", "- impacted mouth").categories["upper_space"] is None


def test_nothing_recorded_leaves_every_category_open_and_is_not_judged() -> None:
    score = registry.score("icon", Sheet("initial", "permanent"))
    assert set(score.categories.values()) == {None}
    assert (score.total, score.complete, score.verdicts) == (Decimal(0), False, ())


def test_another_edition_or_any_choice_is_refused_in_words() -> None:
    with pytest.raises(ChoiceRefused, match="allowed: 2000"):
        scored(edition="site:own:1,1,1,1,1")
    with pytest.raises(ChoiceRefused, match="allowed: none"):
        scored(choices={"vertical": "cover"})


def test_rules_from_memory_say_so_and_those_read_do_not() -> None:
    score = scored("impacted mouth rest_none", "impacted 13 yes", "- overjet 13")
    marks = {(x.category, x.findings[0].quantity): x.certainty for x in score.lines}
    assert marks[("upper_space", "impacted")] == marks[("aesthetic", "aesthetic_component")] == "read"
    rest = (
        ("upper_space", "crowding"),
        ("crossbite", "crossbite"),
        ("crossbite", "overjet"),
        ("vertical", "overbite_cover"),
        ("buccal_ap", "buccal_interdigitation"),
    )
    assert {marks[key] for key in rest} == {"memory"}


def test_what_is_asked_names_the_sites_that_stand_and_is_enough() -> None:
    for case in cases("icon"):
        asked = {a.quantity: a for a in kernel.asks(INDEX, case.sheet)}
        if case.complete:
            assert {f.quantity for f in case.sheet.findings} <= set(asked), case.name
    asked = {a.quantity: a for a in registry.needs(["icon"], neutral_with([], "icon"))}
    assert asked["overjet"].sites == ("13", "12", "11", "21", "22", "23")
    assert asked["crowding"].sites == ("upper",)
    assert (asked["overbite_cover"].needed, asked["overbite"].needed) == (True, False)
    assert asked["impacted"].needed
    assert not {"eruption_space", "contact_offset", "gap", "anb"} & set(asked)


def test_the_command_prints_a_whole_sheet_as_the_format_says(tmp_path: Path) -> None:
    sheet = neutral_with(["aesthetic_component mouth 8", "crowding upper 6", "overjet 12 -1"], "icon")
    (tmp_path / "case.json").write_text(write_json(sheet), "utf-8")
    out = StringIO()
    call_command("score", str(tmp_path / "case.json"), "--index", "icon", "--json", stdout=out)
    found = json.loads(out.getvalue())
    lines = found.pop("lines")
    assert found == {
        "sheet": "case.json",
        "index": "icon",
        "edition": "2000",
        "total": "71",
        "complete": True,
        "missing": [],
        "categories": {
            "aesthetic": "56",
            "upper_space": "10",
            "crossbite": "5",
            "vertical": "0",
            "buccal_ap": "0",
        },
        "choices": {},
        "other_totals": [],
        "conventions": [],
        "verdicts": [
            {
                "key": "need",
                "says": "over 43: need for treatment (that need begins above 43 is from memory)",
                "source": cite("icon_need_2015"),
            },
            {
                "key": "complexity",
                "says": "64 to 77: difficult (from memory)",
                "source": cite("icon_2000_rules"),
            },
        ],
    }
    assert next(x for x in lines if x["site"] == "upper") == {
        "category": "upper_space",
        "site": "upper",
        "findings": [{"quantity": "crowding", "site": "upper", "value": "6"}],
        "rule": "upper arch, crowded by over 5 to 9 mm: 2 points, weight 5",
        "raw": "2",
        "points": "10",
        "source": cite("icon_2000_rules"),
        "certainty": "memory",
        "next_step": {"at": "9", "points": "15", "distance": "3"},
        "previous_step": {"at": "5", "points": "5", "distance": "1"},
    }
    read = {(f["quantity"], f["site"]) for x in lines for f in x["findings"]}
    assert read == {(f.quantity, f.site) for f in sheet.findings}
