"""The outcome evaluation against what has been published on it: totals, shares, groups, and the statements shown.

Sources beside each test.  No report prints points for each category of a case together with its findings, so a case
cannot be recomputed; what can be checked is arithmetic, ranges and the words that stand beside a total.
"""

from dataclasses import replace
from decimal import ROUND_HALF_UP, Decimal

import pytest
from hypothesis import given
from hypothesis import strategies as st

from portfolio.readings import Finding, Sheet
from scoring import registry
from scoring.indices.outcome.verdicts import (
    panel_word,
    published_experience,
    taken_on,
    usual_result,
    usual_result_with_30_open,
)
from scoring.result import Score
from tests.scoring.sheets import neutral_with

MOST = {"alignment": 56, "inclination": 28, "contacts": 32, "interproximal": 52}
"""The most points a full mouth can lose, held by test_outcome_limits."""


def tenth(value: Decimal) -> Decimal:
    return value.quantize(Decimal("0.1"), ROUND_HALF_UP)


def scored(changes: list[str], **frame: str) -> Score:
    return registry.score("outcome", neutral_with(changes, "outcome", **({"stage": "final"} | frame)))


def says(score: Score) -> dict[str, str]:
    return {verdict.key: verdict.says for verdict in score.verdicts}


def with_total(total: int) -> Score:
    """A complete sheet that loses exactly so many points, at most 56, in alignment."""
    teeth = [f"{q}{n}" for q in "1234" for n in range(1, 8)]
    whole, part = divmod(total, 2)
    found = [f"alignment_step {t} 2" for t in teeth[:whole]]
    found += [f"alignment_step {teeth[whole]} 0.8"] if part else []
    score = scored(["alignment_step mouth rest_none", *found])
    assert score.total == total
    return score


def test_shares_of_64_cases_are_those_of_12_22_and_30() -> None:
    # Santiago and Martinez, P R Health Sci J: 18.8, 34.4 and 46.9 % of 64 cases
    counts = [12, 22, 30]
    assert sum(counts) == 64
    assert [tenth(Decimal(c) * 100 / 64) for c in counts] == [Decimal(x) for x in ("18.8", "34.4", "46.9")]


def test_three_groups_of_good_occlusions_give_the_printed_mean_and_spread() -> None:
    # Araujo, thesis, Saint Louis University 2009: 17.2 ± 5.5 (n 106) of 77, 27 and 2
    groups = [
        (77, Decimal("14.7"), Decimal("3.2")),
        (27, Decimal("23.0"), Decimal("2.7")),
        (2, Decimal("37.0"), Decimal("2.0")),
    ]
    n = sum(count for count, _, _ in groups)
    mean = sum((count * m for count, m, _ in groups), Decimal(0)) / n
    squares = sum(
        ((count - 1) * sd * sd + count * (m - mean) * (m - mean) for count, m, sd in groups), Decimal(0)
    )
    assert (n, tenth(mean), tenth((squares / (n - 1)).sqrt())) == (106, Decimal("17.2"), Decimal("5.5"))
    assert [usual_result(m) for _, m, _ in groups] == ["usually pass", "undetermined", "usually fail"]


def test_the_mean_of_three_years_lies_where_it_is_printed() -> None:
    # Pinskaya et al., Am J Orthod Dentofacial Orthop 2004;126:533-543: 32.4, 33.1, 37.8; together 34.4 (n 521).
    # The numbers of each year are not printed, so this is the plain mean.
    years = [Decimal("32.4"), Decimal("33.1"), Decimal("37.8")]
    assert tenth(sum(years, Decimal(0)) / 3) == Decimal("34.4")


@pytest.mark.parametrize(
    ("category", "mean", "sd"),
    [
        ("alignment", "6.65", "2.66"),
        ("inclination", "4.987", "3.10"),
        ("contacts", "4.875", "2.71"),
        ("interproximal", "0.30", "0.75"),
    ],
)
def test_published_category_means_fit_into_what_a_mouth_can_lose(category: str, mean: str, sd: str) -> None:
    # Loma Linda University thesis 493, n 80
    assert 0 <= Decimal(mean) + 3 * Decimal(sd) <= MOST[category]


