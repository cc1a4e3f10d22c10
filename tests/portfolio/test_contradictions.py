"""What a sheet refuses, finding by finding and one against another; and what it takes all the same."""

from collections.abc import Iterable

import pytest
from hypothesis import given
from hypothesis import strategies as st

from portfolio import sites, teeth
from portfolio.contradictions import TAKEN_ON_MISSING, TAKEN_ON_UNERUPTED
from portfolio.finding_sheet import says_nothing_there
from portfolio.readings import Finding, Sheet, check, state
from portfolio.vocabulary import QUANTITIES

MIXED = "16 55 54 53 12 11 21 22 63 64 65 26 36 75 74 73 32 31 41 42 83 84 85 46"


def _finding(text: str) -> Finding:
    quantity, site, value, *note = text.split(maxsplit=3)
    return Finding(quantity, site, value, note=" ".join(note))


def _sheet(texts: str | Iterable[str], listed: str = "", dentition: str = "permanent") -> Sheet:
    found = texts.split("; ") if isinstance(texts, str) else texts
    return Sheet("initial", dentition, tuple(_finding(t) for t in found), tuple(listed.split()))


def _said(texts: str | Iterable[str], listed: str = "", dentition: str = "permanent") -> list[str]:
    return [str(fault) for fault in check(_sheet(texts, listed, dentition))]


@pytest.mark.parametrize(
    ("finding", "says"),
    [
        ("overjets 11 3", 'quantity "overjets" is not known'),
        ("overjet 19 3", 'site "19" is not a site'),
        ("overjet 31 3", "site 31 is not taken; overjet takes an upper tooth from canine to canine"),
        ("overjet upper 3", "site upper is not taken"),
        ("gap mouth 3", "site mouth is not taken"),
        ("overjet 11 25.01", "out of range: overjet takes -20 to 25 mm"),
        ("overjet 11 -20.01", "out of range"),
        ("tooth_width 11 1.99", "out of range"),
        ("overjet 11 3.555", "not a number: digits with at most two decimals"),
        ("overjet 11 3,5", "not a number"),
        ("overjet 11 3.", "not a number"),
        ("overjet 11 .5", "not a number"),
        ("overjet 11 +3", "not a number"),
        ("overjet 11 −3", "not a number"),
        ("overjet 11 --3", "not a number"),
        ("overjet 11 1e3", "not a number"),
        ("overjet 11 0x1", "not a number"),
        ("overjet 11 1_0", "not a number"),
        ("overjet 11 NaN", "not a number"),
        ("overjet 11 Infinity", "not a number"),
        ("overjet 11 ٣", "not a number"),
        ("overjet 11 ３", "not a number"),
        ("overjet 11 000000003", "not a number"),
        ("overjet 11 unknown", "unknown is not taken"),
        ("overjet 11 none", "none is not taken"),
        ("overjet upper none", "none is not taken by overjet at upper"),
        ("tooth_width mouth none", "none is not taken by tooth_width at mouth"),
        ("tooth_width mouth rest_none", "rest_none is not taken by tooth_width at mouth"),
        ("crossbite lower none", "site lower is not taken"),
        ("crossbite 16 outside", '"outside" is not a code of crossbite; allowed: none, edge, upper_inside'),
        ("impacted 13 Yes", '"Yes" is not a code'),
        ("aesthetic_component mouth 5.5", "5.5 is not a whole number"),
        ("supernumerary 11 1.5", "not a whole number"),
        ("maturation mouth 0", "out of range"),
        ("molar_substitute right 19 note", "not an ISO 3950 tooth"),
        ("added_complexity mouth none", "none is not taken here"),
        ("added_complexity mouth " + "x" * 301, "at most 300 characters, here 301"),
    ],
)
def test_a_finding_that_is_wrong_by_itself_is_refused_with_what_is_allowed(finding: str, says: str) -> None:
    said = _said([finding])
    assert len(said) == 1, said
    assert says in said[0]
    assert said[0].startswith(" ".join(finding.split()[:2]))


