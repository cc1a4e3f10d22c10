"""PAR behind the canines, overjet, overbite and centreline; what is missing.

Table: form and instructions for the evaluation of treatment by PAR (undated public copy); values marked
`from memory` are of Richmond et al., Eur J Orthod 1992;14:125-139, as passed on.
"""

from decimal import Decimal
from functools import partial

import pytest

from tests.scoring import scored_lines
from tests.scoring.scored_lines import lacks, line

MIXED = "16 55 54 53 12 11 21 22 63 64 65 26 46 85 84 83 42 41 31 32 73 74 75 36"
BEHIND = ("posterior_open_bite mouth rest_none", "crossbite mouth rest_none")
scored = partial(scored_lines.scored, "par")
raw = partial(scored_lines.raw, "par")


@pytest.mark.parametrize(("value", "points"), [("1.99", 0), ("2", 0), ("2.01", 1)])
def test_open_bite_behind_counts_teeth_open_by_more_than_2_mm(value: str, points: int) -> None:
    assert raw("buccal", *BEHIND, f"posterior_open_bite 14 {value}", "posterior_open_bite 17 3") == points


@pytest.mark.parametrize(
    ("found", "form", "papers"),
    [
        (("none",), 0, 0),
        (("edge", "edge"), 1, 1),
        (("upper_inside",), 2, 2),
        (("upper_inside", "edge"), 2, 2),
        (("upper_inside", "upper_inside"), 3, 3),
        (("upper_outside",), 2, 0),
        (("upper_outside", "edge"), 2, 1),
        (("upper_inside", "upper_outside"), 2, 2),
        (("upper_inside", "upper_inside", "upper_outside"), 3, 3),
        (("upper_outside", "upper_outside"), 4, 4),
        (("upper_outside", "upper_outside", "upper_inside", "upper_inside"), 4, 4),
    ],
)
def test_across_the_highest_of_a_side_scores(found: tuple[str, ...], form: int, papers: int) -> None:
    changes = [f"crossbite 2{n} {code}" for n, code in enumerate(found, start=4)]
    assert raw("buccal", *BEHIND, *changes) == form
    assert raw("buccal", *BEHIND, *changes, choices={"transverse_single": "papers"}) == papers


def test_both_sides_are_added_and_a_side_comes_to_7_at_most() -> None:
    """From memory: buccal occlusion 2 front to back, 1 for open bite, 4 across."""
    one = ["buccal_interdigitation left cusp_to_cusp"]
    one += [
        f"{found} {t} {value}"
        for t in ("24", "25")
        for found, value in (("crossbite", "upper_outside"), ("posterior_open_bite", "3"))
    ]
    other = ["buccal_interdigitation right off", "crossbite 16 edge"]
    assert raw("buccal", *BEHIND, *one) == 7
    assert raw("buccal", *BEHIND, *one, *other) == 9


def test_erupting_and_submerged_teeth_are_left_out_behind_and_not_needed() -> None:
    mixed = "17 16 55 14 13 12 11 21 22 23 24 25 26 27 47 46 45 44 43 42 41 31 32 33 34 35 36 37"
    away = ("- crossbite mouth", "- posterior_open_bite mouth")
    sides = [
        f"{q} {t} {v}"
        for q, v in (("crossbite", "none"), ("posterior_open_bite", "0"))
        for t in ("16", "14", "24", "25", "26", "27")
    ]
    score = scored(
        *away,
        *sides,
        "eruption 17 partial",
        "submerged 55 yes",
        "crossbite 17 upper_outside",
        "posterior_open_bite 55 5",
        teeth=mixed,
    )
    assert score.complete
    assert score.categories["buccal"] == 0
    assert "not fully erupted" in line(score, "buccal", "17").rule
    assert "submerged" in line(score, "buccal", "55").rule


def test_overjet_and_front_crossbite_are_added() -> None:
    """From memory: 4 mm with two teeth in reverse is 1 and 3."""
    assert raw("overjet", "overjet 11 4", "overjet 12 -1", "overjet 22 -1") == 4
    assert raw("overjet", "overjet 11 10", "overjet 13 -1", "overjet 12 -1", "overjet 23 -1") == 8


@pytest.mark.parametrize(("reverse", "points"), [(0, 1), (1, 2), (2, 3), (3, 4), (5, 4)])
def test_front_crossbite_counts_teeth_in_reverse_canines_included(reverse: int, points: int) -> None:
    front = ("13", "12", "11", "21", "22")
    assert raw("overjet", "overjet 23 0", *(f"overjet {t} -1" for t in front[:reverse])) == points


