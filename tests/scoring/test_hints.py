"""Hints about one sheet: each fires for its cause and keeps still without one."""

from collections.abc import Iterable
from dataclasses import replace
from decimal import Decimal
from pathlib import Path
from random import Random

import pytest
from hypothesis import given
from hypothesis import strategies as st

from portfolio import sites, teeth
from portfolio.readings import Sheet, check, read_json
from portfolio.sources import SOURCES
from portfolio.vocabulary import QUANTITIES
from scoring import registry
from scoring.hints import ALONE, Hint, hints
from scoring.hints.published_widths import PUBLISHED
from scoring.hints.sides import STEP
from tests.scoring.sheets import mirrored, neutral_with, sheet
from tests.scoring.test_tooth_size import CASE_REPORT

DEMO = sorted((Path(__file__).parents[2] / "demo" / "sheets").glob("*.json"))
MIXED = "16 55 54 53 12 11 21 22 63 64 65 26 46 85 84 83 42 41 31 32 73 74 75 36"
FRONT = ("13", "12", "11", "21", "22", "23")
SPACE = [f"arch_segment {s} 14" for s in sites.BACK_SEGMENTS] + [
    f"arch_segment {s} {'22.5' if s.startswith('upper') else '17.5'}"
    for s in sites.SEGMENTS
    if s.endswith("front")
]


def all_front(quantity: str, value: str) -> list[str]:
    return [f"{quantity} {t} {value}" for t in FRONT]


def found(changes: Iterable[str], **frame: str) -> dict[str, Hint]:
    """Hints on the neutral sheet of the discrepancy index with changes, by key."""
    return {h.key: h for h in hints(neutral_with(changes, **frame))}


def keys(changes: Iterable[str], **frame: str) -> list[str]:
    return [h.key for h in hints(neutral_with(changes, **frame))]


REVERSE = all_front("overjet", "-3")
BOTH_2 = ["molar_relation right full2", "molar_relation left end2"]
BOTH_3 = ["molar_relation right full3", "molar_relation left end3"]
OUTSIDE = ["crossbite mouth rest_none", "crossbite 15 upper_outside", "crossbite 25 upper_outside"]
SLIDE = ["functional_shift mouth 2"]
OPEN_FRONT = all_front("overbite", "-2")
LOST_12 = ["missing mouth rest_none", "missing 12 lost", "- overjet 12", "- overbite 12"]

FIRES = {
    "overjet_senses": (["overjet 11 5", "overjet 21 -5"], ("11", "21")),
    "overjet_against_molars": (REVERSE + BOTH_2, ("right", "left")),
    "overjet_against_crossbite": (REVERSE + OUTSIDE, ("15", "25")),
    "shift_without_length": (["functional_shift mouth 0", "shift_direction mouth left"], ("mouth",)),
    "shift_against_overjet": ([*SLIDE, "shift_direction mouth forward"], ("mouth", "11")),
    "shift_against_crossbite": ([*SLIDE, "shift_direction mouth left"], ("mouth",)),
    "cover_against_overbite": ([*OPEN_FRONT, "overbite_cover mouth 20"], ("mouth", "11")),
    "interdigitation_against_molars": (["buccal_interdigitation left cusp_to_cusp"], ("left",)),
    "canines_against_molars": (["canine_relation right full2"], ("right",)),
    "midline_against_molars": (
        ["molar_relation left full2", "midline_offset mouth -2"],
        ("mouth", "right", "left"),
    ),
    "gaps_with_crowding": (
        ["crowding upper 5", "gap mouth rest_none", "gap 13-12 2", "gap 11-21 1.5"],
        ("upper", "13-12", "11-21"),
    ),
    "spaced_without_gaps": (["crowding lower -6"], ("lower",)),
    "gap_too_wide": (["gap mouth rest_none", "gap 13-12 7"], ("13-12",)),
    "crowding_against_space": (
        [
            *SPACE,
            *(f"tooth_width {t} 7.3" for t in teeth.PERMANENT if t[0] in "12" and t[1] in "12345"),
            "crowding upper 3",
        ],
        ("upper",),
    ),
    "width_outside_range": (["tooth_width 11 12.5"], ("11",)),
    "kept_primary_against_successor": (
        ["retained_primary 75 no_successor", "impacted mouth rest_none", "impacted 35 yes"],
        ("75", "35"),
    ),
    "extra_tooth_for_a_missing_one": (
        [*LOST_12, "supernumerary mouth rest_none", "supernumerary 12 1"],
        ("12",),
    ),
}


