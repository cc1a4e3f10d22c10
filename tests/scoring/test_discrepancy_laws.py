"""Laws that hold for any sheet: worse never scores less, order and side do not matter, limits are exact."""

from dataclasses import replace
from decimal import Decimal

import pytest
from hypothesis import given
from hypothesis import strategies as st

from portfolio import teeth
from portfolio.readings import Finding, Sheet
from portfolio.sources import cite
from scoring import registry
from scoring.result import Score
from tests.scoring.sheets import cases, neutral_with

INDEX = registry.index("discrepancy")
PART_MM = INDEX.choice("part_millimetre").values
PART_DEGREE = INDEX.choice("part_degree").values


def _hundredths(low: str, high: str) -> st.SearchStrategy[Decimal]:
    return st.integers(int(Decimal(low) * 100), int(Decimal(high) * 100)).map(lambda n: Decimal(n) / 100)


def _category(changes: list[str], category: str, choices: dict[str, str] | None = None) -> Decimal:
    score = registry.score("discrepancy", neutral_with(changes), choices=choices, detail="totals")
    points = score.categories[category]
    assert points is not None
    return points


@given(_hundredths("0", "20"), _hundredths("0", "20"), st.sampled_from(PART_MM), st.booleans())
def test_a_wider_open_bite_in_front_never_scores_less(a: Decimal, b: Decimal, part: str, plus: bool) -> None:
    choices = {"part_millimetre": part, "open_bite_start": "edge_point_plus" if plus else "millimetres"}
    low, high = (
        _category([f"overbite 11 {-v}"], "anterior_open_bite", choices) for v in (min(a, b), max(a, b))
    )
    assert low <= high


@given(_hundredths("0", "15"), _hundredths("0", "15"), st.sampled_from(PART_MM))
def test_a_wider_open_bite_behind_never_scores_less(a: Decimal, b: Decimal, part: str) -> None:
    low, high = (
        _category(
            ["posterior_open_bite mouth rest_none", f"posterior_open_bite 26 {v}"],
            "lateral_open_bite",
            {"part_millimetre": part},
        )
        for v in (min(a, b), max(a, b))
    )
    assert low <= high


@given(_hundredths("1", "25"), _hundredths("1", "25"))
def test_a_greater_overjet_from_1_mm_never_scores_less(a: Decimal, b: Decimal) -> None:
    low, high = (
        _category([f"overjet 21 {v}"], "overjet")
        for v in (max(Decimal(2), min(a, b)), max(Decimal(2), max(a, b)))
    )
    assert low <= high


@given(_hundredths("0", "20"), _hundredths("0", "20"), st.sampled_from(PART_MM))
def test_a_greater_reverse_overjet_never_scores_less(a: Decimal, b: Decimal, part: str) -> None:
    low, high = (
        _category([f"overjet 13 {-v}"], "negative_overjet", {"part_millimetre": part})
        for v in (min(a, b), max(a, b))
    )
    assert low <= high


@given(_hundredths("-30", "30"), _hundredths("-30", "30"))
def test_more_crowding_never_scores_less(a: Decimal, b: Decimal) -> None:
    low, high = (_category([f"crowding lower {v}"], "crowding") for v in (min(a, b), max(a, b)))
    assert low <= high


@pytest.mark.parametrize(("quantity", "middle"), [("anb", "2"), ("sn_mp", "32"), ("impa", "90")])
@given(
    a=_hundredths("0", "40"), b=_hundredths("0", "40"), up=st.booleans(), part=st.sampled_from(PART_DEGREE)
)
def test_an_angle_farther_from_the_middle_never_scores_less(
    quantity: str, middle: str, a: Decimal, b: Decimal, up: bool, part: str
) -> None:
    sign = 1 if up else -1
    low, high = (
        _category([f"{quantity} mouth {Decimal(middle) + sign * v}"], quantity, {"part_degree": part})
        for v in (min(a, b), max(a, b))
    )
    assert low <= high


