"""PAR in the front segments: every limit, spaces, impactions, teeth that are not there.

Table: form and instructions for the evaluation of treatment by PAR (undated public copy); values marked
`from memory` are of Richmond et al., Eur J Orthod 1992;14:125-139, as passed on.
"""

from decimal import Decimal
from functools import partial

import pytest

from scoring import registry
from scoring.kernel import tallies
from tests.scoring import scored_lines
from tests.scoring.rule_cells import fired_cells, held_cells
from tests.scoring.scored_lines import lacks, line
from tests.scoring.sheets import cases

INDEX = registry.index("par")
WITHOUT_12 = "17 16 15 14 13 11 21 22 23 24 25 26 27 47 46 45 44 43 42 41 31 32 33 34 35 36 37"
MIXED = "16 55 54 53 12 11 21 22 63 64 65 26 46 85 84 83 42 41 31 32 73 74 75 36"
OFFSETS = "contact_offset mouth rest_none"
GAPS = "gap mouth rest_none"
scored = partial(scored_lines.scored, "par")
raw = partial(scored_lines.raw, "par")


def test_every_rule_band_and_code_fires_in_a_worked_case() -> None:
    wanted: set[str] = set()
    fired: set[str] = set()
    for case in cases("par"):
        edition = INDEX.edition(case.edition)
        wanted |= held_cells(INDEX, edition, case.choices)
        fired |= fired_cells(tallies(INDEX, case.sheet, INDEX.terms(case.edition, case.choices)))
    assert sorted(wanted - fired) == []


@pytest.mark.parametrize(
    ("category", "finding", "below", "at", "above"),
    [
        ("upper_anterior", "contact_offset 11-21 {}", ("0.99", 0), ("1", 0), ("1.01", 1)),
        ("upper_anterior", "contact_offset 11-21 {}", ("1.99", 1), ("2", 1), ("2.01", 2)),
        ("lower_anterior", "contact_offset 41-31 {}", ("3.99", 2), ("4", 2), ("4.01", 3)),
        ("lower_anterior", "contact_offset 43-42 {}", ("7.99", 3), ("8", 3), ("8.01", 4)),
        ("overjet", "overjet 11 {}", ("2.99", 0), ("3", 0), ("3.01", 1)),
        ("overjet", "overjet 12 {}", ("4.99", 1), ("5", 1), ("5.01", 2)),
        ("overjet", "overjet 21 {}", ("6.99", 2), ("7", 2), ("7.01", 3)),
        ("overjet", "overjet 22 {}", ("8.99", 3), ("9", 3), ("9.01", 4)),
        ("overjet", "overjet 23 {}", ("-0.01", 2), ("0", 1), ("0.01", 0)),
        ("overbite", "overbite_cover mouth {}", ("33.33", 0), ("33.34", 1), ("66.66", 1)),
        ("overbite", "overbite_cover mouth {}", ("66.67", 2), ("99.99", 2), ("100", 3)),
        ("overbite", "overbite 11 {}", ("0.01", 0), ("0", 0), ("-0.01", 1)),
        ("overbite", "overbite 11 {}", ("-0.99", 1), ("-1", 1), ("-1.01", 2)),
        ("overbite", "overbite 11 {}", ("-1.99", 2), ("-2", 2), ("-2.01", 3)),
        ("overbite", "overbite 11 {}", ("-2.99", 3), ("-3", 3), ("-3.01", 4)),
        ("overbite", "overbite 11 {}", ("-3.99", 4), ("-4", 4), ("-4.01", 4)),
        ("centreline", "midline_share mouth {}", ("24.99", 0), ("25", 0), ("25.01", 1)),
        ("centreline", "midline_share mouth {}", ("49.99", 1), ("50", 1), ("50.01", 2)),
    ],
)
def test_just_below_at_and_just_above_a_limit(
    category: str, finding: str, below: tuple[str, int], at: tuple[str, int], above: tuple[str, int]
) -> None:
    for value, points in (below, at, above):
        assert raw(category, OFFSETS, finding.format(value)) == points, value


@pytest.mark.parametrize(
    ("quantity", "site", "limit", "category"),
    [
        ("support_zone", "upper-right-back", 18, "upper_anterior"),
        ("support_zone", "lower-left-back", 17, "lower_anterior"),
        ("eruption_space", "13", 4, "upper_anterior"),
        ("eruption_space", "33", 4, "lower_anterior"),
    ],
)
def test_room_for_a_tooth_that_has_not_erupted_scores_5_up_to_its_limit(
    quantity: str, site: str, limit: int, category: str
) -> None:
    for value, points in ((f"{limit - 1}.99", 5), (str(limit), 5), (f"{limit}.01", 0)):
        score = scored(
            "- overjet 13", "eruption 13 unerupted", "eruption 33 unerupted", f"{quantity} {site} {value}"
        )
        assert score.categories[category] == points, value


