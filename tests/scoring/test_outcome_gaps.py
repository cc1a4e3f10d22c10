"""Gaps of the outcome evaluation that are kept, closed, or closed over a missing tooth.

The exclusion of kept gaps is from memory; how plans are matched to contacts is settled by this project.
"""

from decimal import Decimal

import pytest

from scoring.indices.outcome.places import plans
from scoring.kernel import asks
from scoring.present import show_line
from tests.scoring.outcome_sheets import INDEX, asked, final, out, scored


def test_a_kept_gap_is_left_out_listed_and_not_missing() -> None:
    changes = [
        "missing mouth rest_none",
        "missing 22 congenital",
        "- gap mouth none",
        "gap upper-right-front none",
    ]
    changes += [
        "gap upper-right-back none",
        "gap lower none",
        "gap upper-left-back none",
        "gap_plan 21-23 keep",
    ]
    score = scored([*changes, "gap 11-21 0"])
    assert out(score) == [("22", "missing: never formed"), ("21-23", "space to be kept")]
    assert score.complete
    assert "21-23" not in asked(final([*changes, "gap 11-21 0"]), "gap")
    wide = scored([*changes, "gap 11-21 0", "gap 21-23 7"])
    (line,) = [x for x in wide.lines if x.site == "21-23"]
    assert (line.points, line.rule) == (Decimal(0), "left out: space to be kept")
    assert [f.quantity for f in line.findings] == ["gap", "gap_plan"]
    assert wide.total == 0


@pytest.mark.parametrize("site", ["15-13", "15-14", "14-13"])
def test_a_plan_may_name_the_place_of_the_missing_tooth(site: str) -> None:
    changes = ["missing mouth rest_none", "missing 14 extracted", "gap mouth rest_none", "gap 15-13 6"]
    assert scored(changes).categories["interproximal"] == 2
    score = scored([*changes, f"gap_plan {site} keep"])
    assert score.categories["interproximal"] == 0
    assert ("15-13", "space to be kept") in out(score)


def test_of_two_plans_for_one_contact_keeping_wins_in_either_order() -> None:
    for first, second in (("15-14 keep", "14-13 close"), ("15-14 close", "14-13 keep")):
        changes = [
            "missing mouth rest_none",
            "missing 14 extracted",
            f"gap_plan {first}",
            f"gap_plan {second}",
        ]
        assert plans(final(changes))["15-13"].value == "keep"


@pytest.mark.parametrize("plan", ["close", "unknown"])
def test_a_gap_to_be_closed_or_not_told_scores(plan: str) -> None:
    score = scored(["gap mouth rest_none", "gap 11-21 1.5", f"gap_plan 11-21 {plan}"])
    assert (score.total, score.complete, score.conventions) == (Decimal(2), True, ())
    (line,) = [x for x in score.lines if x.site == "11-21"]
    assert [f.value for f in line.findings] == ["1.5", plan]


def test_a_plan_is_asked_for_where_a_gap_is_open_or_planned_already() -> None:
    assert "gap_plan" not in {ask.quantity for ask in asks(INDEX, final([]))}
    there = final(["gap mouth rest_none", "gap 11-21 0.3", "gap 36-37 0", "gap_plan 13-12 keep"])
    assert asked(there, "gap_plan") == ("13-12", "11-21")


def test_a_page_says_why_a_further_cusp_loses_nothing_and_whose_reading_a_rule_is() -> None:
    score = scored(
        [
            "occlusal_gap mouth rest_none",
            "occlusal_gap 36.mb 1.5",
            "occlusal_gap 36.db 1",
            "eruption 17 partial",
            "gap mouth rest_none",
            "gap 17-16 2",
        ]
    )
    shown = {line.site: show_line(line, 0, "iso3950") for line in score.lines}
    assert shown["36.db"].beaten_by == "the tooth has lost its 2 points, 36 mb"
    assert shown["17-16"].certainty == "our reading, print is silent"