@pytest.mark.parametrize(
    ("category", "finding", "below", "at", "above"),
    [
        ("overjet", "overjet 11 {}", ("2.99", 0), ("3", 0), ("3.01", 2)),
        ("overjet", "overjet 11 {}", ("4.99", 2), ("5", 2), ("5.01", 3)),
        ("overjet", "overjet 11 {}", ("6.99", 3), ("7", 3), ("7.01", 4)),
        ("overjet", "overjet 11 {}", ("8.99", 4), ("9", 4), ("9.01", 5)),
        ("overbite", "overbite 11 {}", ("2.99", 0), ("3", 0), ("3.01", 2)),
        ("overbite", "overbite 11 {}", ("4.99", 2), ("5", 2), ("5.01", 3)),
        ("overbite", "overbite 11 {}", ("6.99", 3), ("7", 3), ("7.01", 3)),
        ("overbite", "overbite_cover mouth {}", ("99.99", 0), ("100", 5), ("100.01", 5)),
        ("anterior_open_bite", "overbite 11 {}", ("0.01", 0), ("0", 1), ("-0.01", 1)),
        ("anterior_open_bite", "overbite 11 {}", ("-1.99", 1), ("-2", 2), ("-2.01", 2)),
        ("negative_overjet", "overjet 11 {}", ("0.01", 0), ("0", 0), ("-0.01", 1)),
        ("negative_overjet", "overjet 11 {}", ("-1.99", 1), ("-2", 2), ("-2.01", 2)),
        ("crowding", "crowding upper {}", ("0.99", 0), ("1", 0), ("1.01", 1)),
        ("crowding", "crowding upper {}", ("2.99", 1), ("3", 1), ("3.01", 2)),
        ("crowding", "crowding upper {}", ("4.99", 2), ("5", 2), ("5.01", 4)),
        ("crowding", "crowding upper {}", ("6.99", 4), ("7", 4), ("7.01", 7)),
        ("anb", "anb mouth {}", ("5.49", 0), ("5.5", 0), ("5.51", 4)),
        ("anb", "anb mouth {}", ("6.49", 4), ("6.5", 4), ("6.51", 5)),
        ("anb", "anb mouth {}", ("-1.49", 0), ("-1.5", 0), ("-1.51", 4)),
        ("sn_mp", "sn_mp mouth {}", ("37.49", 0), ("37.5", 0), ("37.51", 2)),
        ("sn_mp", "sn_mp mouth {}", ("38.49", 2), ("38.5", 2), ("38.51", 4)),
        ("sn_mp", "sn_mp mouth {}", ("26.51", 0), ("26.5", 0), ("26.49", 1)),
        ("impa", "impa mouth {}", ("98.49", 0), ("98.5", 0), ("98.51", 1)),
        ("other", "midline_offset mouth {}", ("2.99", 0), ("3", 2), ("3.01", 2)),
        ("other", "midline_offset mouth {}", ("-2.99", 0), ("-3", 2), ("-3.01", 2)),
    ],
)
def test_just_below_at_and_just_above_a_limit(
    category: str, finding: str, below: tuple[str, int], at: tuple[str, int], above: tuple[str, int]
) -> None:
    for value, points in (below, at, above):
        assert _category([finding.format(value)], category) == points, value


def _lines(score: Score, category: str, site: str) -> list[dict[str, object]]:
    return [line.as_dict() for line in score.lines if line.category == category and line.site == site]


@pytest.mark.parametrize(
    ("finding", "category", "site", "more", "fewer"),
    [
        ("overbite 13 -3", "anterior_open_bite", "13", ("-4", "4", "1"), ("-3", "2", "0")),
        ("overbite 13 -3.5", "anterior_open_bite", "13", ("-4", "4", "0.5"), ("-3", "2", "0.5")),
        ("overbite 13 0", "anterior_open_bite", "13", ("-2", "2", "2"), ("0", "0", "0")),
        ("overjet 11 11", "overjet", "11", None, ("9", "4", "2")),
        ("overjet 11 3", "overjet", "11", ("3", "2", "0"), None),
        ("overjet 11 0.5", "overjet", "11", ("3", "2", "2.5"), ("0", "0", "0.5")),
        ("overjet 11 4.2", "overjet", "11", ("5", "3", "0.8"), ("3", "0", "1.2")),
        ("anb mouth 6", "anb", "mouth", ("6.5", "5", "0.5"), ("5.5", "0", "0.5")),
        ("anb mouth 5.5", "anb", "mouth", ("5.5", "4", "0"), None),
        ("anb mouth -2", "anb", "mouth", ("-2.5", "5", "0.5"), ("-1.5", "0", "0.5")),
        ("sn_mp mouth 30", "sn_mp", "mouth", ("26.5", "1", "3.5"), None),
        ("crowding upper 7", "crowding", "upper", ("7", "7", "0"), ("5", "2", "2")),
        ("molar_relation right class1", "molar_relation", "right", ("end2", "2", "2"), None),
        ("molar_relation right full3", "molar_relation", "right", None, ("end3", "2", "1")),
        ("midline_offset mouth -2.5", "other", "mouth", ("-3", "2", "0.5"), None),
    ],
)
def test_steps_name_the_limit_the_points_beyond_and_the_distance(
    finding: str,
    category: str,
    site: str,
    more: tuple[str, str, str] | None,
    fewer: tuple[str, str, str] | None,
) -> None:
    score = registry.score("discrepancy", neutral_with([finding]))
    quantity = finding.split()[0]
    line = next(
        line
        for line in _lines(score, category, site)
        if line["findings"][0]["quantity"] == quantity  # type: ignore[index]
    )
    keys = ("at", "points", "distance")
    assert line["next_step"] == (more and dict(zip(keys, more, strict=True)))
    assert line["previous_step"] == (fewer and dict(zip(keys, fewer, strict=True)))


