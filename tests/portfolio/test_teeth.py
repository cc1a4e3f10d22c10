"""Teeth, their names in three notations, and the order in which they stand.

The 52 names are checked against the published tables named in `tests/data/notation.json`.
"""

import json
from pathlib import Path

import pytest
from hypothesis import given
from hypothesis import strategies as st

from portfolio import teeth

TABLE = json.loads((Path(__file__).resolve().parent.parent / "data" / "notation.json").read_text("utf-8"))
ROWS = TABLE["rows"]
TOOTH = st.sampled_from(sorted(teeth.ALL_TEETH))
PERMANENT = st.sampled_from(teeth.PERMANENT)


@pytest.mark.parametrize("row", ROWS, ids=lambda row: row["iso3950"])
def test_a_tooth_has_its_published_name_in_every_notation(row: dict[str, str]) -> None:
    assert {name: teeth.shown(row["iso3950"], name) for name in teeth.NOTATIONS} == row


def test_the_table_names_its_source_and_every_tooth_once() -> None:
    assert "ISO 3950" in TABLE["source"]
    assert sorted(row["iso3950"] for row in ROWS) == sorted(teeth.ALL_TEETH)
    assert len(ROWS) == 52


@given(TOOTH)
def test_names_are_read_back_as_the_tooth_they_were_written_for(tooth: str) -> None:
    assert teeth.from_universal(teeth.shown(tooth, "universal")) == tooth
    assert teeth.from_palmer(teeth.shown(tooth, "palmer")) == tooth
    assert teeth.shown(tooth, "iso3950") == tooth


@pytest.mark.parametrize("name", ["0", "33", "U", "a", "", "08", "UR6"])
def test_a_name_that_is_not_universal_is_refused(name: str) -> None:
    with pytest.raises(KeyError):
        teeth.from_universal(name)


@pytest.mark.parametrize("name", ["UR9", "UR0", "URF", "XX1", "UR", "", "UR11", "URAB", "6", "ur6"])
def test_a_name_that_is_not_palmer_is_refused(name: str) -> None:
    with pytest.raises(KeyError):
        teeth.from_palmer(name)


def test_an_unknown_notation_is_refused_with_the_allowed_ones() -> None:
    with pytest.raises(ValueError, match="iso3950, universal, palmer"):
        teeth.shown("11", "roman")


@pytest.mark.parametrize("text", ["19", "10", "56", "86", "01", "1", "111", "", "UR6", "１１", "¹1"])
def test_what_is_not_an_iso_tooth_is_not_a_tooth(text: str) -> None:
    assert not teeth.is_tooth(text)


@given(TOOTH)
def test_the_mirror_of_the_mirror_is_the_tooth_itself(tooth: str) -> None:
    other = teeth.mirror(tooth)
    assert teeth.mirror(other) == tooth
    assert other != tooth
    assert teeth.side(other) != teeth.side(tooth)
    assert teeth.arch(other) == teeth.arch(tooth)
    assert teeth.number(other) == teeth.number(tooth)
    assert teeth.is_primary(other) == teeth.is_primary(tooth)
    assert teeth.place(other) == teeth.mirror(teeth.place(tooth))


@pytest.mark.parametrize(
    ("tooth", "arch", "side"),
    [
        ("16", "upper", "right"),
        ("26", "upper", "left"),
        ("36", "lower", "left"),
        ("46", "lower", "right"),
        ("55", "upper", "right"),
        ("65", "upper", "left"),
        ("75", "lower", "left"),
        ("85", "lower", "right"),
    ],
)
def test_quadrants_are_the_patients(tooth: str, arch: str, side: str) -> None:
    assert (teeth.arch(tooth), teeth.side(tooth)) == (arch, side)


@pytest.mark.parametrize(
    ("primary", "permanent"),
    [("55", "15"), ("54", "14"), ("53", "13"), ("61", "21"), ("75", "35"), ("84", "44")],
)
def test_a_primary_tooth_holds_the_place_of_its_successor(primary: str, permanent: str) -> None:
    assert teeth.place(primary) == permanent
    assert teeth.predecessor(permanent) == primary


@pytest.mark.parametrize("molar", ["16", "17", "18", "26", "36", "38", "46", "47"])
def test_permanent_molars_have_no_predecessor(molar: str) -> None:
    assert teeth.predecessor(molar) is None


@given(TOOTH)
def test_place_is_permanent_and_stays_where_it_is(tooth: str) -> None:
    assert not teeth.is_primary(teeth.place(tooth))
    assert teeth.place(teeth.place(tooth)) == teeth.place(tooth)
    assert teeth.predecessor(teeth.place(tooth)) == (tooth if teeth.is_primary(tooth) else _before(tooth))