def test_a_support_zone_is_read_only_for_a_canine_that_has_not_erupted() -> None:
    score = scored(
        "support_zone upper-right-back 15", "eruption_space 12 2", "eruption 12 unerupted", "- overjet 12"
    )
    assert score.categories["upper_anterior"] == 5
    assert [x.site for x in score.lines if x.findings[0].quantity == "support_zone"] == []


@pytest.mark.parametrize(
    ("offset", "gap", "points"),
    [
        ("0.6", "0.8", 0),
        ("0.6", "0.81", 1),
        ("1.2", "1.6", 1),
        ("1.21", "1.6", 2),
        ("2.4", "3.2", 2),
        ("4.8", "6.4", 3),
        ("4.8", "6.41", 4),
    ],
)
def test_offset_and_space_together_are_the_straight_distance_and_limits_hold_exactly(
    offset: str, gap: str, points: int
) -> None:
    found = (OFFSETS, GAPS, f"contact_offset 12-11 {offset}", f"gap 12-11 {gap}", "gap_plan 12-11 close")
    assert raw("upper_anterior", *found) == points


def test_the_words_of_a_displacement_tell_it_to_two_decimals() -> None:
    score = scored(OFFSETS, GAPS, "contact_offset 12-11 2", "gap 12-11 3", "gap_plan 12-11 close")
    found = line(score, "upper_anterior", "12-11")
    assert found.rule == "displacement of the contact 3.61 mm, over 2 to 4 mm: 2 points"
    assert [f.quantity for f in found.findings] == ["contact_offset", "gap", "gap_plan"]
    assert found.next_step is not None
    assert found.next_step[:3] == ("4", Decimal(3), "0.39")
    assert found.previous_step is not None
    assert found.previous_step[:3] == ("2", Decimal(1), "1.61")


@pytest.mark.parametrize(
    ("gap", "plan", "points", "complete"),
    [
        ("3.99", "keep", 2, True),
        ("4", "keep", 0, True),
        ("4", "close", 2, True),
        ("4.01", "close", 3, True),
        ("6", "unknown", 0, False),
        ("3", "unknown", 2, False),
        ("6", "", 0, False),
        ("0", "", 0, True),
    ],
)
def test_a_space_counts_where_it_is_to_be_closed_and_a_kept_one_under_4_mm(
    gap: str, plan: str, points: int, complete: bool
) -> None:
    score = scored(GAPS, f"gap 31-32 {gap}", *([f"gap_plan 31-32 {plan}"] if plan else []))
    assert score.categories["lower_anterior"] == points
    assert score.complete is complete
    assert lacks(score) == ([] if complete else ["lower_anterior: gap_plan 31-32"])
    assert score.conventions == ()


def test_the_offset_counts_beside_a_kept_space() -> None:
    assert (
        raw("upper_anterior", OFFSETS, GAPS, "contact_offset 13-12 2.5", "gap 13-12 5", "gap_plan 13-12 keep")
        == 2
    )


def test_the_larger_of_offset_and_space_by_choice_is_listed_beside_the_straight_distance() -> None:
    found = (OFFSETS, GAPS, "contact_offset 12-11 3", "gap 12-11 4", "gap_plan 12-11 close")
    assert raw("upper_anterior", *found, choices={"space_and_offset": "larger"}) == 2
    assert [o.as_dict() for o in scored(*found).other_totals] == [
        {"choice": "space_and_offset=larger", "total": "2"}
    ]


def test_the_plan_of_a_space_may_name_the_tooth_that_is_gone() -> None:
    gone = ("- overjet 12", "missing 12 congenital", GAPS, "gap 13-11 6")
    assert scored(*gone, "gap_plan 12-11 keep").categories["upper_anterior"] == 0
    assert scored(*gone, "gap_plan 13-11 close").categories["upper_anterior"] == 3
    assert scored(*gone, "gap_plan 11-21 close").missing[0].quantity == "gap_plan"


def test_teeth_that_are_gone_or_have_not_erupted_close_up() -> None:
    score = scored("- overjet 12", "- contact_offset mouth", "- gap mouth", teeth=WITHOUT_12)
    contacts = "13-11 11-21 21-22 22-23"
    assert lacks(score)[:2] == [
        f"upper_anterior: contact_offset {contacts}",
        f"upper_anterior: gap {contacts}",
    ]


def test_the_contact_over_a_missing_canine_belongs_to_the_front_segment() -> None:
    gone = ("- overjet 13", "missing 13 extracted", OFFSETS)
    assert scored(*gone, "contact_offset 14-12 3").categories["upper_anterior"] == 2
    assert scored(*gone, "contact_offset 15-14 3").categories["upper_anterior"] == 0