@given(_hundredths("-20", "20"), st.sampled_from(PART_MM))
def test_a_step_tells_the_truth(value: Decimal, part: str) -> None:
    choices = {"part_millimetre": part}
    score = registry.score("discrepancy", neutral_with([f"overbite 11 {value}"]), choices=choices)
    line = next(x for x in score.lines if x.category == "anterior_open_bite" and x.site == "11")
    step = line.next_step
    assert step is not None
    assert Decimal(step.distance) == abs(value - Decimal(step.at))
    if part == "fraction" and line.points > 1:
        return
    beyond = Decimal(step.at) - Decimal("0.01")
    if beyond >= -20:
        assert _category([f"overbite 11 {beyond}"], "anterior_open_bite", choices) > line.points
    nearer = Decimal(step.at) + Decimal("0.01")
    if nearer >= -20 and value > nearer:
        assert _category([f"overbite 11 {nearer}"], "anterior_open_bite", choices) <= line.points


def test_missing_is_never_zero_and_an_incomplete_total_is_a_floor() -> None:
    whole = neutral_with(["overjet 11 11"])
    for left_out in whole.findings:
        kept = tuple(f for f in whole.findings if f is not left_out)
        score = registry.score("discrepancy", replace(whole, findings=kept))
        assert not score.complete, left_out
        assert score.missing
        assert score.total is not None
        assert score.total <= 5


def test_nothing_recorded_leaves_every_category_open() -> None:
    score = registry.score("discrepancy", Sheet("initial", "permanent"))
    assert set(score.categories.values()) == {None}
    assert score.total == 0
    assert not score.complete


def test_an_alternative_that_lacks_a_finding_is_not_listed() -> None:
    without = registry.score("discrepancy", neutral_with(["midline_offset mouth 4"]))
    assert [o.choice for o in without.other_totals] == []
    given_ = ["midline_offset mouth 4", "upper_midline_face mouth 1", "lower_midline_face mouth 1"]
    score = registry.score("discrepancy", neutral_with(given_))
    assert [(o.choice, o.total) for o in score.other_totals] == [("midline_against=face", Decimal(0))]


def test_an_alternative_that_asks_for_fewer_sites_is_listed_where_others_of_the_row_are_missing() -> None:
    teeth_listed = " ".join((*teeth.DEFAULT_PERMANENT, "28"))
    found = ["- posterior_open_bite mouth", "crossbite 28 upper_inside", "crossbite mouth rest_none"]
    found += [f"posterior_open_bite {tooth} 0" for tooth in ("16", "15", "14", "24", "25", "26", "27")]
    score = registry.score("discrepancy", neutral_with(found, teeth=teeth_listed))
    assert [m.sites for m in score.missing] == [("17", "28")]
    assert [(o.choice, o.total) for o in score.other_totals] == [("third_molars_behind=left_out", Decimal(0))]


def test_an_alternative_that_reads_a_gap_nobody_recorded_is_not_listed() -> None:
    found = ["missing 14 extracted", "missing mouth rest_none", "- gap mouth"]
    upper_free = [f"gap {c} 0" for c in ("17-16", "16-15")]
    for given_ in (found, [*found, *upper_free], [*found, "gap lower none"]):
        assert registry.score("discrepancy", neutral_with(given_)).other_totals == ()
    closed = registry.score("discrepancy", neutral_with([*found, "gap 15-13 0.4"]))
    assert [(o.choice, o.total) for o in closed.other_totals] == [("missing_closed=0", Decimal(0))]


def test_other_totals_change_one_choice_at_a_time_and_equal_a_score_under_that_choice() -> None:
    for case in cases():
        score = registry.score("discrepancy", case.sheet, choices=case.choices)
        for other in score.other_totals:
            choice_id, value = other.choice.split("=")
            again = registry.score("discrepancy", case.sheet, choices={**case.choices, choice_id: value})
            assert again.total == other.total != score.total


def test_the_plane_is_named_by_convention_when_none_was_recorded() -> None:
    score = registry.score("discrepancy", neutral_with(["sn_mp mouth 40"]))
    assert [(c.quantity, c.site) for c in score.conventions] == [("sn_mp", "mouth")]
    assert score.conventions[0].source == cite("di_settled")
    other = registry.score("discrepancy", neutral_with(["sn_mp mouth 40 go_gn"]))
    assert other.categories["sn_mp"] is None
    assert [(m.quantity, m.plane) for m in other.missing] == [("sn_mp", "go_gn")]


@pytest.mark.parametrize(
    ("stage", "dentition", "inside"),
    [
        ("initial", "permanent", True),
        ("interim", "permanent", True),
        ("final", "permanent", False),
        ("retention", "permanent", False),
        ("initial", "primary", False),
    ],
)
def test_outside_its_stage_or_dentition_the_index_says_so_and_scores_all_the_same(
    stage: str, dentition: str, inside: bool
) -> None:
    score = registry.score("discrepancy", Sheet(stage, dentition, (Finding("anb", "mouth", "8"),)))
    assert bool(score.outside) is not inside
    assert score.total == 6
    assert ("discrepancy" in registry.meant_for(Sheet(stage, dentition))) is inside
