"""The dental health component of the need index: limits, order, what is waited for, what is printed.

Limits and order: Brook and Shaw, Eur J Orthod 1989;11:309-320, as reprinted in a quick reference sheet of
2019 (grades 3 to 5), table 1 of PMC10329520 (grade 2) and on two pages of teaching (order, exact limits,
casts without clinical notes); impeded eruption on casts: Austrian instructions.
"""

import pytest

from portfolio.quantities.occlusion import MOLAR_CODES
from portfolio.readings import Sheet
from scoring import registry
from scoring.index import ChoiceRefused
from scoring.indices.iotn.grades import LETTERS
from scoring.kernel import tallies
from scoring.result import Score
from tests.scoring.iotn_grades import fired, grade, missing, scored
from tests.scoring.rule_cells import fired_cells, held_cells
from tests.scoring.sheets import cases, neutral_with, sheet

INDEX = registry.index("iotn")
IN_REVERSE = ["overjet 12 -0.1", "overjet 11 -0.1", "overjet 21 -0.1", "overjet 22 -0.1"]


@pytest.mark.parametrize(
    ("findings", "below", "at", "above"),
    [
        (["overjet 11 {}", "lip_competence mouth incompetent"], ("3.49", "1"), ("3.5", "1"), ("3.51", "3a")),
        (["overjet 11 {}", "lip_competence mouth competent"], ("3.49", "1"), ("3.5", "1"), ("3.51", "2a")),
        (["overjet 11 {}", "lip_competence mouth competent"], ("5.99", "2a"), ("6", "2a"), ("6.01", "4a")),
        (["overjet 11 {}"], ("8.99", "4a"), ("9", "4a"), ("9.01", "5a")),
        ([*IN_REVERSE, "overjet 11 {}", "function_problem mouth no"], ("-0.99", "2b"), ("-1", "2b"), ("-1.01", "3b")),
        ([*IN_REVERSE, "overjet 11 {}", "function_problem mouth no"], ("-3.49", "3b"), ("-3.5", "3b"), ("-3.51", "4b")),
        ([*IN_REVERSE, "overjet 11 {}", "function_problem mouth yes"], ("-0.99", "2b"), ("-1", "2b"), ("-1.01", "4m")),
        ([*IN_REVERSE, "overjet 11 {}", "function_problem mouth yes"], ("-3.49", "4m"), ("-3.5", "4m"), ("-3.51", "5m")),
        (["crossbite mouth rest_none", "crossbite 16 upper_inside", "functional_shift mouth {}"], ("0.99", "2c"), ("1", "2c"), ("1.01", "3c")),
        (["crossbite mouth rest_none", "crossbite 16 upper_inside", "functional_shift mouth {}"], ("1.99", "3c"), ("2", "3c"), ("2.01", "4c")),
        (["contact_offset mouth rest_none", "contact_offset 11-21 {}"], ("0.99", "1"), ("1", "1"), ("1.01", "2d")),
        (["contact_offset mouth rest_none", "contact_offset 11-21 {}"], ("1.99", "2d"), ("2", "2d"), ("2.01", "3d")),
        (["contact_offset mouth rest_none", "contact_offset 11-21 {}"], ("3.99", "3d"), ("4", "3d"), ("4.01", "4d")),
        (["overbite 11 {}"], ("-0.99", "1"), ("-1", "1"), ("-1.01", "2e")),
        (["overbite 11 {}"], ("-1.99", "2e"), ("-2", "2e"), ("-2.01", "3e")),
        (["overbite 11 {}"], ("-3.99", "3e"), ("-4", "3e"), ("-4.01", "4e")),
        (["posterior_open_bite mouth rest_none", "posterior_open_bite 16 {}"], ("0.99", "1"), ("1", "1"), ("1.01", "2e")),
        (["posterior_open_bite mouth rest_none", "posterior_open_bite 16 {}"], ("1.99", "2e"), ("2", "2e"), ("2.01", "3e")),
        (["posterior_open_bite mouth rest_none", "posterior_open_bite 16 {}"], ("3.99", "3e"), ("4", "3e"), ("4.01", "4e")),
        (["overbite 11 {}", "palatal_contact mouth none"], ("3.49", "1"), ("3.5", "2f"), ("3.51", "2f")),
        (["eruption 35 unerupted", "eruption_space 35 {}"], ("4.01", "1"), ("4", "5i"), ("3.99", "5i")),
        (["eruption 25 unerupted", "support_zone upper-left-back {}"], ("18.01", "1"), ("18", "5i"), ("17.99", "5i")),
        (["eruption 34 unerupted", "support_zone lower-left-back {}"], ("17.01", "1"), ("17", "5i"), ("16.99", "5i")),
    ],
)  # fmt: skip
def test_a_limit_has_the_published_side(
    findings: list[str], below: tuple[str, str], at: tuple[str, str], above: tuple[str, str]
) -> None:
    for value, expected in (below, at, above):
        assert grade(*(f.format(value) for f in findings)) == expected, value