@pytest.mark.parametrize(
    ("detail", "says"),
    [
        ({"method": "guess"}, "allowed: caliper"),
        ({"medium": "wax"}, "allowed: plaster"),
        ({"plane": "go_me"}, "overjet takes no plane"),
        ({"sd": "-0.1"}, "0 or more"),
        ({"sd": "0.123"}, "two decimals"),
        ({"note": "x" * 501}, "at most 500"),
        ({"note": "bell\a"}, "without control characters"),
        ({"note": "nought\0"}, "without control characters"),
        ({"note": "half \ud800"}, "without control characters"),
    ],
)
def test_details_of_a_finding_are_checked_too(detail: dict[str, str], says: str) -> None:
    said = check(Sheet("initial", "permanent", (Finding("overjet", "11", "3", **detail),)))  # type: ignore[arg-type]
    assert [says in fault.message for fault in said] == [True]


def test_a_plane_is_one_of_three_and_belongs_to_four_angles() -> None:
    for key, plane, fine in (("sn_mp", "go_gn", True), ("sn_mp", "go_xx", False), ("anb", "go_me", False)):
        found = Finding(key, "mouth", "5", plane=plane)
        assert (check(Sheet("initial", "permanent", (found,))) == []) is fine


@pytest.mark.parametrize("character", ["\v", "\n", "\t", "\0", "\x7f", "\u2028", "\ud800", "\x85"])
def test_words_take_one_plain_line(character: str) -> None:
    found = Finding("added_complexity", "mouth", f"short{character}roots")
    assert len(check(Sheet("initial", "permanent", (found,)))) == 1


def test_only_what_may_repeat_is_recorded_twice_at_a_site() -> None:
    def said(quantity: str, site: str, value: str, nth: int) -> list[str]:
        found = Finding(quantity, site, value, nth=nth)
        return [fault.message for fault in check(Sheet("initial", "permanent", (found,)))]

    assert said("overjet", "11", "3", 2) == ["overjet is recorded once at a site"]
    assert said("added_complexity", "mouth", "a narrow upper jaw", 5000) == []
    assert said("added_complexity", "mouth", "a narrow upper jaw", 5001) == [
        "added_complexity may be recorded 5000 times at most"
    ]


def test_site_and_value_are_both_told_when_both_are_wrong() -> None:
    assert len(_said(["overjet 44 abc"])) == 2
    assert len(_said(["overjet 19 99"])) == 2


