"""Which findings could tip a score, what repeats would tell, and what cancels between two stages."""

import math
import random
from dataclasses import replace
from decimal import Decimal

import pytest

from portfolio.finding_sheet import Finding, Sheet
from scoring.registry import INDEXES
from scoring.uncertainty import (
    BY_FINDING,
    CannotBeTold,
    ErrorModel,
    Question,
    ScoreLaw,
    change_law,
    detectable_change,
    if_repeated,
    law_of,
    leave_one_out,
    near_a_step,
    percent,
)
from scoring.uncertainty.normal import below
from tests.scoring.sheets import neutral_with
from tests.scoring.uncertainty.mouths import WITH_MUCH, traced, unsure


def certain_but(*findings: Finding, index: str = "discrepancy", **frame: str) -> Sheet:
    """The neutral sheet with everything certain but the given findings."""
    sheet = neutral_with((), index, **frame)
    places = {(f.quantity, f.site) for f in findings}
    kept = (replace(f, sd="0") for f in sheet.findings if (f.quantity, f.site) not in places)
    return replace(sheet, findings=(*kept, *findings))


def law(*findings: Finding, errors: ErrorModel = BY_FINDING, **more: str) -> ScoreLaw:
    index = more.pop("index", "discrepancy")
    return law_of(INDEXES[index], certain_but(*findings, index=index, **more), errors)


def test_a_number_near_a_limit_is_told_with_its_deviations_its_chance_and_its_points() -> None:
    """The example of the reference: 0.45 mm against a limit of 0.5 with 0.25 mm is 0.2 deviations, 42 % beyond."""
    told = near_a_step(
        law(Finding("alignment_step", "11", "0.45", sd="0.25"), index="outcome", stage="final")
    )
    above = next(one for one in told if one.at == Decimal("0.5"))
    assert (above.site, above.category, above.distance, above.change) == (
        "11",
        "alignment",
        Decimal("0.05"),
        Decimal(1),
    )
    assert above.z == pytest.approx(0.2)
    # 42 % of the normal, of which only what lies over 0 is possible for a step that was seen
    assert above.beyond == pytest.approx(float(below(-0.2) / below(1.8)), abs=1e-12)
    sides = near_a_step(law(Finding("crowding", "upper", "3.2", sd="1")))
    assert {(str(one.at), str(one.change)) for one in sides} == {("3", "-1"), ("5", "2"), ("5", "2")}


@pytest.mark.parametrize("key", [*WITH_MUCH, "traced"])
def test_outcomes_of_every_finding_average_to_the_chance_of_the_threshold(key: str) -> None:
    if key == "traced":
        sheet, key = traced(unsure("discrepancy"), random.Random(2)), "discrepancy"
    else:
        sheet = unsure(key)
    found = law_of(INDEXES[key], sheet, ErrorModel(offset_mm=0.15))
    threshold = found.total.median + 1
    told = leave_one_out(found, threshold)
    assert len(told) > 5
    for one in told:
        assert math.fsum(o.chance for o in one.outcomes) == pytest.approx(1, abs=1e-12)
        average = math.fsum(o.chance * o.reached for o in one.outcomes)
        assert average == pytest.approx(found.total.at_least(threshold), abs=1e-12)
    assert [one.sd for one in told] == sorted((one.sd for one in told), reverse=True)
    assert told[0].sd > 0.05


def test_what_lies_nearest_a_step_is_not_what_decides() -> None:
    """A tooth on the limit of one point decides less than a relation on the fence of two, farther away."""
    sheet = law(
        Finding("crowding", "upper", "1", sd="0.3"),
        Finding("overjet", "11", "5.1", sd="0.2"),
        Finding("anb", "mouth", "5.1", sd="0.7"),
    )
    near, decides = near_a_step(sheet), leave_one_out(sheet, 5)
    assert near[0].category == "crowding"
    assert decides[0].places == (("anb", "mouth"),)