def _before(tooth: str) -> str | None:
    return {t: p for p in teeth.PRIMARY for t in [teeth.place(p)]}.get(tooth)


def test_primary_teeth_have_no_predecessor() -> None:
    assert {teeth.predecessor(tooth) for tooth in teeth.PRIMARY} == {None}


def test_the_arch_is_walked_from_the_patients_right_to_left() -> None:
    upper = "17 16 15 14 13 12 11 21 22 23 24 25 26 27".split()
    lower = "47 46 45 44 43 42 41 31 32 33 34 35 36 37".split()
    assert list(teeth.round_the_arch("upper", teeth.DEFAULT_PERMANENT)) == upper
    assert list(teeth.round_the_arch("lower", teeth.DEFAULT_PERMANENT)) == lower


@pytest.mark.parametrize(
    ("standing", "transposed", "row"),
    [
        ("13 12 21 22", "", "13 12 21 22"),  # 11 is gone and its neighbours close up
        ("22 21 12 13", "", "13 12 21 22"),
        ("14 53 12 11", "", "14 53 12 11"),  # a primary tooth stands for its successor
        ("14 13 53 12", "", "14 13 12"),  # both stand: the permanent tooth holds the place
        ("53 13 14 12", "", "14 13 12"),
        ("15 14 13 12", "13", "15 13 14 12"),  # a canine exchanged with the premolar behind it
        ("23 24 25", "23", "24 23 25"),
        ("15 14 53 12", "13", "15 53 14 12"),
        ("15 14 13 12", "53", "15 13 14 12"),
        ("15 13 12", "13", "15 13 12"),  # nothing stands behind to change places with
        ("18 17", "18", "18 17"),  # behind a third molar there is nothing
        ("14 13 12", "33", "14 13 12"),  # the other arch
        ("14 13 12 11", "12 13", "13 12 14 11"),
        ("14 13 12 11", "13 12", "13 12 14 11"),
        ("14 13 12 11", "13 53", "13 14 12 11"),  # one exchange named twice
    ],
)
def test_missing_primary_and_transposed_teeth_are_followed(standing: str, transposed: str, row: str) -> None:
    assert " ".join(teeth.round_the_arch("upper", standing.split(), transposed.split())) == row


@given(st.sets(PERMANENT), st.sets(PERMANENT), st.randoms(use_true_random=False))
def test_a_walk_names_every_standing_tooth_once_in_whatever_order_it_is_asked(
    standing: set[str], transposed: set[str], shuffler: object
) -> None:
    mixed = [sorted(standing), sorted(transposed)]
    walked = {arch: teeth.round_the_arch(arch, *mixed) for arch in ("upper", "lower")}
    for names in mixed:
        shuffler.shuffle(names)  # type: ignore[attr-defined]
    assert {arch: teeth.round_the_arch(arch, *mixed) for arch in ("upper", "lower")} == walked
    assert sorted((*walked["upper"], *walked["lower"])) == sorted(standing)


@given(st.sets(TOOTH), st.sets(PERMANENT))
def test_the_mirrored_mouth_is_walked_the_other_way_round(standing: set[str], transposed: set[str]) -> None:
    row = teeth.round_the_arch("upper", standing, transposed)
    mirrored = teeth.round_the_arch(
        "upper", {teeth.mirror(t) for t in standing}, {teeth.mirror(t) for t in transposed}
    )
    assert mirrored == tuple(teeth.mirror(t) for t in reversed(row))


def test_reading_order_is_upper_then_lower_with_the_permanent_tooth_before_its_predecessor() -> None:
    assert teeth.in_order(["31", "53", "13", "21", "48", "18"]) == ("18", "13", "53", "21", "48", "31")


def test_ties_go_to_the_tooth_nearer_the_midline_then_to_the_patients_right() -> None:
    assert sorted(("23", "13", "22", "21", "11"), key=teeth.nearest_midline_first) == [
        "11",
        "21",
        "22",
        "13",
        "23",
    ]


@pytest.mark.parametrize(
    ("site", "notation", "words"),
    [
        ("16", "palmer", "UR6"),
        ("13-12", "universal", "6–7"),
        ("16.mb", "palmer", "UR6 mb"),
        ("55", "universal", "A"),
        ("upper-right-back", "palmer", "upper right back"),
        ("mouth", "universal", "mouth"),
    ],
)
def test_sites_are_shown_in_the_readers_notation(site: str, notation: str, words: str) -> None:
    assert teeth.shown_site(site, notation) == words