@pytest.mark.parametrize("code", [code for code in MOLAR_CODES if code != "class1"])
def test_molars_off_class_i_are_2g_and_full_steps_are_from_memory(code: str) -> None:
    score = scored(f"molar_relation left {code}")
    assert score.extra["grade"] == "2g"
    full = code.startswith(("full", "beyond"))
    assert score.lines[0].certainty == ("memory" if full else "read")


def test_molars_off_class_i_say_that_they_count_only_alone() -> None:
    score = scored("molar_relation left end2", "overbite 11 -1.5")
    assert fired(score) == ["2e"]
    line = next(line for line in score.lines if line.category == "g" and line.site == "left")
    assert [str(line.raw), str(line.points), line.beaten_by] == ["0", "0", ""]
    assert "nothing else" in line.rule


def test_all_letters_that_fire_stand_worst_first_in_the_settled_order() -> None:
    score = scored(
        "impacted mouth rest_none", "impacted 37 tipped", "missing mouth rest_none", "missing 35 congenital",
        "supernumerary mouth rest_none", "supernumerary 11 1", "overjet 11 7", "overjet 21 -2",
        "crossbite mouth rest_none", "crossbite 24 upper_outside", "functional_shift mouth 3", "buccal_contact left no",
        "contact_offset mouth rest_none", "contact_offset 42-41 4.5", "overbite 13 -5", "overbite 11 6",
        "palatal_contact mouth trauma", "cleft_or_syndrome mouth yes", "submerged mouth rest_none", "submerged 75 severe",
    )  # fmt: skip
    expected = ["5p", "5s", "4h", "4t", "4x", "4a", "4c", "4l", "4d", "4e", "4f"]
    assert fired(score) == expected
    assert [line.category for line in score.lines][: len(expected)] == expected
    first, *others = (line for line in score.lines if line.category in expected)
    assert [str(first.raw), str(first.points), first.beaten_by] == ["5", "5", ""]
    assert {line.points for line in others} == {0}
    assert {line.beaten_by for line in others} == {"cleft_or_syndrome mouth"}
    assert [str(line.raw) for line in others] == [category[0] for category in expected[1:]]
    assert score.total == 5
    assert score.complete


def test_the_order_of_letters_is_that_of_the_published_search() -> None:
    """Missing, overjet, crossbite, displacement, overbite and open bite."""
    assert "".join(LETTERS) == "ihpstxambcldefg"


def test_reverse_overjet_stands_between_overjet_and_crossbite() -> None:
    reverse = [f"overjet {t} -2" for t in ("12", "11", "21", "22")]
    behind = ["crossbite mouth rest_none", "crossbite 16 upper_inside", "functional_shift mouth 3"]
    assert fired(scored(*reverse, *behind, "function_problem mouth yes")) == ["4m", "4c"]
    assert fired(scored(*reverse, *behind, "function_problem mouth no")) == ["4c", "3b"]


def test_of_one_letter_only_the_worst_finding_fires_and_the_others_say_what_beat_them() -> None:
    score = scored("overjet 12 7", "overjet 11 9.5", "overjet 21 10", "contact_offset mouth rest_none",
                   "contact_offset 13-12 5", "contact_offset 41-31 3")  # fmt: skip
    assert fired(score) == ["5a", "4d"]
    beside = {line.site: line for line in score.lines if line.category == "a"}
    assert {site: str(line.raw) for site, line in beside.items()} == {"12": "4", "11": "5", "22": "0"}
    assert {line.beaten_by for line in beside.values() if line.raw} == {"overjet 21"}
    assert [line.beaten_by for line in score.lines if line.site == "41-31"] == ["contact_offset 13-12"]


def test_ties_go_to_the_midline_then_to_the_right() -> None:
    score = scored(
        "crossbite mouth rest_none", *(f"crossbite {t} upper_inside" for t in ("17", "15", "25", "26")),
        "functional_shift mouth 0", "contact_offset mouth rest_none", "contact_offset 13-12 2", "contact_offset 42-41 2",
        "contact_offset 31-32 2",
    )  # fmt: skip
    assert [(line.category, line.site) for line in score.lines[:2]] == [("2c", "15"), ("2d", "42-41")]