CONTRARY = [
    # the same quantity and site twice
    ("overjet 11 3; overjet 11 3", "overjet at 11 is given twice"),
    ("gap mouth none; gap mouth rest_none", "gap at mouth is given twice"),
    # none beside a value in its region
    (
        "crossbite mouth none; crossbite 16 upper_inside",
        "none at mouth stands beside crossbite upper_inside at 16",
    ),
    ("crossbite upper none; crossbite 16 edge", "none at upper stands beside"),
    ("crossbite right none; crossbite 16 edge", "write rest_none"),
    ("gap upper-right-front none; gap 13-12 0.1", "stands beside gap 0.1 at 13-12"),
    ("missing mouth none; missing 18 unknown", "stands beside missing unknown at 18"),
    ("crowding mouth none; crowding upper 5", "stands beside crowding 5 at upper"),
    # findings on a missing tooth
    ("missing 11 lost; overjet 11 3", "11 is recorded as missing; overjet is not taken there"),
    ("missing 12 lost; contact_offset 13-12 1", "12 is recorded as missing"),
    ("missing 16 lost; occlusal_gap 16.ml 1", "16 is recorded as missing"),
    ("missing 13 lost; impacted 13 yes", "13 is recorded as missing"),
    ("missing 13 lost; eruption 13 full", "13 is recorded as missing"),
    ("missing 75 lost; submerged 75 yes", "75 is recorded as missing"),
    # findings on an unerupted tooth
    ("eruption 13 unerupted; overjet 13 3", "13 has not erupted"),
    ("impacted 13 yes; contact_offset 13-12 1", "13 has not erupted"),
    ("eruption 13 unerupted; blocked_out 13 labial", "13 has not erupted"),
    # contacts
    ("contact_offset 13-11 1", "13-11 skips a standing tooth (12)"),
    ("gap 14-11 1", "skips a standing tooth (13, 12)"),
    ("gap_plan 13-11 keep", "13-11 skips a standing tooth (12)"),
    ("gap_plan 16-36 keep", "different arches"),
    ("gap_plan 12-13 keep", "write 13-12"),
    ("gap 11-41 1", "different arches"),
    ("gap 12-13 1", "runs the wrong way round; write 13-12"),
    ("missing 12 lost; gap_plan 14-12 keep", "skips a standing tooth (13)"),
    ("transposed 13 yes; contact_offset 14-13 1", "write 13-14"),
    ("transposed 13 yes; contact_offset 13-12 1", "13-12 skips a standing tooth (14)"),
    ("retained_primary 53 overdue; gap 53-12 1", "the permanent tooth holds the place of 53"),
    # a primary tooth that is not there
    ("crossbite 55 edge", "55 is not among the teeth that stand"),
    # molars
    ("molar_beyond right 2", "needs molar_relation beyond2 or beyond3"),
    ("molar_relation right full2; molar_beyond right 2", "needs molar_relation beyond2 or beyond3"),
    ("molar_relation left beyond2; molar_beyond right 2", "needs molar_relation"),
    ("molar_substitute right 27 by eye", "27 does not stand on the right"),
    ("missing 17 lost; molar_substitute right 17 by eye", "17 does not stand"),
    # rest_none of the incisors
    ("overjet upper rest_none", "needs at least one upper incisor"),
    ("overjet 13 3; overjet upper rest_none", "needs at least one upper incisor"),
]


@pytest.mark.parametrize(("findings", "says"), CONTRARY)
def test_findings_that_contradict_each_other_are_refused(findings: str, says: str) -> None:
    said = _said(findings)
    assert len(said) == 1, said
    assert says in said[0]


@pytest.mark.parametrize(
    "findings",
    [
        "overjet 11 3; overjet 12 3",
        # nothing there does not contradict none
        "gap mouth none; gap 13-12 0",
        "gap mouth none; gap 13-12 0.00",
        "posterior_open_bite mouth none; posterior_open_bite 16 -0",
        "crossbite mouth none; crossbite 16 none",
        "root_angulation mouth none; root_angulation 16 parallel",
        "crowding mouth none; crowding upper 0",
        # narrower statements, and values outside the region
        "crossbite mouth none; crossbite right none; crossbite upper rest_none",
        "crossbite left none; crossbite 16 edge",
        "gap right none; gap 11-21 2",
        "gap upper-right-front none; gap 14-13 2",
        "crossbite mouth rest_none; crossbite 16 upper_outside",
        "overjet upper rest_none; overjet 11 3",
        "overbite mouth rest_none; overbite 22 3",
        "overjet right rest_none; overjet 21 3",
        # a third molar named only as the tooth read instead of the first molar stands
        "missing 36 extracted; missing 37 extracted; molar_substitute left 38 third molar moved up",
        # taken on missing teeth and their places
        "missing 12 congenital; supernumerary 12 1",
        "missing 12 congenital; gap_plan 13-12 keep",
        "missing 12 congenital; gap_plan 13-11 keep",
        "missing 12 congenital; missing 11 lost; gap_plan 12-11 close",
        "missing 75 lost; retained_primary 75 no_successor",
        # closed-up contacts
        "missing 11 lost; contact_offset 12-21 1",
        "eruption 13 unerupted; contact_offset 14-12 1",
        "impacted 13 yes; gap 14-12 3",
        "impacted 13 tipped; gap 13-12 3",
        "impacted 11 supernumerary; gap 11-21 3",
        "transposed 13 yes; contact_offset 13-14 1; contact_offset 14-12 2",
        "transposed 23 yes; contact_offset 22-24 1; contact_offset 24-23 1",
        # a primary tooth does not move when its successor lies transposed in the bone
        "impacted 13 yes; transposed 13 yes; retained_primary 53 overdue; gap 14-53 1; gap 53-12 1",
        "missing 15 lost; retained_primary 55 no_successor; gap 16-55 1; crossbite 55 edge",
        # third molars stand when mentioned
        "crossbite 18 edge",
        "contact_offset 18-17 1",
        "molar_relation right beyond2; molar_beyond right 2",
        "molar_relation left beyond3; molar_beyond left 0",
        "missing 16 lost; molar_substitute right 17 by eye",
        # improbable but possible
        "overbite_cover mouth 100; overbite 11 -3",
        "gap 11-21 20; crowding upper 20",
    ],
)
def test_what_goes_together_is_taken(findings: str) -> None:
    assert _said(findings) == []


