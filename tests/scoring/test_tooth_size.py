"""The tooth-width ratios: published figures, limits, missing teeth, what is printed."""

from decimal import Decimal

import pytest
from hypothesis import given
from hypothesis import strategies as st

from portfolio import teeth
from portfolio.readings import Sheet
from portfolio.sources import cite
from scoring import kernel, registry
from scoring.index import ChoiceRefused
from scoring.indices.tooth_size.rules import ANTERIOR, OVERALL, RATIOS, Excess, Ratio
from scoring.result import Score
from scoring.shapes import plain
from tests.scoring.rule_cells import rules_in
from tests.scoring.sheets import cases, neutral_with

KEY = "tooth_size"
# Indonesian student case report, dental analysis (shared document, widths and sums read)
CASE_REPORT = next(case for case in cases(KEY) if case.origin == "published")


def scored(*changes: str, **frame: str) -> Score:
    return registry.score(KEY, neutral_with(changes, KEY, **frame))


def _sum(sheet: Sheet, *named: str) -> Decimal:
    return sum((sheet.by_quantity["tooth_width"][t].number for t in named), Decimal(0))


def _quadrant(quadrant: str, last: int) -> tuple[str, ...]:
    return tuple(f"{quadrant}{n}" for n in range(1, last + 1))


def test_the_sums_that_the_case_report_prints_are_met_where_it_adds_up_itself() -> None:
    sheet = CASE_REPORT.sheet
    assert _sum(sheet, "12", "11", "21", "22") == Decimal("31.7")
    to_molar = [_sum(sheet, *_quadrant(q, 6)) for q in "1243"]
    assert to_molar == [Decimal(s) for s in ("47.4", "48.4", "43.6", "43.6")]
    to_canine = [_sum(sheet, *_quadrant(q, 3)) for q in "1243"]
    printed = [Decimal(s) for s in ("22.6", "23.4", "18.2", "18.1")]
    assert [to_canine[i] for i in (0, 2, 3)] == [printed[i] for i in (0, 2, 3)]
    # the report is itself wrong here: it prints 23.4 for the upper left side, its widths add to 23.6
    assert to_canine[1] == Decimal("23.6")
    assert to_canine[1] != printed[1]


def test_the_case_report_comes_to_its_ratios_and_names_the_arch_of_every_millimetre() -> None:
    sheet = CASE_REPORT.sheet
    upper, lower = _sum(sheet, *OVERALL.places[:12]), _sum(sheet, *OVERALL.places[12:])
    assert (upper, lower) == (Decimal("95.8"), Decimal("87.2"))
    assert _rounded(OVERALL.excess(upper, lower)) == ("upper", "0.29")
    assert _rounded(OVERALL.lack(upper, lower)) == ("lower", "0.27")
    upper, lower = _sum(sheet, *ANTERIOR.places[:6]), _sum(sheet, *ANTERIOR.places[6:])
    assert (upper, lower) == (Decimal("46.2"), Decimal("36.3"))
    assert _rounded(ANTERIOR.excess(upper, lower)) == ("lower", "0.63")
    assert _rounded(ANTERIOR.lack(upper, lower)) == ("upper", "0.82")


def _rounded(excess: Excess) -> tuple[str, str]:
    return excess.arch, plain(excess.millimetres)


@pytest.mark.parametrize(
    "name",
    ["widths of a textbook of dental anatomy", "mean widths of men", "mean widths of women"],
)
def test_published_mean_widths_lie_within_one_deviation_of_the_published_ratios(name: str) -> None:
    # Wheeler, dental anatomy, and Moorrees et al., J Dent Res 1957;36:39-47: means from memory
    score = next(registry.score(KEY, case.sheet) for case in cases(KEY) if case.name == name)
    for ratio in (OVERALL, ANTERIOR):
        percent = Decimal(str(score.extra[f"{ratio.key}_percent"]))
        assert abs(percent - ratio.mean) < ratio.deviation


@pytest.mark.parametrize(
    ("ratio", "upper", "lower"),
    [
        # rows of the printed table of fitting sums, Bolton, Am J Orthod 1962;48:504-529, from memory
        (OVERALL, "85", "77.6"),
        (OVERALL, "94", "85.8"),
        (OVERALL, "100", "91.3"),
        (OVERALL, "110", "100.4"),
        (ANTERIOR, "40", "30.9"),
        (ANTERIOR, "50", "38.6"),
        (ANTERIOR, "55", "42.5"),
    ],
)
def test_sums_that_fit_by_the_printed_table_leave_no_excess(ratio: Ratio, upper: str, lower: str) -> None:
    assert ratio.excess(Decimal(upper), Decimal(lower)).millimetres <= Decimal("0.06")


def test_a_ratio_turned_over_is_not_the_published_one() -> None:
    # a quiz page prints 78.3 % with the upper arch as 77.2 % of the lower one; the ratio is lower by upper
    score = scored()
    assert score.extra["anterior_percent"] == "77.78"
    assert Decimal(str(score.extra["anterior_percent"])) < 100


