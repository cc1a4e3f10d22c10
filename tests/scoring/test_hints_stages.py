"""Hints from another sheet of the case: other widths, teeth that come and go, right and left exchanged."""

from dataclasses import replace
from decimal import Decimal

import pytest
from hypothesis import given
from hypothesis import strategies as st

from portfolio import teeth
from portfolio.readings import Sheet
from scoring.hints import Hint, hints
from tests.scoring.sheets import mirrored, neutral_with, sheet
from tests.scoring.test_tooth_size import CASE_REPORT

NO_12 = ["missing mouth rest_none", "missing 12 congenital"]


def widths(*of: str, stage: str = "initial") -> Sheet:
    return sheet([f"tooth_width {text}" for text in of], stage=stage)


def told(one: Sheet, other: Sheet) -> dict[str, Hint]:
    return {h.key: h for h in hints(one, [other])}


@pytest.mark.parametrize(
    ("here", "there", "fires"),
    [("8.5", "9.0", False), ("8.5", "9.01", True), ("9.01", "8.5", True), ("8.5", "8.5", False)],
)
def test_widths_of_one_tooth_over_half_a_millimetre_apart_are_told(
    here: str, there: str, fires: bool
) -> None:
    found = told(widths(f"11 {here}", stage="final"), widths(f"11 {there}"))
    assert (list(found) == ["widths_differ"]) is fires
    if fires:
        hint = found["widths_differ"]
        assert hint.sites == ("11",)
        assert "initial records" in hint.words
        assert f"11 {Decimal(here).normalize()} mm here" in hint.words
        assert "same patient" in hint.why


def test_many_widths_apart_make_one_hint_that_names_some() -> None:
    here = {f.site: f.number for f in CASE_REPORT.sheet.singles("tooth_width")}
    other = widths(*(f"{t} {w + Decimal('0.6')}" for t, w in here.items()), stage="final")
    hint = told(CASE_REPORT.sheet, other)["widths_differ"]
    assert set(hint.sites) == set(here)
    assert "and 20 more" in hint.words
    assert "final records" in hint.words


def test_a_width_is_held_against_the_same_tooth_alone() -> None:
    assert told(widths("11 8.5"), widths("21 9.5", stage="final")) == {}
    mixed = "16 55 54 53 12 11 21 22 63 64 65 26 46 85 84 83 42 41 31 32 73 74 75 36"
    young = sheet(["tooth_width 55 9"], teeth=mixed, dentition="mixed")
    assert (
        told(
            young,
            replace(young, findings=sheet(["tooth_width 55 10"], teeth=mixed, dentition="mixed").findings),
        )
        == {}
    )


def test_two_sheets_of_one_stage_are_spoken_of_as_such() -> None:
    hint = told(widths("11 8.5"), widths("11 9.5"))["widths_differ"]
    assert "other sheet of these records" in hint.words


@pytest.mark.parametrize("swap", [False, True])
def test_a_tooth_that_comes_back_is_told_whichever_sheet_is_in_hand(swap: bool) -> None:
    early = sheet(NO_12)
    late = sheet(["missing mouth none"], stage="final")
    one, other = (early, late) if swap else (late, early)
    hint = told(one, other)["missing_and_there"]
    assert hint.sites == ("12",)
    assert "missing (initial), there (final)" in hint.words


def test_a_tooth_that_stood_cannot_have_never_formed() -> None:
    early = sheet(["missing mouth none"])
    assert told(sheet(NO_12, stage="final"), early)["missing_and_there"].sites == ("12",)
    extracted = sheet(["missing mouth rest_none", "missing 14 extracted"], stage="final")
    assert told(extracted, early) == {}


def test_a_sheet_on_which_nobody_looked_says_nothing_about_missing_teeth() -> None:
    assert told(sheet([], stage="final"), sheet(NO_12)) == {}
    # a finding at the tooth says that it stands
    assert "missing_and_there" in told(sheet(["overjet 12 3"], stage="final"), sheet(NO_12))


