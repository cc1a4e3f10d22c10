"""Change by PAR and ICON against published limits and groups; what speaks against a comparison is said."""

from dataclasses import replace
from decimal import Decimal
from typing import Any

import pytest
from hypothesis import given
from hypothesis import strategies as st

from scoring import registry
from scoring.compare.caseload import par_caseload, spread
from scoring.compare.icon_change import complexity, icon_change, improvement
from scoring.compare.par_change import greatly_improved_up_to, improved_up_to, par_change
from scoring.compare.stages import Side, change
from scoring.shapes import plain

PAR, ICON, OUTCOME = (registry.index(key) for key in ("par", "icon", "outcome"))
POINTS = st.integers(0, 120).map(Decimal)
BEFORE = Side("initial", Decimal(44), True, "uk1992", {"overjet": Decimal(24)}, medium="plaster")
AFTER = Side("final", Decimal(4), True, "uk1992", {"overjet": Decimal(0)}, medium="plaster")


@pytest.mark.parametrize(
    ("pre", "post", "points", "percent", "verdict"),
    [
        (44, 22, 22, "50", "greatly_improved"),
        (43, 22, 21, "48.84", "improved"),
        (21, 0, 21, "100", "improved"),
        (20, 14, 6, "30", "improved"),
        (20, 15, 5, "25", "worse_or_no_different"),
        (30, 21, 9, "30", "improved"),
        (74, 52, 22, "29.73", "worse_or_no_different"),
        (73, 51, 22, "30.14", "greatly_improved"),
        (22, 0, 22, "100", "greatly_improved"),
        (10, 12, -2, "-20", "worse_or_no_different"),
        (31, 21, 10, "32.26", "improved"),
        (80, 58, 22, "27.5", "worse_or_no_different"),
        (10, 10, 0, "0", "worse_or_no_different"),
    ],
)
def test_the_published_limits_of_improvement(
    pre: int, post: int, points: int, percent: str, verdict: str
) -> None:
    # Richmond et al., Eur J Orthod 1992;14:180-187: at least 30 % improved, a change of 22 points greatly improved
    found = par_change(Decimal(pre), Decimal(post))
    assert found.points == points
    assert plain(found.percent or Decimal(0)) == percent
    assert found.verdict == verdict


def test_nothing_wrong_before_has_no_per_cent() -> None:
    assert par_change(Decimal(0), Decimal(0)).verdict == "undefined"
    assert par_change(Decimal(0), Decimal(1)).verdict == "worse_or_no_different"
    assert par_change(Decimal(0), Decimal(1)).percent is None


@given(POINTS, POINTS)
def test_under_22_points_no_case_is_ever_greatly_improved(before: Decimal, after: Decimal) -> None:
    found = par_change(before, after)
    assert found.can_be_greatly_improved is (before >= 22)
    assert found.can_be_greatly_improved or found.verdict != "greatly_improved"


@given(POINTS, POINTS)
def test_the_lines_of_the_chart_are_the_limits_of_the_verdicts(before: Decimal, after: Decimal) -> None:
    verdict = par_change(before, after).verdict
    line = greatly_improved_up_to(before)
    if before:
        assert (verdict != "worse_or_no_different") is (after <= improved_up_to(before))
        assert (verdict == "greatly_improved") is (line is not None and after <= line)


@given(POINTS, POINTS, POINTS)
def test_a_better_result_never_gets_a_worse_verdict(before: Decimal, a: Decimal, b: Decimal) -> None:
    rank = ["undefined", "worse_or_no_different", "improved", "greatly_improved"]
    better, worse = (rank.index(par_change(before, v).verdict) for v in (min(a, b), max(a, b)))
    assert before == 0 or better >= worse


def test_published_groups_agree_with_the_arithmetic() -> None:
    # Angle Orthod 2008;78:270-274 (n 94): pre 29.46, post 6.32, printed 78.54 %, which is cut and not rounded
    of_means = par_caseload([(Decimal("29.46"), Decimal("6.32"))]).percent_of_means
    assert of_means is not None
    assert plain(of_means) == "78.55"
    # Bernas, Banting and Short, phase I in an undergraduate clinic (n 93): pre 29.7, 14.9 points less, printed 50.2 %
    of_means = par_caseload([(Decimal("29.7"), Decimal("29.7") - Decimal("14.9"))]).percent_of_means
    assert of_means is not None
    assert plain(of_means.quantize(Decimal("0.1"))) == "50.2"


def test_published_shares_agree_with_the_counts() -> None:
    # Tintodana et al., J Orthod Sci 2020;9:17 (n 80): 62 greatly improved, 16 improved, 2 not: 77.5, 20, 2.5 %
    pairs = [(44, 4)] * 62 + [(20, 5)] * 16 + [(20, 19)] * 2
    found = par_caseload((Decimal(a), Decimal(b)) for a, b in pairs)
    shares = [found.share(v) for v in ("greatly_improved", "improved", "worse_or_no_different")]
    assert [plain(s or Decimal(0)) for s in shares] == ["77.5", "20", "2.5"]
    assert found.few_worse is True