def test_every_finding_that_is_read_has_a_line_and_tells_the_next_step() -> None:
    score = scored("overjet 11 3.4", "lip_competence mouth incompetent", "functional_shift mouth 1.5",
                   "function_problem mouth yes", "buccal_contact left no", "retained_primary mouth none")  # fmt: skip
    read = {(f.quantity, f.site) for line in score.lines for f in line.findings}
    assert read == {(f.quantity, f.site) for f in neutral_with(
        ["lip_competence mouth incompetent", "functional_shift mouth 1.5", "function_problem mouth yes",
         "buccal_contact left no", "retained_primary mouth none"], index="iotn").findings}  # fmt: skip
    line = next(line for line in score.lines if line.category == "a" and line.site == "11")
    assert line.next_step is not None
    assert line.next_step._asdict() == {"at": "3.5", "points": 3, "distance": "0.1", "side": "over"}
    assert line.previous_step is None
    assert all(line.category in LETTERS and line.points == 0 for line in score.lines)


# single letters


def test_h_counts_each_quadrant_by_itself() -> None:
    assert grade("missing mouth rest_none", "missing 15 congenital", "missing 25 congenital", "missing 35 congenital", "missing 45 congenital") == "4h"  # fmt: skip
    score = scored(
        "missing mouth rest_none", "missing 35 congenital", "missing 34 congenital", "missing 45 congenital"
    )
    assert score.extra["grade"] == "5h"
    assert [f.site for f in score.lines[0].findings] == ["34", "35"]
    assert grade("missing mouth rest_none", "missing 38 congenital", "missing 35 congenital") == "4h"


def test_impactions_at_third_molars_give_no_letter_whatever_their_kind() -> None:
    for code in ("yes", "tipped", "supernumerary"):
        score = scored("impacted mouth rest_none", f"impacted 48 {code}")
        assert score.extra["grade"] == "1", code
        assert any(line.rule == "third molars are not graded" for line in score.lines), code
    assert grade("impacted mouth rest_none", "impacted 47 supernumerary") == "4x"


def test_a_primary_tooth_without_successor_points_to_the_missing_one() -> None:
    score = scored(
        "retained_primary mouth rest_none", "retained_primary 75 no_successor", "submerged mouth none"
    )
    assert score.extra["grade"] == "1"
    assert [line.rule for line in score.lines if line.site == "75"] == [
        "counts when its successor is recorded as missing, never formed"
    ]


MIXED = "16 55 54 53 52 11 21 62 63 64 65 26 46 85 84 83 42 41 31 32 73 74 75 36"


def mixed(*changes: str) -> Score:
    """The neutral sheet of a mixed dentition with primary upper canines and lateral incisors."""
    gone = [f"- {q} {t}" for q in ("overjet", "overbite") for t in ("13", "12", "22", "23")]
    primary = [f"{q} {t} 2" for q in ("overjet", "overbite") for t in ("53", "52", "62", "63")]
    return scored(*gone, *primary, "submerged mouth none", *changes, dentition="mixed", teeth=MIXED)


def test_a_primary_tooth_holds_the_place_of_its_successor_in_a_mixed_dentition() -> None:
    assert mixed().complete
    assert mixed("overjet 52 9.5").extra["grade"] == "5a"
    assert mixed("overbite 53 -3").extra["grade"] == "3e"
    crossed = ["crossbite mouth rest_none", "crossbite 55 upper_inside", "functional_shift mouth 0"]
    assert mixed(*crossed).extra["grade"] == "2c"
    assert mixed("- contact_offset mouth").missing[0].sites == ("11-21", "42-41", "41-31", "31-32")


def test_only_p_is_read_in_the_primary_dentition() -> None:
    primary = [f"overjet {t} 12" for t in ("51", "61")] + ["crossbite mouth none"]
    score = registry.score("iotn", sheet(primary, dentition="primary"))
    assert (score.extra["grade"], score.lines, score.outside) == ("1", (), "")
    assert missing(score) == ["p cleft_or_syndrome mouth"]
    assert registry.score("iotn", sheet([*primary, "cleft_or_syndrome mouth yes"], dentition="primary")).extra["grade"] == "5p"  # fmt: skip


def test_missing_and_unerupted_teeth_close_up_their_contacts() -> None:
    score = scored("missing mouth rest_none", "missing 13 extracted", "- overjet 13", "- overbite 13",
                   "eruption 41 unerupted", "- contact_offset mouth")  # fmt: skip
    asked = ("14-12", "12-11", "11-21", "21-22", "22-23", "43-42", "42-31", "31-32", "32-33")
    assert [m.sites for m in score.missing if m.quantity == "contact_offset"] == [asked]


