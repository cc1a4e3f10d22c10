"""What rule shapes refuse, and how they speak."""

from decimal import Decimal

import pytest
from hypothesis import given
from hypothesis import strategies as st

from scoring.measured_shapes import Bands, PerUnit, band
from scoring.shapes import Choice, Cited, Count, RuleFault, Step, plain, points_text

CITED = Cited("di_slides", "read")
ZERO, ONE, TWO = Decimal(0), Decimal(1), Decimal(2)


def test_a_rule_cannot_be_built_without_a_source_in_the_bibliography() -> None:
    with pytest.raises(RuleFault, match="bibliography"):
        Cited("hearsay", "read")
    with pytest.raises(RuleFault, match="certainty"):
        Cited("di_slides", "sure")


@pytest.mark.parametrize(
    "intervals",
    [
        ("(..., 1]", "(2, ...)"),
        ("(..., 2]", "[2, ...)"),
        ("(..., 2)", "(2, ...)"),
        ("(..., 3]", "(1, ...)"),
        ("[0, 2]", "(2, ...)"),
        ("(..., 2]", "(2, 5]"),
    ],
    ids=["gap", "overlap at the limit", "gap at the limit", "overlap", "open start", "open end"],
)
def test_bands_with_a_gap_or_an_overlap_are_refused(intervals: tuple[str, ...]) -> None:
    with pytest.raises(RuleFault):
        Bands("overjet", "mm", tuple(band(i, n) for n, i in enumerate(intervals)), CITED)


@pytest.mark.parametrize("text", ["3-5", "(3; 5]", "[3, 5", "", "(a, b)"])
def test_a_text_that_is_no_interval_is_refused(text: str) -> None:
    with pytest.raises(RuleFault, match="interval"):
        band(text, 1)


def test_a_choice_refuses_a_code_twice_and_a_scale_without_points() -> None:
    with pytest.raises(RuleFault, match="twice"):
        Choice("molars", (("end2", ONE), ("end2", TWO)), (), CITED)
    with pytest.raises(RuleFault, match="without points"):
        Choice("molars", (("end2", ONE),), (("end2", "full2"),), CITED)


@pytest.mark.parametrize(
    ("interval", "words"),
    [
        ("(3, 5]", "over 3 to 5 mm"),
        ("[1, 3]", "1 to 3 mm"),
        ("[0, 1)", "0 to under 1 mm"),
        ("[0, 0]", "exactly 0 mm"),
        ("(9, ...)", "over 9 mm"),
        ("[4, ...)", "4 mm or more"),
        ("(..., 0)", "under 0 mm"),
        ("(..., 3]", "up to 3 mm"),
        ("(..., ...)", "any value"),
    ],
)
def test_a_band_reads_like_the_published_table(interval: str, words: str) -> None:
    assert band(interval, 1).words("mm") == words


def _open(rounding: str, **more: object) -> PerUnit:
    parts = {"start": ZERO, "worse": "up", "first": ZERO, "each": ONE, "least": ONE} | more
    return PerUnit("gap", "mm", rounding=rounding, cited=CITED, **parts)  # type: ignore[arg-type]


@pytest.mark.parametrize(
    ("rounding", "value", "points"),
    [
        ("floor", "2.9", "2"),
        ("floor", "0", "1"),
        ("round_up", "2.1", "3"),
        ("round_up", "2", "2"),
        ("fraction", "2.1", "2.1"),
        ("fraction", "0.3", "1"),
        ("floor", "-0.1", "0"),
    ],
)
def test_points_per_unit_by_the_way_part_units_are_read(rounding: str, value: str, points: str) -> None:
    assert _open(rounding).points(Decimal(value)) == Decimal(points)


def test_a_step_on_a_slope_has_no_distance() -> None:
    steps = _open("fraction").steps(Decimal("2.5"))
    assert steps.more == steps.fewer == Step("2.5", Decimal("2.5"), "0")


@given(st.integers(-300, 600))
def test_the_nearest_step_is_found_where_points_fall_before_they_rise(hundredths: int) -> None:
    table = (
        band("(..., 0)", 0),
        band("[0, 1)", 1),
        band("[1, 3]", 0),
        band("(3, 5]", 2),
        band("(5, ...)", 1),
    )
    rule, value = Bands("overjet", "mm", table, CITED), Decimal(hundredths) / 100
    here, steps = rule.points(value), rule.steps(value)
    away = [Decimal(n) / 100 for n in range(1001)]
    for step, worse in ((steps.more, True), (steps.fewer, False)):
        changes = [
            (d, value + d * way)
            for d in away
            for way in (1, -1)
            if rule.points(value + d * way) != here and (rule.points(value + d * way) > here) == worse
        ]
        assert (step is None) == (not changes)
        if step is not None:
            distance, first = changes[0]
            assert Decimal(step.distance) == abs(Decimal(step.at) - value)
            assert distance - Decimal(step.distance) in (0, Decimal("0.01"))
            assert step.points in {rule.points(at) for d, at in changes if d == distance}, first


def test_a_degree_read_to_the_nearest_whole_one_is_printed_with_both() -> None:
    rule = PerUnit("ANB", "°", Decimal(6), "up", Decimal(4), ONE, "nearest", CITED)
    assert "(5.6° read as 6°)" in rule.words(Decimal("5.6"))
    assert "read as" not in rule.words(Decimal(6))


def test_the_limit_itself_may_be_known_less_surely_than_the_table() -> None:
    rule = PerUnit("ANB", "°", Decimal(6), "up", Decimal(4), ONE, "nearest", CITED, limit_certainty="memory")
    assert [rule.certainty(Decimal(v)) for v in ("6", "5.8", "7", "3")] == [
        "memory",
        "memory",
        "read",
        "read",
    ]
    table = Bands("midline", "mm", (band("(..., 3)", 0), band("[3, ...)", 2)), CITED, "memory")
    assert [table.certainty(Decimal(v)) for v in ("2", "3", "4")] == ["read", "memory", "read"]


def test_things_counted_step_by_one() -> None:
    steps = Count("extra teeth", ONE, CITED).steps(TWO)
    assert (steps.more, steps.fewer) == (Step("3", Decimal(3), "1"), Step("1", ONE, "1"))
    assert Count("extra teeth", ONE, CITED).steps("none").fewer is None


@pytest.mark.parametrize(
    ("number", "text"),
    [("3.50", "3.5"), ("-0", "0"), ("-0.0", "0"), ("100", "100"), ("1E+1", "10"), ("-2.10", "-2.1")],
)
def test_numbers_print_plain(number: str, text: str) -> None:
    assert plain(Decimal(number)) == text


def test_one_point_and_several() -> None:
    assert points_text(ONE) == "1 point"
    assert points_text(Decimal("2.50")) == "2.5 points"


@pytest.mark.parametrize(
    ("value", "words"),
    [("-3.2", "3 mm or more"), ("3", "3 mm or more"), ("-1", "under 3 mm"), ("0", "under 3 mm")],
)
def test_a_table_that_holds_either_way_speaks_of_the_size_alone(value: str, words: str) -> None:
    bands = (band("(..., -3]", 2), band("(-3, 3)", 0), band("[3, ...)", 2))
    assert words in Bands("midline", "mm", bands, CITED, either_way=True).words(Decimal(value))


def test_points_that_start_at_nought_name_no_start() -> None:
    rule = PerUnit("first molars beyond a full step", "mm", ZERO, "up", Decimal(4), ONE, "floor", CITED)
    assert rule.words(TWO) == "first molars beyond a full step: 4 and 1 for each full mm"