def test_the_mean_of_the_per_cents_is_not_the_per_cent_of_the_means() -> None:
    found = par_caseload([(Decimal(10), Decimal(0)), (Decimal(40), Decimal(30))])
    assert found.mean_of_percents == Decimal("62.5")
    assert found.percent_of_means == Decimal(40)
    assert found.over_70_percent is False


def test_a_caseload_without_cases_has_no_means() -> None:
    found = par_caseload([])
    assert (found.before, found.mean_of_percents, found.percent_of_means, found.few_worse) == (None,) * 4
    assert found.share("improved") is None


@given(st.lists(st.integers(0, 100).map(Decimal), min_size=2, max_size=30))
def test_mean_and_standard_deviation_are_those_of_the_standard_library(values: list[Decimal]) -> None:
    import statistics

    found = spread(values)
    assert found is not None
    assert float(found.mean) == pytest.approx(float(statistics.mean(values)))
    assert found.sd is not None
    assert float(found.sd) == pytest.approx(float(statistics.stdev(values)), abs=1e-9)


@pytest.mark.parametrize(
    ("total", "words"),
    [
        (28, "easy"),
        (29, "mild"),
        (50, "mild"),
        (51, "moderate"),
        (63, "moderate"),
        (64, "difficult"),
        (77, "difficult"),
        (78, "very difficult"),
    ],
)
def test_the_classes_of_complexity_by_icon(total: int, words: str) -> None:
    # Daniels and Richmond 2000, from memory: easy < 29, mild 29-50, moderate 51-63, difficult 64-77, above very difficult
    assert complexity(Decimal(total)) == words


@pytest.mark.parametrize(
    ("score", "words"),
    [
        (0, "greatly improved"),
        (-1, "substantially improved"),
        (-25, "substantially improved"),
        (-26, "moderately improved"),
        (-53, "moderately improved"),
        (-54, "minimally improved"),
        (-85, "minimally improved"),
        (-86, "not improved or worse"),
    ],
)
def test_the_classes_of_improvement_by_icon(score: int, words: str) -> None:
    # Daniels and Richmond 2000, from memory
    assert improvement(Decimal(score)) == words


def test_need_and_outcome_by_icon_at_their_limits() -> None:
    assert icon_change(Decimal(43), Decimal(31)).needed is False
    assert icon_change(Decimal(44), Decimal(30)).needed is True
    assert icon_change(Decimal(43), Decimal(31)).acceptable is False
    assert icon_change(Decimal(44), Decimal(30)).acceptable is True
    assert icon_change(Decimal(60), Decimal(15)).improvement == "greatly improved"


def keys(found: Any) -> list[str]:
    return [verdict.key for verdict in found.verdicts]


def test_a_comparison_gives_totals_rows_and_verdicts() -> None:
    found = change(PAR, BEFORE, AFTER)
    assert found.difference == -40
    row = next(row for row in found.rows if row.key == "overjet")
    assert row.before == 24
    assert row.after == 0
    assert row.difference == -24
    assert keys(found) == ["improvement"]
    assert found.verdicts[0].says == "greatly improved (40 points less, 90.9 %)"
    assert found.cautions == ()


def test_a_case_that_began_under_22_is_told_what_it_cannot_reach() -> None:
    found = change(PAR, replace(BEFORE, total=Decimal(21)), AFTER)
    assert keys(found) == ["improvement", "cannot_reach"]


def test_floors_other_weights_and_other_editions_get_no_verdict_and_say_why() -> None:
    floor = change(PAR, replace(BEFORE, complete=False), AFTER)
    assert (floor.difference, keys(floor)) == (None, [])
    assert "findings are missing, so the total is at least what stands here" in floor.cautions[0]
    space = registry.index("space")
    without = change(space, None, Side("final", None, False, "1"))
    assert without.cautions == ("final: findings are missing, so it cannot be told whole",)
    us = change(PAR, replace(BEFORE, edition="us1995"), replace(AFTER, edition="us1995"))
    assert us.difference == -40
    assert keys(us) == []
    assert "weights of 1992 only" in us.cautions[0]
    mixed = change(PAR, BEFORE, replace(AFTER, edition="us1995"))
    assert (mixed.difference, keys(mixed)) == (None, [])
    assert "not compared" in mixed.cautions[0]


def test_media_that_differ_are_told() -> None:
    found = change(PAR, BEFORE, replace(AFTER, medium="scan"))
    assert found.cautions == (
        "measured on different media (plaster casts before, digital casts after): part of the change may come from "
        "the method",
    )


def test_icon_tells_need_complexity_outcome_and_improvement() -> None:
    found = change(
        ICON,
        replace(BEFORE, total=Decimal(70), edition="2000"),
        replace(AFTER, total=Decimal(14), edition="2000"),
    )
    assert keys(found) == ["need", "complexity", "outcome", "improvement"]
    assert "difficult" in found.verdicts[1].says
    assert "greatly improved" in found.verdicts[3].says


def test_a_stage_alone_is_shown_without_a_difference() -> None:
    found = change(OUTCOME, None, replace(AFTER, edition="manual2012"))
    assert (found.before, found.difference, keys(found)) == (None, None, [])
    outside = change(OUTCOME, replace(BEFORE, outside="meant for finished casts"), None)
    assert outside.cautions == ("initial: meant for finished casts",)