def _with_upper_front(sum_of_six: str) -> Score:
    """The neutral sheet (lower front 35 mm) with an upper front of the given sum, all in one tooth."""
    return scored(f"tooth_width 13 {Decimal(sum_of_six) - Decimal('37.5')}")


def _flags(score: Score) -> list[str]:
    return [v.key for v in score.verdicts if v.key.startswith("anterior")]


def test_beyond_two_deviations_and_over_two_millimetres_are_flagged_apart() -> None:
    # 77.2 - 2 × 1.65 = 73.9 %: 35 / 0.739 = 47.36; 2 mm upper excess: 35 / 0.772 + 2 = 47.34
    assert _flags(_with_upper_front("47.33")) == []
    assert _flags(_with_upper_front("47.35")) == ["anterior_over_2_mm"]
    assert _flags(_with_upper_front("47.37")) == ["anterior_beyond_2_sd", "anterior_over_2_mm"]


@pytest.mark.parametrize(
    ("ratio", "upper", "below", "at", "above"),
    [
        (OVERALL, "100", "95.11", "95.12", "95.13"),
        (ANTERIOR, "40", "32.19", "32.2", "32.21"),
    ],
)
def test_exactly_two_deviations_are_not_beyond_them(
    ratio: Ratio, upper: str, below: str, at: str, above: str
) -> None:
    for lower, flagged in ((below, False), (at, False), (above, True)):
        assert _flagged(ratio, upper, lower, f"{ratio.key}_beyond_2_sd") is flagged, lower


def test_exactly_two_millimetres_are_not_over_them() -> None:
    # 2 mm of lower excess with an upper arch of 100 mm: 91.3 + 2
    for lower, flagged in (("93.29", False), ("93.3", False), ("93.31", True)):
        assert _flagged(OVERALL, "100", lower, "overall_over_2_mm") is flagged, lower


def _flagged(ratio: Ratio, upper: str, lower: str, key: str) -> bool:
    """Whether a sheet whose arches have these sums carries a verdict."""
    changes = []
    for arch, total in (("upper", Decimal(upper)), ("lower", Decimal(lower))):
        row = [t for t in ratio.places if teeth.arch(t) == arch]
        each = (total / len(row)).quantize(Decimal("0.01"))
        rest = total - each * (len(row) - 1)
        changes += [f"tooth_width {t} {each}" for t in row[1:]] + [f"tooth_width {row[0]} {rest}"]
    return key in [v.key for v in scored(*changes).verdicts]


def test_a_verdict_names_the_arch_both_ways_and_its_source() -> None:
    says = {v.key: v for v in scored("tooth_width 12 5", "tooth_width 22 5").verdicts}
    assert set(says) == {"overall_over_2_mm", "anterior_beyond_2_sd", "anterior_over_2_mm"}
    assert "the lower teeth are 2.58 mm too wide" in says["anterior_over_2_mm"].says
    assert "the upper teeth 3.34 mm too narrow" in says["anterior_over_2_mm"].says
    assert "83.33 %" in says["anterior_beyond_2_sd"].says
    assert {v.source for v in says.values()} == {cite("tooth_size_limits")}


def test_at_the_mean_nothing_is_in_excess() -> None:
    assert OVERALL.excess(Decimal(100), Decimal("91.3")) == Excess("lower", Decimal(0))
    assert ANTERIOR.excess(Decimal(50), Decimal("38.6")) == Excess("lower", Decimal(0))


WIDTH = st.decimals("2", "16", places=2)


@given(
    st.sampled_from(list(RATIOS.values())),
    st.decimals("30", "120", places=2),
    st.decimals("30", "120", places=2),
)
def test_taking_the_excess_away_or_filling_the_lack_brings_the_ratio_to_its_mean(
    ratio: Ratio, upper: Decimal, lower: Decimal
) -> None:
    excess, lack = ratio.excess(upper, lower), ratio.lack(upper, lower)
    assert excess.millimetres >= 0
    assert lack.millimetres >= 0
    assert excess.arch != lack.arch
    mended = {"upper": upper, "lower": lower}
    mended[excess.arch] -= excess.millimetres
    assert abs(ratio.percent(mended["upper"], mended["lower"]) - ratio.mean) < Decimal("1e-20")
    mended = {"upper": upper, "lower": lower}
    mended[lack.arch] += lack.millimetres
    assert abs(ratio.percent(mended["upper"], mended["lower"]) - ratio.mean) < Decimal("1e-20")