def test_a_missing_tooth_on_the_other_side_speaks_for_exchanged_sides() -> None:
    early = sheet(NO_12)
    late = sheet(["missing mouth rest_none", "missing 22 congenital"], stage="final")
    hint = told(late, early)["right_and_left"]
    assert hint.sites == ("12", "22")
    assert hint.quantities == ("missing",)
    same = sheet(NO_12, stage="final")
    assert told(same, early) == {}


def test_widths_that_fit_the_other_side_better_speak_for_exchanged_sides() -> None:
    early = widths("11 8.2", "21 8.6", "12 6.3", "22 6.8", "13 7.5", "23 7.9")
    late = replace(mirrored(early), stage="final")
    hint = told(late, early)["right_and_left"]
    assert set(hint.sites) == {"11", "21", "12", "22", "13", "23"}
    assert "right and left exchanged" in hint.words
    assert told(replace(early, stage="final"), early) == {}


def test_one_slip_of_a_width_is_no_proof_of_exchanged_sides() -> None:
    early = widths("11 8.5", "21 8.5", "12 6.3", "22 7.3")
    late = widths("11 8.5", "21 8.5", "12 7.3", "22 6.3", stage="final")
    assert list(told(late, early)) == ["widths_differ"]


def test_crossbites_and_classes_count_little_because_treatment_changes_them() -> None:
    def one(*crossed: str, molars: str = "right", stage: str = "initial") -> Sheet:
        changes = ["crossbite mouth rest_none", f"molar_relation {molars} full2"]
        return neutral_with([*changes, *(f"crossbite {t} edge" for t in crossed)], stage=stage)

    early = one("14", "15", "16")
    assert told(one("24", stage="final"), early) == {}
    assert told(one("24", "25", stage="final", molars="left"), early) == {}
    many = told(one("24", "25", "26", "27", stage="final", molars="left"), one("14", "15", "16", "17"))
    assert list(many) == ["right_and_left"]
    assert many["right_and_left"].quantities == ("crossbite", "molar_relation")


def test_a_tooth_of_unusual_shape_counts_with_other_signs() -> None:
    def one(tooth: str, *crossed: str, stage: str = "initial") -> Sheet:
        changes = ["anomalous mouth rest_none", f"anomalous {tooth} yes", "crossbite mouth rest_none"]
        return neutral_with([*changes, *(f"crossbite {t} edge" for t in crossed)], stage=stage)

    assert told(one("22", stage="final"), one("12")) == {}
    assert list(told(one("22", "24", "25", stage="final"), one("12", "14", "15"))) == ["right_and_left"]
    assert told(one("12", "24", "25", stage="final"), one("12", "14", "15")) == {}


def test_several_other_sheets_are_each_held_against_this_one() -> None:
    this = widths("11 8.5", stage="final")
    found = hints(
        this, [widths("11 9.5"), widths("11 8.4", stage="interim"), widths("11 9.4", stage="retention")]
    )
    assert [h.key for h in found] == ["widths_differ", "widths_differ"]
    assert "retention records" in found[1].words


MANY = st.lists(st.decimals("-0.9", "0.9", places=1), min_size=12, max_size=12)


@given(MANY, st.booleans())
def test_mirroring_both_sheets_mirrors_the_hints_and_mirroring_one_turns_the_evidence(
    slips: list[Decimal], exchanged: bool
) -> None:
    early = CASE_REPORT.sheet
    names = [f.site for f in early.singles("tooth_width") if teeth.number(f.site) <= 3]
    numbers = {f.site: f.number for f in early.singles("tooth_width")}
    late = widths(*(f"{t} {numbers[t] + s}" for t, s in zip(names, slips, strict=True)), stage="final")
    if exchanged:
        late = mirrored(late)
    found, turned = hints(late, [early]), hints(mirrored(late), [mirrored(early)])
    assert [(h.key, {teeth.mirror(s) for s in h.sites}) for h in turned] == [
        (h.key, set(h.sites)) for h in found
    ]
    one_turned = {h.key for h in hints(mirrored(late), [early])}
    assert not ({"right_and_left"} <= {h.key for h in found} & one_turned)