@pytest.mark.parametrize("key", list(FIRES))
def test_a_hint_fires_for_its_cause_and_names_where_to_look(key: str) -> None:
    changes, where = FIRES[key]
    hint = found(changes)[key]
    assert set(where) <= set(hint.sites)
    assert set(hint.quantities) <= set(QUANTITIES)
    assert hint.words.endswith(".")
    assert "ook again" in hint.why
    assert any(str(source) in hint.source for source in SOURCES.values())


def test_every_check_has_a_cause_that_makes_it_fire() -> None:
    fired = {
        check_
        for changes, _ in FIRES.values()
        for check_ in ALONE
        if list(check_(neutral_with(changes), "iso3950"))
    }
    silent = {c.__name__ for c in ALONE} - {c.__name__ for c in fired}
    # its cause is a list of teeth, see below
    assert silent == {"neither_there_nor_missing"}


@pytest.mark.parametrize("key", list(registry.INDEXES))
def test_the_neutral_sheet_of_an_index_gives_no_hint(key: str) -> None:
    neutral = neutral_with((), key)
    assert hints(neutral) == ()
    assert hints(neutral, [replace(neutral, stage="final"), mirrored(neutral)]) == ()


@pytest.mark.parametrize("path", DEMO, ids=[p.stem for p in DEMO])
def test_the_sheets_of_the_demo_give_no_hint(path: Path) -> None:
    shown = read_json(path.read_text("utf-8"))
    case = path.stem.rpartition("-")[0]
    others = [read_json(p.read_text("utf-8")) for p in DEMO if p.stem.startswith(case) and p != path]
    assert hints(shown, others) == ()


def test_nothing_recorded_gives_no_hint() -> None:
    for dentition, standing in (("permanent", ()), ("primary", ()), ("mixed", tuple(MIXED.split()))):
        assert hints(Sheet("initial", dentition, (), standing)) == ()


@pytest.mark.parametrize(
    ("why", "changes"),
    [
        ("a lateral incisor behind its neighbours", ["overjet 11 3.5", "overjet 12 -3"]),
        ("a blocked-out tooth far behind", ["overjet 11 6", "overjet 12 -6", "blocked_out 12 lingual"]),
        ("one side Class II in reverse", [*REVERSE, "molar_relation right full2"]),
        ("Class III in reverse", REVERSE + BOTH_3),
        ("Class III with a small overjet", [*BOTH_3, "overjet 11 5"]),
        (
            "scissors on one side in reverse",
            [*REVERSE, "crossbite mouth rest_none", "crossbite 15 upper_outside"],
        ),
        ("a slide forward from edge to edge", [*SLIDE, "shift_direction mouth forward", "overjet 11 0"]),
        (
            "a slide to the side of the crossbite",
            [*SLIDE, "shift_direction mouth left", "crossbite mouth rest_none", "crossbite 26 edge"],
        ),
        (
            "a slide where nobody looked for crossbites",
            [*SLIDE, "shift_direction mouth left", "- crossbite mouth"],
        ),
        ("cover with one tooth that overlaps", [*OPEN_FRONT, "overbite 11 1", "overbite_cover mouth 20"]),
        ("nothing covered by incisors in reverse", [*REVERSE, "overbite_cover mouth 0"]),
        (
            "end to end with cusps on cusps",
            ["molar_relation right end2", "buccal_interdigitation right cusp_to_cusp"],
        ),
        ("a full step in mesh", ["molar_relation right full2", "buccal_interdigitation right fitted"]),
        ("Class I a little off", ["buccal_interdigitation right off"]),
        ("canines half a step apart", ["canine_relation right end2"]),
        ("a midline toward the Class II side", ["molar_relation left full2", "midline_offset mouth 3"]),
        ("a midline against half a step", ["molar_relation left end2", "midline_offset mouth -3"]),
        ("a midline under 4 mm", ["midline_offset mouth 3.99"]),
        ("a midline far off with a tooth missing on one side", [*LOST_12, "midline_offset mouth -5"]),
        ("a gap in an arch with enough space", ["crowding upper 0", "gap mouth rest_none", "gap 11-21 4"]),
        ("crowding with small gaps", ["crowding upper 5", "gap mouth rest_none", "gap 11-21 2.9"]),
        ("a gap over a missing tooth", [*LOST_12, "gap mouth rest_none", "gap 13-11 7", "crowding upper 4"]),
        ("spaced by under 3 mm", ["crowding lower -2.9"]),
        (
            "a small tooth of unusual shape",
            ["anomalous mouth rest_none", "anomalous 12 yes", "tooth_width 12 4"],
        ),
        (
            "a primary tooth whose successor never formed",
            ["retained_primary 75 no_successor", "missing mouth rest_none", "missing 35 congenital"],
        ),
    ],
)
def test_what_is_ordinary_gives_no_hint(why: str, changes: list[str]) -> None:
    standing = (
        " ".join(t for t in teeth.DEFAULT_PERMANENT if t != "35") + " 75" if "75" in str(changes) else ""
    )
    assert keys(changes, teeth=standing) == [], why