def test_contacts_behind_the_canines_are_not_scored_and_give_no_line() -> None:
    score = scored(OFFSETS, "contact_offset 14-13 9", "contact_offset 45-44 9")
    assert score.total == 0
    assert {x.site for x in score.lines if x.findings[0].quantity == "contact_offset"} == {"mouth"}


def test_partly_erupted_and_blocked_out_teeth_keep_their_contacts() -> None:
    changes = (
        "eruption 13 partial",
        "blocked_out 42 labial",
        OFFSETS,
        "contact_offset 13-12 9",
        "contact_offset 42-41 5",
    )
    score = scored(*changes)
    assert (score.categories["upper_anterior"], score.categories["lower_anterior"]) == (
        Decimal(4),
        Decimal(3),
    )


def test_contacts_follow_transposed_teeth() -> None:
    turned = ("transposed 13 yes", OFFSETS)
    assert scored(*turned, "contact_offset 14-12 3").categories["upper_anterior"] == 2
    assert scored(*turned, "contact_offset 13-14 3").categories["upper_anterior"] == 0


def test_contacts_with_a_primary_tooth_are_said_and_not_scored_and_not_needed() -> None:
    away = (
        "- overjet 13",
        "- overjet 23",
        "overjet 53 2",
        "overjet 63 2",
        "- contact_offset mouth",
        "- gap mouth",
    )
    score = scored(*away, "contact_offset 53-12 6", dentition="mixed", teeth=MIXED)
    assert "not scored" in line(score, "upper_anterior", "53-12").rule
    assert lacks(score)[0] == "upper_anterior: contact_offset 12-11 11-21 21-22"


def test_an_impaction_scores_5_once_and_its_contact_is_not_needed() -> None:
    changes = ("- overjet 13", "impacted 13 yes", "eruption_space 13 2", "support_zone upper-right-back 16")
    score = scored(
        *changes,
        "- contact_offset mouth",
        "contact_offset lower none",
        *(f"contact_offset {c} 0" for c in ("12-11", "11-21", "21-22", "22-23")),
    )
    assert score.complete
    assert score.categories["upper_anterior"] == 5
    beaten = [(x.findings[0].quantity, x.beaten_by) for x in score.lines if x.beaten_by and x.site == "13"]
    assert beaten == [("eruption_space", "impacted 13"), ("support_zone", "impacted 13")]


def test_the_contact_that_closes_over_an_impaction_is_beaten_by_it() -> None:
    found = line(
        scored("- overjet 13", "impacted 13 yes", OFFSETS, "contact_offset 14-12 6"),
        "upper_anterior",
        "14-12",
    )
    assert (found.raw, found.points, found.beaten_by) == (Decimal(3), Decimal(0), "impacted 13")


def test_two_impacted_teeth_under_one_contact_score_5_each() -> None:
    changes = (
        "- overjet 13",
        "- overjet 12",
        "impacted 13 yes",
        "impacted 12 yes",
        OFFSETS,
        "contact_offset 14-11 3",
    )
    assert raw("upper_anterior", *changes) == 10


def test_a_canine_held_back_behind_its_primary_tooth_scores_without_a_contact_over_it() -> None:
    score = scored(
        "- overjet 13",
        "- overjet 23",
        "overjet 53 2",
        "overjet 63 2",
        "impacted 13 yes",
        "impacted mouth rest_none",
        dentition="mixed",
        teeth=MIXED,
    )
    assert score.categories["upper_anterior"] == 5
    assert score.complete


def test_a_transposed_canine_in_the_bone_leaves_its_predecessor_in_its_place() -> None:
    score = scored(
        "- overjet 13",
        "overjet 53 2",
        "retained_primary 53 overdue",
        "transposed 13 yes",
        "impacted 13 yes",
        "impacted mouth rest_none",
        "contact_offset 14-53 3",
        "contact_offset 53-12 3",
        "contact_offset mouth rest_none",
    )
    assert score.categories["upper_anterior"] == 5
    assert score.complete


def test_impactions_behind_the_canines_do_not_score() -> None:
    assert scored("impacted 15 yes", "impacted 38 yes", "impacted mouth rest_none").total == 0


def test_impactions_looked_for_alone_say_nothing_of_the_contacts() -> None:
    score = scored("- contact_offset mouth", "- gap mouth", "impacted mouth none")
    assert (score.categories["upper_anterior"], score.categories["lower_anterior"]) == (None, None)


def test_spaces_recorded_without_offsets_leave_a_floor_and_not_an_open_part() -> None:
    score = scored("- contact_offset mouth", "- gap mouth", "gap 11-21 0", "gap lower none")
    assert score.categories["upper_anterior"] == 0
    assert score.categories["lower_anterior"] == 0
    assert not score.complete