def test_partly_erupted_and_blocked_out_teeth_keep_their_contacts() -> None:
    changes = ["eruption 13 partial", "blocked_out 13 labial", "contact_offset mouth rest_none"]
    assert grade(*changes, "contact_offset 13-12 4.5") == "4d"


def test_contacts_follow_a_transposition() -> None:
    score = scored("transposed 13 yes", "- contact_offset mouth")
    assert score.missing[0].sites[:3] == ("14-12", "12-11", "11-21")


@pytest.mark.parametrize(
    ("changes", "all_recorded", "any_reverse"),
    [
        (["overjet 11 -4"], "4c", "5m"),
        (["overjet 11 -4", "overjet 12 0"], "4c", "5m"),
        ([f"overjet {t} -4" for t in ("12", "11", "21", "22")], "5m", "5m"),
        (["overjet 11 -4", "overjet 12 -1", "- overjet 21", "- overjet 22"], "5m", "5m"),
        (["overjet 11 -4", "- overjet 12", "- overjet 21", "- overjet 22", "overjet upper rest_none"], "4c", "5m"),
        (["overjet 13 -4"], "4c", "4c"),
    ],
)  # fmt: skip
def test_incisors_in_reverse_are_a_crossbite_unless_all_recorded_are(
    changes: list[str], all_recorded: str, any_reverse: str
) -> None:
    unknown = ["functional_shift mouth unknown", "function_problem mouth unknown"]
    assert grade(*changes, *unknown) == all_recorded
    assert grade(*changes, *unknown, choices={"reverse_overjet": "any"}) == any_reverse


def test_the_other_reading_of_a_reverse_overjet_is_told_where_it_changes_the_grade() -> None:
    told = scored("overjet 11 -4", "functional_shift mouth 0", "function_problem mouth no").other_totals
    assert [o.as_dict() for o in told] == [{"choice": "reverse_overjet=any", "total": "4"}]
    assert scored("overjet 11 -4", "functional_shift mouth 0").other_totals == ()
    assert scored().other_totals == ()


# the frame


def test_a_sheet_outside_its_meaning_says_so_and_is_graded_all_the_same() -> None:
    for stage in ("interim", "retention", "post_retention"):
        score = scored("overjet 11 7", stage=stage)
        assert stage in score.outside
        assert score.extra["grade"] == "4a"
    assert "residual need" in scored(stage="final").outside
    assert scored().outside == ""
    assert "iotn" in registry.meant_for(Sheet("initial", "permanent"))
    assert "iotn" not in registry.meant_for(Sheet("final", "permanent"))
    assert "iotn" in registry.meant_for(Sheet("initial", "primary"))


def test_an_unknown_edition_or_choice_is_refused() -> None:
    with pytest.raises(ChoiceRefused, match="1989"):
        registry.score("iotn", neutral_with(index="iotn"), edition="2001")
    with pytest.raises(ChoiceRefused, match="all_recorded, any"):
        scored(choices={"reverse_overjet": "all"})
    with pytest.raises(ChoiceRefused, match="reverse_overjet"):
        scored(choices={"reverse": "any"})


@pytest.mark.parametrize(
    ("number", "says"), [(1, "no or slight"), (4, "no or slight"), (5, "borderline"), (7, "borderline"), (8, "need"), (10, "need")]
)  # fmt: skip
def test_the_aesthetic_component_stands_beside_with_its_published_words(number: int, says: str) -> None:
    """1-4 no or slight, 5-7 borderline, 8-10 need: two decks of teaching cards, read."""
    score = scored(f"aesthetic_component mouth {number}")
    assert (score.extra["grade"], score.extra["aesthetic_component"]) == ("1", str(number))
    assert [v.key for v in score.verdicts] == ["aesthetic_need"]
    assert f"{number}: {says}" in score.verdicts[0].says
    assert (scored().extra["aesthetic_component"], scored().verdicts) == (None, ())


def test_every_band_and_code_fires_in_a_worked_case() -> None:
    wanted: set[str] = set()
    found: set[str] = set()
    for case in cases("iotn"):
        wanted |= held_cells(INDEX, "1989", case.choices)
        reckoned = tallies(INDEX, case.sheet, INDEX.terms(None, case.choices))
        found |= fired_cells(reckoned)
    # a front tooth in reverse has its line by the shift, and only teeth in reverse are read by the table of reverse overjet
    unreachable = {"front tooth in reverse under 0", "reverse overjet 0 or more"}
    assert sorted(wanted - found - unreachable) == []