@pytest.mark.parametrize(
    ("template", "values"),
    [
        ("overjet_senses: overjet 11 4|overjet 21 {}", ("-3.99", "-4", "-4.01")),
        ("gaps_with_crowding: crowding upper 3|gap mouth rest_none|gap 11-21 {}", ("2.99", "3", None)),
        ("gaps_with_crowding: crowding upper {}|gap mouth rest_none|gap 11-21 3", ("2.99", "3", None)),
        ("spaced_without_gaps: crowding upper {}", ("-2.99", "-3", None)),
        ("gap_too_wide: gap mouth rest_none|gap 11-21 {}", ("4.99", "5", "5.01")),
        ("midline_against_molars: midline_offset mouth {}", ("3.99", "4", None)),
        ("midline_against_molars: molar_relation left full2|midline_offset mouth {}", ("-0.99", "-1", None)),
        ("cover_against_overbite: overbite_cover mouth 0|- overbite 13|overbite 12 1|overbite 21 1|overbite 22 1|"
         "overbite 11 {}", ("0.99", "1", "1.01")),
        ("width_outside_range: tooth_width 11 {}", ("10.15", "10.16", "10.17")),
        ("width_outside_range: tooth_width 41 {}", ("4.18", "4.17", "4.16")),
    ],
)  # fmt: skip
def test_just_below_at_and_just_above_a_limit(template: str, values: tuple[str, str, str | None]) -> None:
    key, _, changes = template.partition(": ")
    below, at, above = values
    fires = {v: key in keys(changes.format(v).split("|")) for v in values if v is not None}
    # the third value is given where the limit itself does not count yet
    assert fires == ({below: False, at: False, above: True} if above else {below: False, at: True})


def test_a_deep_bite_that_covers_nothing_is_told() -> None:
    hint = found(["overbite 11 4", "overbite_cover mouth 0"])["cover_against_overbite"]
    assert "No lower incisor is covered" in hint.words
    assert "4 mm" in hint.words


def test_crowding_is_held_against_the_space_analysis_of_its_own_arch() -> None:
    widths = [f"tooth_width {t} 7.3" for t in teeth.PERMANENT if t[1] in "12345"]
    for crowding, fires in (("-2.01", True), ("-2", False), ("2", False), ("2.01", True)):
        changes = [*SPACE, *widths, f"crowding upper {crowding}", "crowding lower 10"]
        told = [h for h in hints(neutral_with(changes)) if h.key == "crowding_against_space"]
        assert [h.sites for h in told] == ([("upper",)] if fires else []), crowding
    incomplete = [*SPACE[1:], *widths, "crowding upper 9", "crowding lower 10"]
    assert [h.sites for h in hints(neutral_with(incomplete)) if h.key == "crowding_against_space"] == []


def test_a_gap_is_held_against_the_teeth_that_could_stand_in_it() -> None:
    # mean width of an upper lateral incisor 6.64 mm (Moorrees et al. 1957, from memory) and 5 mm
    for gap, fires in (("11.64", False), ("11.65", True)):
        changes = [*LOST_12, "gap mouth rest_none", f"gap 13-11 {gap}"]
        hint = found(changes).get("gap_too_wide")
        assert bool(hint) is fires
        if hint:
            assert hint.sites == ("13-11", "12")