@pytest.mark.parametrize("quantity", sorted(QUANTITIES))
def test_only_a_few_quantities_are_taken_on_a_missing_or_an_unerupted_tooth(quantity: str) -> None:
    single = {"tooth": "12", "contact": "13-12", "cusp": "16.ml"}.get(QUANTITIES[quantity].site.kind)
    if single is None or quantity in ("missing", "submerged", "retained_primary"):
        return
    single = {"crossbite": "16", "posterior_open_bite": "16", "inclination_step": "16"}.get(quantity, single)
    single = {"ridge_step": "16-15", "relation_step": "16", "occlusal_gap": "16.ml"}.get(quantity, single)
    tooth = sites.teeth_of(single)[-1]
    kind = QUANTITIES[quantity].kind
    value = (
        str(max(QUANTITIES[quantity].minimum or 0, 2)) if kind == "number" else QUANTITIES[quantity].codes[-1]
    )
    gone = _said([f"missing {tooth} lost", f"{quantity} {single} {value}"])
    assert (gone == []) is (quantity in TAKEN_ON_MISSING), gone
    rest = " ".join(t for t in teeth.DEFAULT_PERMANENT if t != tooth)
    buried = _said([f"{quantity} {single} {value}"], listed=rest)
    assert (buried == []) is (quantity in TAKEN_ON_UNERUPTED), buried


def test_the_exceptions_are_those_of_the_vocabulary() -> None:
    assert {"missing", "gap_plan", "supernumerary", "retained_primary"} == TAKEN_ON_MISSING
    named = "eruption eruption_space impacted tooth_width transposed ankylosed anomalous".split()
    assert {*named, "supernumerary", "gap_plan"} == TAKEN_ON_UNERUPTED


def test_every_fault_of_a_sheet_is_told_at_once() -> None:
    said = _said(
        "overjet 44 x; overbite 11 99; missing 12 lost; overjet 12 3; gap 14-11 1; molar_beyond right 1"
    )
    assert len(said) == 6
    wrong = Sheet(
        "later", "adult", (_finding("overjet 11 99"),), medium="wax", occlusion="open", age_months=-1
    )
    assert [f.where for f in check(wrong)] == [
        "stage",
        "dentition",
        "occlusion",
        "medium",
        "age_months",
        "overjet 11",
    ]


def test_without_sound_teeth_no_finding_is_blamed_for_them_but_the_rest_is_told() -> None:
    texts = "overjet 11 3; molar_beyond right 1; crossbite mouth none; crossbite 16 edge"
    for listed, dentition in (("17 19", "permanent"), ("17 17", "permanent"), ("", "mixed"), ("", "adult")):
        said = _said(texts, listed, dentition)
        assert len(said) == 3, said
        assert "molar_beyond" in said[1]
        assert "stands beside" in said[2]


