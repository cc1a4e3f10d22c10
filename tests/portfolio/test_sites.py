"""The grammar of sites, and what lies inside a wider one."""

import itertools

import pytest
from hypothesis import given
from hypothesis import strategies as st

from portfolio import sites, teeth

TOOTH = st.sampled_from(sorted(teeth.ALL_TEETH))
CUSP = st.sampled_from([f"{t}.{c}" for t in sorted(teeth.ALL_TEETH) for c in sites.cusps(t)])
CONTACT = st.sampled_from(
    [f"{a}-{b}" for row in (teeth.UPPER_ROUND, teeth.LOWER_ROUND) for a, b in itertools.pairwise(row)]
)
SINGLE = st.one_of(TOOTH, CUSP, CONTACT)
SITE = st.one_of(SINGLE, st.sampled_from(sites.REGIONS))


@pytest.mark.parametrize(
    ("site", "kind"),
    [
        ("16", "tooth"),
        ("55", "tooth"),
        ("13-12", "contact"),
        ("12-21", "contact"),
        ("16.mb", "cusp"),
        ("36.dc", "cusp"),
        ("14.b", "cusp"),
        ("55.dl", "cusp"),
        ("right", "side"),
        ("lower", "arch"),
        ("lower-left-front", "segment"),
        ("mouth", "mouth"),
        ("19", ""),
        ("13-13", ""),
        ("13-19", ""),
        ("13–12", ""),  # a dash is not a hyphen
        ("13-12-11", ""),
        ("16.dc", ""),  # upper molars have no distal cusp
        ("14.mb", ""),  # premolars have a buccal and a lingual one
        ("16.b", ""),
        ("13.b", ""),
        ("16.", ""),
        (".mb", ""),
        ("upper-right", ""),
        ("Mouth", ""),
        (" 16", ""),
        ("", ""),
        ("x" * 10_000, ""),
    ],
)
def test_a_site_is_one_of_seven_kinds_or_none(site: str, kind: str) -> None:
    assert sites.kind(site) == kind


@pytest.mark.parametrize(
    ("region", "site", "lies"),
    [
        ("mouth", "46.dc", True),
        ("mouth", "lower-left-front", True),
        ("upper", "11-21", True),
        ("upper", "31", False),
        ("upper", "upper-left-back", True),
        ("upper", "lower-left-back", False),
        ("right", "13-12", True),
        ("right", "11-21", False),  # the midline contact lies on neither side
        ("right", "lower-right-back", True),
        ("right", "lower", False),
        ("right", "upper", False),
        ("upper-right-front", "13-12", True),
        ("upper-right-front", "14-13", False),
        ("upper-right-back", "14-13", True),  # the contact behind the canine belongs to the back
        ("upper-right-back", "15-12", True),
        ("upper-left-back", "23-24", True),
        ("upper-left-front", "23-24", False),
        ("upper-right-front", "11-21", False),
        ("lower-left-back", "75", True),
        ("lower-left-back", "73", False),
        ("upper-right-back", "16.mb", True),
        ("upper", "mouth", False),
    ],
)
def test_what_lies_inside_a_wider_site(region: str, site: str, lies: bool) -> None:
    assert sites.inside(region, site) is lies


@given(SINGLE)
def test_a_single_site_names_its_teeth_and_is_no_wider_than_they_are(site: str) -> None:
    named = sites.teeth_of(site)
    assert 1 <= len(named) <= 2
    assert sites.width(site) == 0
    assert all(sites.inside("mouth", t) and sites.tooth_in(teeth.arch(t), t) for t in named)


@given(TOOTH)
def test_a_tooth_lies_in_the_mouth_and_in_one_arch_one_side_and_one_segment(tooth: str) -> None:
    holding = [region for region in sites.REGIONS if sites.inside(region, tooth)]
    assert sorted(map(sites.kind, holding)) == ["arch", "mouth", "segment", "side"]
    assert [region for region in sites.REGIONS if sites.tooth_in(region, tooth)] == holding


def test_every_contact_of_a_full_arch_but_the_midline_lies_in_one_segment() -> None:
    for row in (teeth.UPPER_ROUND, teeth.LOWER_ROUND):
        for first, second in itertools.pairwise(row):
            contact = f"{first}-{second}"
            holding = [s for s in sites.SEGMENTS if sites.inside(s, contact)]
            assert len(holding) == (0 if contact in ("11-21", "41-31") else 1), contact


@given(SITE)
def test_the_mirrored_site_of_the_mirrored_site_is_the_site_itself(site: str) -> None:
    other = sites.mirror(site)
    assert sites.mirror(other) == site
    assert sites.kind(other) == sites.kind(site)
    assert sites.width(other) == sites.width(site)


@given(st.sampled_from(sites.REGIONS), SITE)
def test_lying_inside_survives_the_mirror(region: str, site: str) -> None:
    assert sites.inside(region, site) is sites.inside(sites.mirror(region), sites.mirror(site))


@given(CONTACT)
def test_a_mirrored_contact_still_runs_from_right_to_left(contact: str) -> None:
    first, second = sites.teeth_of(sites.mirror(contact))
    assert teeth.order(first) < teeth.order(second)


def test_widths_order_segments_before_sides_and_arches_before_the_mouth() -> None:
    assert sites.width("upper-left-back") < sites.width("left") == sites.width("upper") < sites.width("mouth")