def test_a_canine_counts_in_reverse_only() -> None:
    assert raw("overjet", "overjet 13 9") == 0


def test_a_primary_canine_holds_its_place_in_front_crossbite() -> None:
    score = scored(
        "- overjet 13", "- overjet 23", "overjet 53 -1", "overjet 63 2", dentition="mixed", teeth=MIXED
    )
    assert score.categories["overjet"] == 12


def test_cover_and_open_bite_share_one_part_and_the_beaten_one_is_named() -> None:
    score = scored("overbite_cover mouth 100", "overbite 12 -4")
    assert score.categories["overbite"] == 8
    beaten = line(score, "overbite", "mouth")
    assert (beaten.raw, beaten.points, beaten.beaten_by) == (Decimal(3), Decimal(0), "overbite 12")
    equal = scored("overbite_cover mouth 40", "overbite 11 -1", "overbite 12 -1")
    assert line(equal, "overbite", "11").beaten_by == "overbite_cover mouth"
    assert equal.categories["overbite"] == 2


def test_open_bite_of_a_canine_does_not_score() -> None:
    assert raw("overbite", "overbite 13 -5", "overbite 23 -5") == 0


def test_an_edge_to_edge_bite_is_not_open_and_needs_the_cover() -> None:
    edges = [f"overbite {t} 0" for t in ("12", "11", "21", "22")]
    assert lacks(scored("- overbite_cover mouth", *edges)) == ["overbite: overbite_cover mouth"]
    assert scored("- overbite_cover mouth", *edges[1:], "overbite 12 -1").complete


@pytest.mark.parametrize(
    ("offset", "first", "second", "points"),
    [
        ("1.35", "5.4", "5.4", 0),
        ("-1.36", "5.4", "5.4", 1),
        ("2.75", "5.4", "5.6", 1),
        ("-2.76", "5.6", "5.4", 2),
    ],
)
def test_the_share_is_worked_out_with_the_mean_width_and_limits_hold_exactly(
    offset: str, first: str, second: str, points: int
) -> None:
    found = (f"midline_offset mouth {offset}", f"tooth_width 31 {first}", f"tooth_width 41 {second}")
    assert raw("centreline", *found) == points


def test_the_steps_of_a_share_are_told_in_per_cent() -> None:
    score = scored("midline_offset mouth -2", "tooth_width 31 5.4", "tooth_width 41 5.6")
    found = line(score, "centreline", "mouth")
    assert "36.36 %" in found.rule
    assert found.certainty == "memory"
    assert found.as_dict()["next_step"] == {"at": "50", "points": "8", "distance": "13.64"}
    assert found.as_dict()["previous_step"] == {"at": "25", "points": "0", "distance": "11.36"}


def test_a_share_that_was_seen_goes_before_one_worked_out() -> None:
    found = ("midline_offset mouth 5", "tooth_width 31 5", "tooth_width 41 5", "midline_share mouth 20")
    assert raw("centreline", *found) == 0


def test_midlines_apart_without_the_widths_leave_a_floor_and_not_an_open_part() -> None:
    assert scored("midline_offset mouth 1", "tooth_width 31 5").categories["centreline"] == 0
    assert scored("- midline_offset mouth").categories["centreline"] is None


@pytest.mark.parametrize(
    ("changes", "missing"),
    [
        (("- midline_offset mouth",), "centreline: midline_share mouth"),
        (("midline_offset mouth 1",), "centreline: tooth_width 41 31"),
        (("midline_offset mouth 1", "tooth_width 41 5"), "centreline: tooth_width 31"),
        (
            ("midline_offset mouth 1", "missing 41 lost", "tooth_width 31 5"),
            "centreline: midline_share mouth",
        ),
        (("- buccal_interdigitation left",), "buccal: buccal_interdigitation left"),
        (("- crossbite mouth", "crossbite right none"), "buccal: crossbite 24 25 26 27"),
        (("- overbite_cover mouth",), "overbite: overbite_cover mouth"),
        (("- overjet 13", "- overjet 21"), "overjet: overjet 13 21"),
        (
            ("- contact_offset mouth", "contact_offset upper none"),
            "lower_anterior: contact_offset 43-42 42-41 41-31 31-32 32-33",
        ),
        (
            ("- gap mouth", "gap lower none", "gap 13-12 0", "gap 12-11 0", "gap 11-21 0", "gap 22-23 0"),
            "upper_anterior: gap 21-22",
        ),
    ],
)
def test_what_nobody_recorded_is_named_and_the_total_is_a_floor(
    changes: tuple[str, ...], missing: str
) -> None:
    score = scored(*changes)
    assert lacks(score) == [missing]
    assert not score.complete
    assert score.total == 0