@pytest.mark.parametrize(("upper", "number"), list(PUBLISHED))
def test_published_means_lie_in_the_published_range(upper: bool, number: int) -> None:
    width = PUBLISHED[upper, number]
    low, high = width.range
    for tooth in (f"{q}{number}" for q in ("12" if upper else "34")):
        # Moorrees et al., J Dent Res 1957;36:39-47, from memory
        for mean in (width.men, width.women):
            assert low < mean < high
            assert keys([f"tooth_width {tooth} {mean}"]) == []
        # a clinic's table (read): both of its ends lie inside
        for end in (width.lowest, width.highest):
            assert keys([f"tooth_width {tooth} {end}"]) == []
        assert keys([f"tooth_width {tooth} {high.quantize(Decimal('0.01')) + 1}"]) == ["width_outside_range"]


def test_the_widths_of_a_published_case_report_give_no_hint() -> None:
    # Indonesian student case report, dental analysis (shared document, widths read)
    assert hints(CASE_REPORT.sheet) == ()


def test_primary_teeth_have_no_published_range_here() -> None:
    wide = sheet(["tooth_width 55 14"], teeth=MIXED, dentition="mixed")
    assert hints(wide) == ()


def test_a_tooth_that_a_list_leaves_out_without_a_word_is_told() -> None:
    standing = " ".join(t for t in teeth.DEFAULT_PERMANENT if t not in ("14", "24"))
    (hint,) = hints(sheet([], teeth=standing))
    assert hint.key == "neither_there_nor_missing"
    assert hint.sites == ("14", "24")
    told = ["missing 14 extracted", "eruption 24 unerupted"]
    assert hints(sheet(told, teeth=standing)) == ()
    assert hints(sheet([], teeth=f"{standing} 54 64")) == ()
    assert hints(sheet([], teeth=standing, dentition="mixed")) == ()
    without_second_molars = " ".join(t for t in teeth.DEFAULT_PERMANENT if t[1] != "7")
    assert hints(sheet([], teeth=without_second_molars)) == ()


def test_a_primary_tooth_waits_for_no_missing_successor() -> None:
    changes = ["retained_primary 55 overdue", "missing mouth rest_none", "missing 15 congenital"]
    standing = " ".join(t for t in teeth.DEFAULT_PERMANENT if t != "15") + " 55"
    assert keys(changes, teeth=standing) == ["kept_primary_against_successor"]


def test_teeth_are_named_in_the_readers_notation_and_sites_stay_iso() -> None:
    (hint,) = hints(neutral_with(["tooth_width 11 12.5"]), notation="palmer")
    assert hint.words.startswith("UR1 is 12.5 mm wide")
    assert hint.sites == ("11",)


def test_the_scale_of_the_molars_knows_every_code() -> None:
    assert set(STEP) == set(QUANTITIES["molar_relation"].codes) >= set(QUANTITIES["canine_relation"].codes)
    assert all(STEP[code.replace("2", "3")] == -step for code, step in STEP.items() if code.endswith("2"))


CAUSES = st.lists(st.sampled_from(list(FIRES)), min_size=1, max_size=4, unique=True)


def _together(causes: list[str]) -> Sheet | None:
    """The causes of several hints on one sheet, where they can stand together."""
    try:
        return neutral_with([change for cause in causes for change in FIRES[cause][0]])
    except (ValueError, KeyError):
        return None


@given(CAUSES, st.randoms(use_true_random=False))
def test_hints_mirror_with_the_mouth_and_do_not_depend_on_order(causes: list[str], shuffler: Random) -> None:
    made = _together(causes)
    if made is None:
        return
    told = hints(made)
    other = mirrored(made)
    assert [str(f) for f in check(other)] == []
    assert _seen(hints(other)) == {(key, frozenset(map(sites.mirror, where))) for key, where in _seen(told)}
    shuffled = list(made.findings)
    shuffler.shuffle(shuffled)
    assert hints(replace(made, findings=tuple(shuffled))) == told


def _seen(told: Iterable[Hint]) -> set[tuple[str, frozenset[str]]]:
    return {(h.key, frozenset(h.sites)) for h in told}
