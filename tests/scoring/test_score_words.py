"""A score in plain words: directions instead of signs, distances to the next change, the reader's notation."""

from decimal import Decimal

import pytest

from scoring import registry
from scoring.frozen import freeze, freeze_findings, thaw, thaw_findings
from scoring.present import ShownLine, ShownScore, show_choices, show_score
from tests.scoring.sheets import cases, neutral_with

INDEX = registry.index("discrepancy")


def shown(*changes: str, notation: str = "iso3950", choices: dict[str, str] | None = None) -> ShownScore:
    score = registry.score("discrepancy", neutral_with(changes), choices=choices)
    return show_score(score, INDEX.label, INDEX.categories, notation)


def line(page: ShownScore, category: str, site: str) -> ShownLine:
    (found,) = [
        one
        for row in page.categories
        if row.key == category
        for one in (*row.scoring, *row.silent)
        if one.site == site
    ]
    return found


@pytest.mark.parametrize(
    ("change", "category", "more", "fewer"),
    [
        (
            "overbite 11 -3",
            "anterior_open_bite",
            "1 mm more (at 4 mm open) scores 4",
            "just under 3 mm open scores 2",
        ),
        ("overbite 11 0", "anterior_open_bite", "2 mm more (at 2 mm open) scores 2", "any overlap scores 0"),
        ("overjet 11 5", "overjet", "just over 5 mm scores 3", "2 mm less (at 3 mm) scores 0"),
        ("overjet 11 4", "overjet", "1 mm more (over 5 mm) scores 3", "1 mm less (at 3 mm) scores 0"),
        (
            "overjet 11 -2",
            "negative_overjet",
            "1 mm more (at 3 mm reverse) scores 3",
            "just under 2 mm reverse scores 1",
        ),
    ],
)
def test_the_distance_to_the_next_change_is_said_either_way(
    change: str, category: str, more: str, fewer: str
) -> None:
    found = line(shown(change), category, "11")
    assert (found.more, found.fewer) == (more, fewer)


@pytest.mark.parametrize(
    ("change", "category", "site", "more", "fewer"),
    [
        (
            "posterior_open_bite 15 1.5",
            "lateral_open_bite",
            "15",
            "0.5 mm more (at 2 mm) scores 4",
            "0.5 mm less (under 1 mm) scores 0",
        ),
        (
            "crowding upper 4.5",
            "crowding",
            "upper",
            "0.5 mm more (over 5 mm short of space) scores 4",
            "1.5 mm less (at 3 mm short of space) scores 1",
        ),
        (
            "molar_relation right end2",
            "molar_relation",
            "right",
            "full step Class II scores 4",
            "toward Class II, short of end to end scores 0",
        ),
        (
            "anb mouth 5.6",
            "anb",
            "whole mouth",
            "0.9° greater (over 6.5°) scores 5",
            "0.1° smaller (at 5.5°) scores 0",
        ),
        (
            "midline_offset mouth -2.5",
            "other",
            "whole mouth",
            "0.5 mm more (at 3 mm lower to the right) scores 2",
            "",
        ),
        (
            "supernumerary 12 1",
            "other",
            "12",
            "1 more extra tooth (2 in all) scores 2",
            "1 fewer extra tooth (0 in all) scores 0",
        ),
    ],
)
def test_the_distance_is_in_the_words_of_what_was_measured(
    change: str, category: str, site: str, more: str, fewer: str
) -> None:
    changes = (change, "supernumerary mouth rest_none") if "supernumerary" in change else (change,)
    if change.startswith("posterior"):
        changes = (change, "posterior_open_bite mouth rest_none")
    score = registry.score("discrepancy", neutral_with(changes))
    page = show_score(score, INDEX.label, INDEX.categories)
    found = [
        one
        for row in page.categories
        if row.key == category
        for one in (*row.scoring, *row.silent)
        if one.site == site and (one.more, one.fewer) == (more, fewer)
    ]
    assert len(found) == 1, [
        (o.site, o.more, o.fewer) for r in page.categories for o in (*r.scoring, *r.silent)
    ]


def test_the_step_that_is_promised_is_the_step_that_comes() -> None:
    before = registry.score("discrepancy", neutral_with(("overjet 11 4",)))
    step = before.lines[0].next_step
    (greatest,) = [one for one in before.lines if one.category == "overjet" and one.points]
    assert greatest.next_step is not None
    assert step is not None
    limit = Decimal(greatest.next_step.at)
    at = registry.score("discrepancy", neutral_with((f"overjet 11 {limit}",)))
    past = registry.score("discrepancy", neutral_with((f"overjet 11 {limit + Decimal('0.01')}",)))
    assert greatest.next_step.side == "over"
    assert at.categories["overjet"] == greatest.points
    assert past.categories["overjet"] == greatest.next_step.points