def test_repeats_move_the_chance_up_or_down_around_what_it_is_now() -> None:
    found = law(Finding("anb", "mouth", "5.4", sd="0.7"), Finding("overjet", "11", "5.2", sd="0.3"))
    once, often = (if_repeated(found, ("anb", "mouth"), times, 4) for times in (1, 8))
    for told in (once, often):
        assert told.low < told.now < told.high
        assert told.mean == pytest.approx(told.now, abs=1e-3), (
            "nothing can be expected of readings not yet taken"
        )
    assert often.low < once.low
    assert often.high > once.high
    # ANB alone decides: the new mean M varies with s √(1 − 1/3) and the chance is then Φ((M − 5.5) / (s/√3))
    only = law(Finding("anb", "mouth", "5.4", sd="0.7"))
    told = if_repeated(only, ("anb", "mouth"), 2, 4)
    for share, got in ((0.05, told.low), (0.95, told.high)):
        mean = 5.4 + (1 if share > 0.5 else -1) * 1.6448536 * 0.7 * math.sqrt(1 - 1 / 3)
        assert got == pytest.approx(float(below((mean - 5.5) / (0.7 / math.sqrt(3)))), abs=0.02)
    with pytest.raises(CannotBeTold):
        if_repeated(only, ("sn_mp", "mouth"), 2, 4)
    with pytest.raises(ValueError, match="1 to 20"):
        if_repeated(only, ("anb", "mouth"), 0, 4)


def test_a_code_read_again_follows_the_rule_of_bayes() -> None:
    """End to end recorded: 90 % so, 5 % each neighbour; one more look that agrees leaves 0.9² of all that may agree."""
    found = law(Finding("molar_relation", "right", "end2"))
    assert found.total.at_least(2) == pytest.approx(0.95)
    told = if_repeated(found, ("molar_relation", "right"), 1, 2)
    agree = 0.9 * 0.9 + 0.05 * 0.05 + 0.05 * 0.05
    assert told.high >= (0.9 * 0.9 + 0.05 * 0.05) / agree > told.now
    assert told.mean == pytest.approx(told.now, abs=1e-12)


def test_several_readings_count_by_their_mean_with_less_random_error_and_the_same_shared_error() -> None:
    place = ("overjet", "11")
    readings = {place: (Decimal("5.2"), Decimal("4.8"), Decimal("5.3"), Decimal("5.1"))}
    one = Finding(*place, "5.2", sd="0.4")
    told = law(one, errors=ErrorModel(readings=readings, offset_mm=0.0)).total.at_least(3)
    assert told == pytest.approx(float(below((5.1 - 5) / 0.2)), abs=1e-12)
    shared = law(one, errors=ErrorModel(readings=readings, offset_mm=0.3)).total.at_least(3)
    assert shared == pytest.approx(float(below(0.1 / math.hypot(0.2, 0.3))), abs=1e-6)


def test_another_examiner_is_another_question_with_more_spread() -> None:
    sheet = certain_but(Finding("overjet", "11", "5.2", sd="0.3"))
    mine, theirs = (law_of(INDEXES["discrepancy"], sheet, BY_FINDING, q) for q in Question)
    assert mine.total.at_least(3) == pytest.approx(float(below(0.2 / 0.3)), abs=1e-12)
    assert theirs.total.at_least(3) == pytest.approx(float(below(0.2 / (0.3 * math.sqrt(2)))), abs=1e-12)
    assert mine.because[0] != theirs.because[0]


def test_landmarks_shared_by_two_angles_are_not_independent() -> None:
    """ANB and SN–MP that share a cause entirely are over their limits together (ρ = 1), or never (ρ = −1)."""
    # turned round, six points need two deviations of either: 7.5° of ANB alone, or 39.5° of SN–MP alone
    for sign, none, six in ((1, 0.5, 0.5), (-1, 0.0, 2 * float(below(-2)))):
        parts = (("tracing/t/N.x", "1.00"),)
        anb = Finding("anb", "mouth", "5.5", sd="1", error_parts=parts)
        sn_mp = Finding("sn_mp", "mouth", "37.5", sd="1", error_parts=((parts[0][0], f"{sign}.00"),))
        told = law(anb, sn_mp).total
        assert told.at_least(6) == pytest.approx(six, abs=1e-5)
        assert told.probabilities.get(Decimal(0), 0.0) == pytest.approx(none, abs=1e-5)
    alone = law(Finding("anb", "mouth", "5.5", sd="1"), Finding("sn_mp", "mouth", "37.5", sd="1")).total
    assert alone.probabilities[Decimal(0)] == pytest.approx(0.25, abs=1e-12)