def test_a_mixed_dentition_needs_its_list_of_teeth() -> None:
    assert "needs the list" in _said([], dentition="mixed")[0]
    assert _said([], MIXED, "mixed") == []


@pytest.mark.parametrize(
    ("findings", "fine"),
    [
        ("overjet 11 3; crossbite 55 edge; contact_offset 55-54 1; contact_offset 53-12 1", True),
        ("gap 16-55 1; gap 54-53 0", True),
        ("overjet 13 3", False),  # neither listed nor missing: unerupted
        ("gap 13-12 3", False),
        ("impacted 13 yes; eruption_space 13 3; tooth_width 13 8; supernumerary 13 1", True),
        ("gap_plan 13-12 keep", True),
        ("missing 13 congenital; retained_primary 53 no_successor", True),
        ("eruption 75 unerupted", True),
        ("impacted 75 yes; submerged 75 severe", False),
    ],
)
def test_in_a_mixed_dentition_the_list_says_what_stands(findings: str, fine: bool) -> None:
    assert (_said(findings, MIXED, "mixed") == []) is fine


def test_by_default_all_but_third_molars_stand_and_in_a_primary_dentition_the_twenty() -> None:
    permanent, primary = Sheet("initial", "permanent"), Sheet("initial", "primary")
    assert permanent.standing == frozenset(teeth.PERMANENT) - teeth.THIRD_MOLARS
    assert primary.standing == frozenset(teeth.PRIMARY)
    assert permanent.contacts["lower"][6] == "41-31"
    assert primary.contacts["upper"][:2] == ("55-54", "54-53")
    assert _said(["overjet 11 3"], dentition="primary") != []
    assert _said(["overjet 51 3"], dentition="primary") == []


def test_four_states_are_kept_apart() -> None:
    assert state(_finding("missing mouth none")) == "free"
    assert state(_finding("missing mouth rest_none")) == "rest_free"
    assert state(_finding("missing 11 unknown")) == "unknown"
    assert state(_finding("gap 13-12 0")) == "measured"
    sheet = _sheet("gap upper none; missing 11 unknown")
    assert sheet.at("gap", "mouth") is None
    assert sheet.statement_over("gap", "13-12") is not None
    assert sheet.statement_over("gap", "43-42") is None
    assert [f.site for f in sheet.singles("missing")] == ["11"]
    assert sheet.singles("gap") == []


def test_the_narrowest_statement_speaks_for_a_site_and_two_regions_for_the_contact_between_them() -> None:
    sheet = _sheet("gap mouth rest_none; gap upper-right-front none; gap upper-left-front none")
    narrow = sheet.statement_over("gap", "13-12")
    assert narrow is not None
    assert narrow.site == "upper-right-front"
    for texts in (
        "crossbite right none; crossbite upper rest_none",
        "crossbite upper rest_none; crossbite right none",
    ):
        either = _sheet(texts).statement_over("crossbite", "16")
        assert either is not None
        assert either.site == "right"
    two = _sheet("gap upper-right-front none; gap upper-left-front none")
    assert two.statement_over("gap", "11-21") is not None
    assert two.statement_over("gap", "14-13") is None


@given(st.decimals(-20, 20, places=2))
def test_only_zero_means_nothing_there_among_numbers(number: object) -> None:
    assert says_nothing_there(Finding("overbite", "11", str(number))) is (number == 0)


@given(st.permutations([t for texts, _ in CONTRARY[2:16:3] for t in texts.split("; ")]))
def test_the_order_of_findings_does_not_change_what_is_refused(texts: list[str]) -> None:
    usual = _said([t for pair, _ in CONTRARY[2:16:3] for t in pair.split("; ")])
    assert sorted(_said(texts)) == sorted(usual)


def test_a_number_that_looks_like_a_third_molar_names_no_tooth() -> None:
    assert (
        not teeth.THIRD_MOLARS
        & _sheet("sn_mp mouth 38; arch_segment upper-right-back 28; anb mouth 18").standing
    )