def test_a_finding_is_said_with_its_direction_and_never_with_a_sign() -> None:
    page = shown("overbite 11 -3", "overjet 12 -2", "midline_offset mouth -3")
    words = [f for row in page.categories for one in (*row.scoring, *row.silent) for f in one.findings]
    assert "3 mm open" in words
    assert "2 mm reverse" in words
    assert "Midlines against each other: 3 mm lower to the right" in words
    assert not any("-" in text for text in words)


def test_teeth_stand_in_the_readers_notation() -> None:
    assert line(shown("overbite 11 -3", notation="palmer"), "anterior_open_bite", "UR1").points == "3"
    assert line(shown("overbite 11 -3", notation="universal"), "anterior_open_bite", "8").points == "3"


def test_a_beaten_line_says_by_what() -> None:
    page = shown("overjet 11 8", "overjet 12 6")
    assert line(page, "overjet", "12").beaten_by == "only the greatest scores: Overjet, 11"
    assert line(page, "overjet", "11").beaten_by == ""


def test_a_line_names_its_certainty_and_its_source() -> None:
    page = shown("overbite 11 -4", "transposed 13 yes", "transposed mouth rest_none", "overjet 11 11")
    practice = line(page, "anterior_open_bite", "11")
    assert practice.certainty == "common practice, no source"
    assert page.sources[practice.source - 1] == "common practice, no source"
    assert line(page, "other", "13").certainty == "from memory"
    read = line(page, "overjet", "11")
    assert read.certainty == "read"
    assert page.sources[read.source - 1].startswith("Certifying board")


def test_an_incomplete_total_is_at_least_and_names_what_is_missing() -> None:
    page = shown("overjet 11 11", "- anb mouth", "- overbite 13")
    assert page.total_words == "at least 5"
    assert [(m.label, m.where, m.categories) for m in page.missing] == [
        ("Overbite", "13", "Anterior open bite"),
        ("ANB", "", ""),
    ]


def test_a_quantity_that_lacks_for_several_rows_is_named_once_with_all_its_places() -> None:
    page = shown("- overjet 13", "- overjet 12", "- crowding lower")
    assert [(m.label, m.where, m.categories) for m in page.missing] == [
        ("Overjet", "13, 12", "Overjet, Reverse overjet"),
        ("Crowding", "lower", ""),
    ]


def test_a_value_taken_to_another_plane_is_missing_with_that_plane() -> None:
    page = shown("sn_mp mouth 40 go_gn")
    assert page.missing[0].where == "recorded to another plane, Go–Gn"


def test_points_with_parts_align_at_the_decimal_point() -> None:
    page = shown("overbite 11 -3.5", "overbite 12 -2", choices={"part_millimetre": "fraction"})
    assert line(page, "anterior_open_bite", "11").points == "3.5"
    assert line(page, "anterior_open_bite", "12").points == "2\u2008\u2007"


def test_each_rule_choice_shows_what_its_other_readings_would_give() -> None:
    open_teeth = (
        "overbite 13 -3",
        "overbite 12 -6",
        "overbite 11 -8",
        "overbite 21 -8",
        "overbite 22 -6",
        "overbite 23 -4",
    )
    score = registry.score("discrepancy", neutral_with(open_teeth))
    by_id = {choice.id: choice for choice in show_choices(INDEX, score)}
    start = by_id["open_bite_start"]
    assert [(o.value, o.in_force, o.default, o.total) for o in start.options] == [
        ("millimetres", True, True, ""),
        ("edge_point_plus", False, False, "41"),
    ]
    assert start.exception == "common practice, no source; fewer points than print"
    assert not by_id["diastema"].matters
    assert not by_id["mandibular_plane"].compared


@pytest.mark.parametrize("case", cases(), ids=lambda c: c.name)
def test_a_frozen_score_comes_back_as_it_was(case: object) -> None:
    sheet = getattr(case, "sheet")  # noqa: B009
    score = registry.score("discrepancy", sheet, choices=getattr(case, "choices"))  # noqa: B009
    assert thaw(freeze(score, INDEX)) == score
    assert thaw_findings(freeze_findings(sheet.findings)) == sheet.findings


def test_a_grade_is_given_and_not_scored() -> None:
    need = registry.index("iotn")
    score = registry.score(
        "iotn", neutral_with(["contact_offset mouth rest_none", "contact_offset 42-41 2.5"], "iotn")
    )
    page = show_score(score, need.label, need.labels, "iso3950", need.counted_in)
    told = [(one.more, one.fewer) for row in page.categories for one in row.scoring]
    assert told == [("1.5 mm more (over 4 mm) gives grade 4", "0.5 mm less (at 2 mm) gives grade 2")]
    score = registry.score(
        "iotn", neutral_with(["contact_offset mouth rest_none", "contact_offset 42-41 1.5"], "iotn")
    )
    page = show_score(score, need.label, need.labels, "iso3950", need.counted_in)
    assert [one.fewer for row in page.categories for one in row.scoring] == [
        "0.5 mm less (at 1 mm) gives no grade"
    ]
