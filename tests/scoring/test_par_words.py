"""Lines of PAR and ICON in plain words: numbers worked out from several findings, counted teeth, weighted points."""

import pytest

from scoring import registry
from scoring.present import show_score
from tests.scoring.scored_lines import scored

BEHIND = "posterior_open_bite mouth rest_none"


def said(index: str, category: str, site: str, *changes: str) -> tuple[str, str]:
    """What more and what fewer points would take, as the page says it."""
    built = registry.index(index)
    page = show_score(scored(index, *changes), built.label, built.categories)
    (found,) = [
        one
        for row in page.categories
        if row.key == category
        for one in (*row.scoring, *row.silent)
        if one.site == site and not one.beaten_by
    ]
    return found.more, found.fewer


def test_a_displacement_of_offset_and_space_is_told_as_a_whole() -> None:
    changes = (
        "contact_offset mouth rest_none",
        "gap mouth rest_none",
        "contact_offset 12-11 3",
        "gap 12-11 4",
    )
    assert said("par", "upper_anterior", "12–11", *changes, "gap_plan 12-11 close") == (
        "3 mm more in all (over 8 mm) scores 4",
        "1 mm less in all (at 4 mm) scores 2",
    )


def test_an_offset_alone_is_told_in_its_own_millimetres() -> None:
    changes = ("contact_offset mouth rest_none", "contact_offset 42-41 2.5")
    assert said("par", "lower_anterior", "42–41", *changes) == (
        "1.5 mm more (over 4 mm) scores 3",
        "0.5 mm less (at 2 mm) scores 1",
    )


@pytest.mark.parametrize(
    ("changes", "more", "fewer"),
    [
        (("midline_offset mouth none",), "25% more in all (over 25%) scores 4", ""),
        (
            ("midline_offset mouth -2", "tooth_width 31 5.4", "tooth_width 41 5.6"),
            "13.64% more in all (over 50%) scores 8",
            "11.36% less in all (at 25%) scores 0",
        ),
        (("midline_share mouth 30",), "20 % more (over 50 %) scores 8", "5 % less (at 25 %) scores 0"),
    ],
)
def test_a_share_is_told_in_per_cent_and_weighted_points(
    changes: tuple[str, ...], more: str, fewer: str
) -> None:
    assert said("par", "centreline", "whole mouth", *changes) == (more, fewer)


def test_teeth_open_behind_are_counted() -> None:
    found = ("posterior_open_bite 14 3", "posterior_open_bite 15 2.5")
    page = show_score(scored("par", BEHIND, *found[:1]), "PAR", registry.index("par").categories)
    lines = [one for row in page.categories if row.key == "buccal" for one in (*row.scoring, *row.silent)]
    (counted,) = [one for one in lines if "open by more than 2 mm" in one.rule and one.site == "right"]
    assert counted.more == "1 more open tooth (2 in all) scores 1"
    page = show_score(scored("par", BEHIND, *found[:2]), "PAR", registry.index("par").categories)
    lines = [one for row in page.categories if row.key == "buccal" for one in row.scoring]
    assert [one.fewer for one in lines] == ["1 fewer open tooth (1 in all) scores 0"]


def test_weighted_points_are_not_taken_for_fractions() -> None:
    """With a weight of 2 the step before 2 points gives 2 as well, by raw and weighted points."""
    more, fewer = said("par", "overbite", "whole mouth", "overbite_cover mouth 70")
    assert (more, fewer) == ("30 % more (at 100 %) scores 6", "3.33 % less (at 66.67 %) scores 2")


def test_a_grade_is_told_without_a_distance() -> None:
    assert said("icon", "aesthetic", "whole mouth", "aesthetic_component mouth 5") == (
        "at 6 scores 42",
        "at 4 scores 28",
    )


def test_codes_that_stand_for_several_teeth_are_told_in_words() -> None:
    assert said("par", "overjet", "upper", "overjet 12 -1") == (
        "two teeth reverse scores 18",
        "edge to edge scores 6",
    )