@given(st.sampled_from(OVERALL.places), WIDTH, WIDTH)
def test_a_wider_lower_tooth_raises_the_ratios_and_a_wider_upper_one_lowers_them(
    tooth: str, a: Decimal, b: Decimal
) -> None:
    narrow, wide = (scored(f"tooth_width {tooth} {w}") for w in (min(a, b), max(a, b)))
    for key in ("overall_percent", "anterior_percent"):
        before, after = (Decimal(str(score.extra[key])) for score in (narrow, wide))
        if key == "anterior_percent" and tooth not in ANTERIOR.places:
            assert before == after
        elif teeth.arch(tooth) == "lower":
            assert before <= after
        else:
            assert before >= after


def test_an_extracted_premolar_leaves_the_anterior_ratio_with_the_reason() -> None:
    score = scored("missing mouth rest_none", "missing 14 extracted", "- tooth_width 14", stage="final")
    assert score.complete
    assert score.missing == ()
    assert score.extra["overall_percent"] is None
    assert score.extra["overall_excess"] is None
    assert score.extra["anterior_percent"] == "77.78"
    assert [(c.quantity, c.site) for c in score.conventions] == [("missing", "14")]
    assert score.conventions[0].taken_as.startswith("anterior ratio only")
    gone = next(line for line in score.lines if line.site == "14")
    assert gone.points == 0
    assert gone.findings[0].quantity == "missing"


def test_a_missing_front_tooth_leaves_neither_ratio() -> None:
    score = scored("missing mouth rest_none", "missing 31 lost", "- tooth_width 31")
    assert not score.complete
    assert set(score.extra.values()) == {None}
    assert [(m.quantity, m.sites, m.category) for m in score.missing] == [
        ("tooth_width", ("31",), "overall"),
        ("tooth_width", ("31",), "anterior"),
    ]


def test_third_and_second_molars_are_neither_wanted_nor_read() -> None:
    with_more = scored(
        "tooth_width 17 9.8", "tooth_width 48 10", "missing mouth rest_none", "missing 27 lost"
    )
    assert with_more.extra == scored().extra
    assert with_more.complete
    assert {line.site for line in with_more.lines} == set(OVERALL.places)


def test_a_primary_tooth_never_stands_in_for_its_successor() -> None:
    standing = " ".join(t for t in teeth.DEFAULT_PERMANENT if t != "35") + " 75"
    score = scored("- tooth_width 35", "tooth_width 75 9.8", teeth=standing)
    assert score.extra["overall_percent"] is None
    assert [(m.sites, m.category) for m in score.missing] == [(("35",), "overall")]


@pytest.mark.parametrize(("dentition", "inside"), [("permanent", True), ("mixed", False), ("primary", False)])
@pytest.mark.parametrize("stage", ["initial", "interim", "final", "retention", "post_retention"])
def test_it_has_a_meaning_for_the_permanent_dentition_at_every_stage(
    dentition: str, inside: bool, stage: str
) -> None:
    sheet = Sheet(stage, dentition, (), teeth.DEFAULT_PERMANENT)
    assert (KEY in registry.meant_for(sheet)) is inside
    assert bool(registry.score(KEY, sheet).outside) is not inside


def test_the_lines_are_the_widths_and_sum_to_each_arch() -> None:
    score = registry.score(KEY, CASE_REPORT.sheet)
    for category, arch, total in (
        ("overall", "upper", "95.8"),
        ("overall", "lower", "87.2"),
        ("anterior", "upper", "46.2"),
        ("anterior", "lower", "36.3"),
    ):
        lines = [x for x in score.lines if x.category == category and teeth.arch(x.site) == arch]
        assert sum(line.raw for line in lines) == Decimal(total)
    assert all(line.next_step is None and line.previous_step is None for line in score.lines)


def test_it_asks_for_the_widths_it_reads_and_for_no_others() -> None:
    def sites(*changes: str) -> set[str]:
        asked = kernel.asks(registry.index(KEY), neutral_with(changes, KEY))
        return {s for a in asked if a.quantity == "tooth_width" for s in a.sites}

    assert sites() == set(OVERALL.places)
    left = sites("missing mouth rest_none", "missing 14 extracted", "- tooth_width 14")
    assert left == set(ANTERIOR.places)
    assert "31" not in sites("missing mouth rest_none", "missing 31 lost", "- tooth_width 31")


def test_every_rule_fires_in_some_worked_case() -> None:
    index = registry.index(KEY)
    held = {rule for row in index.components((), "1958") for rule in rules_in(row)}
    fired = {
        hit.rule
        for case in cases(KEY)
        for _, tally in kernel.tallies(index, case.sheet, index.terms(None, {}))
        for hit in tally.hits
    }
    assert held <= fired


def test_an_unknown_edition_or_choice_is_refused_in_words() -> None:
    with pytest.raises(ChoiceRefused, match="allowed: 1958"):
        registry.score(KEY, neutral_with((), KEY), edition="1962")
    with pytest.raises(ChoiceRefused, match="has no rule choice"):
        registry.score(KEY, neutral_with((), KEY), choices={"mean": "91"})