def test_four_published_category_means_are_part_of_the_published_total() -> None:
    # the same thesis: mean total 30.09, 15 to 47
    parts = sum(Decimal(x) for x in ("6.65", "4.987", "4.875", "0.30"))
    assert parts < Decimal("30.09")
    # n × mean of a whole number of points is a whole number, as far as the printed digits tell
    for printed, places in (("30.09", 2), ("4.987", 3), ("4.875", 3), ("0.30", 2)):
        nearest = (Decimal(printed) * 80).to_integral_value(ROUND_HALF_UP)
        assert abs(nearest / 80 - Decimal(printed)) <= Decimal(1).scaleb(-places)


def test_a_total_with_second_molars_left_out_says_so() -> None:
    # a report of 2018 scored 25 with second molars left out because they were not fully erupted
    found = [f"eruption {t} partial" for t in ("17", "27", "37", "47")]
    score = scored(found)
    assert says(score)["second_molars"].startswith("without second molars: not the same total")
    assert not {"17", "27", "37", "47"} & set(score.extra["teeth_scored"])  # type: ignore[arg-type]
    assert score.complete
    one = scored(found[:1])
    assert says(one)["second_molars"].startswith("without second molars (upper right):")
    assert "second_molars" not in says(scored([]))


@pytest.mark.parametrize(
    ("total", "first", "second", "panel"),
    [
        (16, "usually pass", "pass", "satisfactory"),
        (17, "usually pass", "pass", "acceptable"),
        (19, "usually pass", "pass", "acceptable"),
        (20, "undetermined", "borderline", "acceptable"),
        (21, "undetermined", "borderline", "acceptable"),
        (22, "undetermined", "borderline", "over what the panel called acceptable"),
        (29, "undetermined", "borderline", "over what the panel called acceptable"),
        (30, "usually fail", "borderline", "over what the panel called acceptable"),
        (31, "usually fail", "fail", "over what the panel called acceptable"),
    ],
)
def test_two_statements_of_experience_differ_at_exactly_30(
    total: int, first: str, second: str, panel: str
) -> None:
    # quoted by Araujo 2009; Santiago and Martinez; Song et al., Am J Orthod Dentofacial Orthop 2013;144:391-397
    said = says(with_total(total))
    assert said["pass_experience"].endswith(f"here {total}, called “{first}” there")
    assert said["pass_experience_other"].endswith(f"here {total}, called “{second}” there")
    assert said["panel_casts"].endswith(f"here {total}, called “{panel}” there")


@given(st.integers(0, 120))
def test_the_statements_agree_everywhere_but_at_30(total: int) -> None:
    agree = {"usually pass": "pass", "undetermined": "borderline", "usually fail": "fail"}
    same = agree[usual_result(Decimal(total))] == usual_result_with_30_open(Decimal(total))
    assert same is (total != 30)


def test_the_panel_judged_casts_so_roots_do_not_count_there() -> None:
    found = [
        "alignment_step mouth rest_none",
        *(f"alignment_step {t} 2" for t in ("11", "12", "13", "14", "15", "16", "17", "21")),
        "root_angulation mouth rest_none",
        "root_angulation 11 touching",
    ]
    score = scored(found)
    assert score.total == 18
    assert says(score)["panel_casts"].endswith("here 16, called “satisfactory” there")
    assert panel_word(Decimal("16.01")) == "acceptable"


@pytest.mark.parametrize(("total", "stands"), [(27, "not over this limit"), (28, "over this limit")])
def test_one_boards_limit_is_told_as_such_with_its_other_conditions(total: int, stands: str) -> None:
    # one board's mail-in and case record pages, undated copies
    said = says(with_total(total))["board_limit"]
    assert said.startswith(
        f"one board's published limit: 27 or less; here {total}, {stands}. Its other conditions"
    )
    assert "second molars erupted and aligned" in said
    assert "physical models" in said


def test_a_site_may_hold_another_limit() -> None:
    (said,) = [
        v.says
        for v in published_experience(Decimal(25), Decimal(25), True, Decimal(24))
        if v.key == "board_limit"
    ]
    assert said.startswith("one board's published limit: 24 or less; here 25, over this limit")


