"""Points typed from paper against the computed ones, and the slips that explain a difference.

The open bites are check values of common practice, no source; the slips are constructed.
"""

from decimal import Decimal

import pytest

from portfolio.finding_sheet import Sheet
from scoring import registry
from scoring.tally import Checked, CheckedRow, PointsRefused, check, read_points
from tests.scoring.sheets import neutral_with

INDEX = registry.index("discrepancy")
OPEN_FRONT = (
    "overbite 13 -3",
    "overbite 12 -6",
    "overbite 11 -8",
    "overbite 21 -8",
    "overbite 22 -6",
    "overbite 23 -4",
)
OPEN_BEHIND = (
    "posterior_open_bite 14 2",
    "posterior_open_bite 15 2",
    "posterior_open_bite 24 1",
    "posterior_open_bite mouth rest_none",
)


def checked(sheet: Sheet, total: str = "", **typed: str) -> Checked:
    score = registry.score("discrepancy", sheet)
    points = {key: read_points(text) for key, text in typed.items()}
    return check(INDEX, sheet, score, points, read_points(total))


def row(sheet: Sheet, **typed: str) -> CheckedRow:
    (key,) = typed
    (found,) = [one for one in checked(sheet, **typed).rows if one.key == key]
    return found


@pytest.mark.parametrize(("text", "points"), [("5", "5"), (" 2,5 ", "2.5"), ("0", "0"), ("2.50", "2.50")])
def test_points_are_read_as_they_are_typed(text: str, points: str) -> None:
    assert read_points(text) == Decimal(points)


def test_an_empty_field_is_nothing_typed() -> None:
    assert read_points("  ") is None


@pytest.mark.parametrize("text", ["-1", "x", "1e2", "1.234", "501", "٣", "5 points"])
def test_what_is_no_number_of_points_is_refused_with_what_is_allowed(text: str) -> None:
    with pytest.raises(PointsRefused, match="allowed: 0 to 500"):
        read_points(text)


def test_a_tally_that_agrees_says_so() -> None:
    found = checked(neutral_with(OPEN_FRONT), total="35", anterior_open_bite="35")
    assert found.agrees
    assert found.notes == ()
    assert all(one.agrees and not one.causes for one in found.rows)


def test_rows_left_empty_are_not_judged() -> None:
    found = checked(neutral_with((*OPEN_FRONT, "overjet 11 11")), overjet="5")
    assert found.agrees
    assert {one.key: one.typed for one in found.rows}["anterior_open_bite"] == ""


def test_the_computed_points_are_shown_tooth_by_tooth() -> None:
    found = row(neutral_with(OPEN_BEHIND), lateral_open_bite="9")
    assert found.computed == "10"
    assert found.difference == "−1"
    assert sorted((p.site, p.findings, p.points) for p in found.parts) == [
        ("14", ("2 mm",), "4"),
        ("15", ("2 mm",), "4"),
        ("24", ("1 mm",), "2"),
    ]