def test_an_offset_that_all_lengths_share_widens_the_total_where_noise_of_the_same_size_does_not() -> None:
    """Six overjets in reverse, each on a limit: a common offset moves all of them together."""
    teeth = ("13", "12", "11", "21", "22", "23")
    found = [Finding("overjet", tooth, "-2.0", sd="0.20") for tooth in teeth]
    noise = [replace(f, sd="0.25") for f in found]
    shared = law(*found, errors=ErrorModel(offset_mm=0.15)).total
    assert shared.sd > 1.2 * law(*noise).total.sd
    assert shared.mean == pytest.approx(law(*noise).total.mean, abs=1e-6)


def test_what_both_stages_are_off_by_together_falls_out_of_the_change() -> None:
    """Overjet 8.9 before and 4.9 after, each next to a limit: with the offset shared the change is steadier."""
    shared, fresh = ErrorModel(offset_mm=0.4), BY_FINDING
    before, after = (Finding("overjet", "11", value, sd="0.05") for value in ("8.95", "4.95"))
    together = change_law(*(law(f, index="par", errors=shared) for f in (before, after)))
    apart = change_law(*(law(replace(f, sd="0.40"), index="par", errors=fresh) for f in (before, after)))
    assert together.difference.sd < 0.7 * apart.difference.sd
    assert together.difference.probabilities[Decimal(12)] > 0.9
    assert together.greatly_improved is not None
    assert together.greatly_improved < 1e-100, "12 points cannot be 22"
    with pytest.raises(CannotBeTold, match="differ"):
        change_law(law(before, index="par"), law(Finding("anb", "mouth", "3")))


def test_improvement_by_par_follows_the_published_limits() -> None:
    """From 24 certain points to 0 or 6: 24 less is greatly improved, 18 less is improved (30 per cent and 22 points)."""
    before = law(Finding("overjet", "11", "10", sd="0"), index="par")
    assert before.total.values == (Decimal(24),)
    after = law(Finding("overjet", "11", "3.2", sd="0.5"), index="par")
    told = change_law(before, after)
    assert told.improved == pytest.approx(1, abs=1e-3)
    assert told.greatly_improved == pytest.approx(float(below((3 - 3.2) / 0.5)), abs=1e-9)
    assert detectable_change(2) == pytest.approx(5.54, abs=0.01)


def test_per_cent_is_never_0_or_100() -> None:
    assert [percent(p) for p in (0, 0.004, 0.5, 0.996, 1)] == ["< 1 %", "< 1 %", "50 %", "> 99 %", "> 99 %"]


@pytest.mark.parametrize("angles", [("anb", "sn_mp"), ("anb", "sn_mp", "impa")])
def test_what_one_finding_decides_is_what_is_left_when_it_is_known(angles: tuple[str, ...]) -> None:
    """Given that an open bite scores nothing, the chance of a threshold is that of the sheet without it."""
    place = ("posterior_open_bite", "15")
    sheet = traced(unsure("discrepancy"), random.Random(6), angles)
    without = replace(sheet, findings=tuple(f for f in sheet.findings if (f.quantity, f.site) != place))
    index = INDEXES["discrepancy"]
    errors = ErrorModel(offset_mm=0.0)
    both, alone = law_of(index, sheet, errors), law_of(index, without, errors)
    threshold = both.total.median
    told = next(one for one in leave_one_out(both, threshold) if one.places == (place,))
    least = told.outcomes[0]
    assert least.points == 0
    assert least.reached == pytest.approx(alone.total.at_least(threshold), abs=1e-12)