def test_nothing_says_that_a_case_has_passed() -> None:
    for total in (0, 19, 20, 27, 28, 30, 31, 50):
        for said in says(with_total(total)).values():
            assert "passed" not in said
            assert "failed" not in said


def test_a_floor_is_judged_only_where_it_decides() -> None:
    low = scored(["- gap mouth none"])
    assert not low.complete
    for key in ("pass_experience", "pass_experience_other", "panel_casts"):
        assert says(low)[key].endswith("cannot be told while findings are missing")
    assert "cannot be told while findings are missing. Its other" in says(low)["board_limit"]
    teeth = [f"{q}{n}" for q in "1234" for n in range(1, 5)]
    high = scored(
        ["- gap mouth none", "alignment_step mouth rest_none", *(f"alignment_step {t} 2" for t in teeth)]
    )
    assert high.total == 32
    assert says(high)["pass_experience"].endswith("here at least 32, called “usually fail” there")
    assert "here at least 32, over this limit" in says(high)["board_limit"]


@pytest.mark.parametrize(("stage", "dentition"), [("initial", "permanent"), ("post_retention", "permanent")])
def test_outside_its_meaning_it_is_reckoned_without_statements_of_experience(
    stage: str, dentition: str
) -> None:
    score = scored(
        ["alignment_step mouth rest_none", "alignment_step 11 2"], stage=stage, dentition=dentition
    )
    assert score.outside
    assert score.total == 2
    assert list(says(score)) == ["method_shift"]


def test_nothing_recorded_has_no_statement_of_experience() -> None:
    score = registry.score("outcome", Sheet("final", "permanent"))
    assert [v.key for v in score.verdicts] == ["method_shift"]
    assert score.verdicts[0].says.startswith("not recorded on what it was taken")


@pytest.mark.parametrize(
    ("medium", "method", "words"),
    [
        ("plaster", "gauge", ("plaster casts with a gauge",)),
        ("plaster", "caliper", ("plaster casts",)),
        ("plaster", "", ("plaster casts",)),
        ("scan", "scan", ("digital casts",)),
        ("printed", "gauge", ("printed casts",)),
        ("photograph", "picture", ("photographs",)),
        ("", "scan", ("digital casts",)),
        ("", "picture", ("photographs",)),
        ("", "gauge", ()),
    ],
)
def test_what_the_casts_were_taken_on_stands_beside_the_total(
    medium: str, method: str, words: tuple[str, ...]
) -> None:
    # shift: Hildebrand et al., Am J Orthod Dentofacial Orthop 2008;133:283-289, digital minus plaster 9.0 ± 5.4
    # (n 36); Okunami et al., the same 2007;131:51-56, 5.07 (n 30).  Photographs: Wirtz, thesis, Saint Louis University
    sheet = Sheet("final", "permanent", (Finding("alignment_step", "11", "1", method=method),), medium=medium)
    assert taken_on(sheet) == words
    (shift,) = [v for v in registry.score("outcome", sheet).verdicts if v.key == "method_shift"]
    assert "5 to 9 points" in shift.says
    assert "9.0 ± 5.4" in shift.says
    assert "5.07" in shift.says
    assert ("5 of 20 raters" in shift.says) is ("photographs" in words)
    assert "133:283-289" in shift.source
    assert "131:51-56" in shift.source


def test_findings_of_their_own_medium_make_a_mixed_total() -> None:
    plaster = neutral_with([], "outcome", stage="final")
    mixed = tuple(
        replace(f, medium="scan" if f.quantity == "gap" else "plaster", method="eye")
        for f in plaster.findings
    )
    (shift,) = [
        v
        for v in registry.score("outcome", replace(plaster, findings=mixed)).verdicts
        if v.key == "method_shift"
    ]
    assert shift.says.startswith("taken on digital casts and plaster casts (mixed:")


def test_the_radiograph_is_not_what_the_casts_were_taken_on() -> None:
    found = (Finding("root_angulation", "11", "tipped", medium="radiograph"), Finding("gap", "11-21", "0"))
    assert taken_on(Sheet("final", "permanent", found, medium="plaster")) == ("plaster casts",)