@pytest.mark.parametrize(
    ("changes", "typed", "cause"),
    [
        (
            OPEN_FRONT,
            {"anterior_open_bite": "41"},
            "It fits the rule choice “Anterior open bite starts: 1 for edge to edge and 1 for each millimetre beyond it”.",
        ),
        (OPEN_FRONT, {"anterior_open_bite": "32"}, "13 (3 points) may have been forgotten."),
        (OPEN_FRONT, {"anterior_open_bite": "29"}, "12 or 22 (6 points each) may have been forgotten."),
        (OPEN_FRONT, {"anterior_open_bite": "18"}, "The right teeth (17 points) may have been forgotten."),
        (OPEN_FRONT, {"anterior_open_bite": "28"}, "13 and 23 (3 and 4 points) may have been forgotten."),
        (OPEN_FRONT, {"anterior_open_bite": "38"}, "13 (3 points) may have been counted twice."),
        (OPEN_FRONT, {"anterior_open_bite": "8"}, "Only the greatest was entered; every one of them scores."),
        (
            OPEN_FRONT,
            {"anterior_open_bite": "6"},
            "1 point for each of the 6 teeth gives 6; the rule goes by how much each one shows.",
        ),
        (
            OPEN_FRONT,
            {"anterior_open_bite": "0"},
            "Nothing was counted for 13, 12, 11, 21, 22 and 23, 35 points in all.",
        ),
        (OPEN_FRONT, {"anterior_open_bite": "34"}, "13, 3 mm open, scores 3; just under 3 mm open scores 2."),
        (
            OPEN_BEHIND,
            {"lateral_open_bite": "5"},
            "It is half of the computed points: one point was given where the rule gives two.",
        ),
        (
            ("overjet 11 5",),
            {"overjet": "3"},
            "11, 5 mm, scores 2; just over 5 mm scores 3.",
        ),
        (
            ("crowding upper 3", "crowding lower 6.5"),
            {"crowding": "5"},
            "All of them were added up; only the greatest scores.",
        ),
        (
            ("crowding upper 3", "crowding lower 6.5"),
            {"crowding": "1"},
            "The upper arch alone gives 1; the lower arch scores more.",
        ),
        (
            ("posterior_open_bite 14 1.5", "posterior_open_bite mouth rest_none"),
            {"lateral_open_bite": "4"},
            "A part counted as a whole? 14, 1.5 mm, scores 2; 0.5 mm more (at 2 mm) scores 4.",
        ),
        (
            ("posterior_open_bite 14 0.8", "posterior_open_bite mouth rest_none"),
            {"lateral_open_bite": "2"},
            "A part counted as a whole? 14, 0.8 mm, scores 0; 0.2 mm more (at 1 mm) scores 2.",
        ),
        (
            ("crossbite 16 upper_inside", "crossbite 15 upper_inside", "crossbite mouth rest_none"),
            {"lingual_crossbite": "4"},
            "It is twice the computed points: two points were given where the rule gives one.",
        ),
        ((), {"other": "2"}, "Something may be counted on paper that the sheet states free."),
    ],
)
def test_a_slip_is_named_where_it_explains_the_difference(
    changes: tuple[str, ...], typed: dict[str, str], cause: str
) -> None:
    assert cause in row(neutral_with(changes), **typed).causes


def test_a_difference_that_nothing_explains_names_no_slip() -> None:
    assert row(neutral_with(("overjet 11 11",)), overjet="17").causes == ()


def test_a_reading_far_away_is_not_offered_as_a_slip() -> None:
    assert not any("scores 4" in cause for cause in row(neutral_with(("overjet 11 2",)), overjet="4").causes)


def test_a_row_with_missing_findings_is_a_floor_and_says_what_is_missing() -> None:
    found = row(neutral_with(("- molar_relation left",)), molar_relation="4")
    assert found.floor
    assert "Not on the sheet yet: First molars. What is computed here is a floor." in found.causes


def test_typed_rows_that_do_not_add_up_to_the_typed_total_are_told() -> None:
    found = checked(
        neutral_with((*OPEN_FRONT, "overjet 11 11")), total="45", overjet="5", anterior_open_bite="35"
    )
    assert not found.agrees
    assert found.notes[:2] == (
        "The typed rows add up to 40, the typed total is 45: 5 too many in the total.",
        "Overjet (5) may have been added twice.",
    )
    assert all(one.agrees for one in found.rows)


def test_a_row_left_out_of_the_sum_is_named() -> None:
    found = checked(
        neutral_with((*OPEN_FRONT, "overjet 11 11")), total="35", overjet="5", anterior_open_bite="35"
    )
    assert "Overjet (5) may have been left out of the sum." in found.notes


def test_exchanged_digits_of_the_total_are_told() -> None:
    found = checked(neutral_with(OPEN_FRONT), total="53", anterior_open_bite="35")
    assert "The two digits of the total may have been exchanged." in found.notes


def test_points_in_the_wrong_row_are_told() -> None:
    sheet = neutral_with(("crossbite 26 upper_outside", "crossbite mouth rest_none"))
    found = checked(sheet, lingual_crossbite="2", buccal_crossbite="0")
    assert found.notes == (
        "2 too many in “Lingual posterior crossbite” and as many too few in “Buccal posterior crossbite”: "
        "they may stand in the wrong row.",
    )


def test_a_total_alone_is_held_against_other_rule_choices_and_forgotten_rows() -> None:
    sheet = neutral_with((*OPEN_FRONT, "overjet 11 11"))
    assert checked(sheet, total="46").notes == (
        "The total fits the rule choice “Anterior open bite starts: 1 for edge to edge and 1 for each millimetre "
        "beyond it”.",
    )
    assert checked(sheet, total="35").notes == ("Overjet (5) may have been left out.",)


def test_where_rows_are_typed_the_total_alone_is_not_held_against_other_choices() -> None:
    sheet = neutral_with((*OPEN_FRONT, "overjet 11 11"))
    found = checked(sheet, total="46", anterior_open_bite="35", overjet="5", other="6")
    assert not any("rule choice" in note for note in found.notes)
