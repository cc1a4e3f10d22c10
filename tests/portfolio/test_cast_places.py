"""Where on the casts a finding was taken: the words name its teeth, the drawing marks them, sides mirror each other.

What is measured from where follows the published forms as the vocabulary tells them; surfaces follow the names of the
sides of a crown in use (common practice, no source).
"""

from __future__ import annotations

from itertools import pairwise

import pytest

from portfolio import sites, teeth
from portfolio.cast_chart import AT, WIDTH, cast_place
from portfolio.cast_places import GROUPS, facing, taken_at
from portfolio.finding_sheet import Finding
from portfolio.quantity import Quantity
from portfolio.vocabulary import QUANTITIES

ALL_SITES = (
    *sorted(teeth.ALL_TEETH),
    *(f"{a}-{b}" for r in (teeth.UPPER_ROUND, teeth.LOWER_ROUND) for a, b in pairwise(r)),
    *(f"{t}.{c}" for t in sorted(teeth.PERMANENT) for c in sites.cusps(t)),
    *sites.REGIONS,
)
NOWHERE = {
    "root_angulation",
    "functional_shift",
    "shift_direction",
    "gap_plan",
    "incisor_class",
    "molar_substitute",
    "relation_target",
    "arch_depth",
    "curve_of_spee",
    "intercanine_width",
    "intermolar_width",
}
"""Read from a radiograph, from the patient or the plan, worked out of others, or at points that the note names."""


def value_of(quantity: Quantity) -> str:
    if quantity.kind == "number":
        return "1" if quantity.minimum is not None and quantity.minimum <= 1 else str(quantity.minimum)
    return next((code for code in quantity.codes if code != "none"), "16")


def words(quantity: str, site: str, value: str = "1", notation: str = "iso3950") -> str:
    found = taken_at(Finding(quantity, site, value), notation)
    assert found is not None
    return found.words


def test_each_end_of_a_measurement_is_named_on_its_tooth() -> None:
    assert words("overjet", "11", "3.5") == (
        "from the labial face of the lower opponent to the labial limit of the edge of 11, parallel to the occlusal plane"
    )
    assert words("overjet", "11", "-2").startswith(
        "from the labial face of 11 to the labial limit of the edge"
    )
    assert words("overjet", "11", "0").startswith("at the edge of 11, which meets")
    assert words("overbite", "21", "-3").startswith("from the edge of 21 to the edge of the lower opponent")
    assert words("contact_offset", "13-12") == (
        "from the mesial contact point of 13 to the distal one of 12, across the arch"
    )
    assert "mesial contact point of 11 to the mesial one of 21" in words("gap", "11-21")
    assert "distal contact point of 32 to the mesial one of 33" in words("contact_offset", "32-33")
    assert words("tooth_width", "46") == "from the mesial to the distal contact point of 46"
    assert "mesiobuccal cusp of 26 against the buccal groove of 36" in words(
        "molar_relation", "left", "full2"
    )
    assert "lingual cusp of 15" in words("crossbite", "15", "upper_outside")
    assert "from the distal contact of 33 to the midline" in words("arch_segment", "lower-left-front")
    assert "mesial contact of 16 to the distal contact of 12" in words("support_zone", "upper-right-back")
    assert "mesial contact of 16 to the distal contact of 13" in words("arch_segment", "upper-right-back")
    assert "mesiolingual cusp of 17" in words("occlusal_gap", "17.ml")
    assert "UR1" in words("overjet", "11", "3", "palmer")
    assert "the edge of 8," in words("overjet", "11", "3", "universal")
    assert facing("11", "21") == facing("13", "12") == facing("55", "54") == "mesial"
    assert facing("12", "13") == "distal"


@pytest.mark.parametrize("key", sorted(k for k, q in QUANTITIES.items() if q.group in GROUPS))
def test_every_place_of_a_quantity_is_told_and_drawn_and_its_mirror_image_mirrors_it(key: str) -> None:
    quantity = QUANTITIES[key]
    taken = [site for site in ALL_SITES if quantity.site.takes(site)]
    assert taken
    for site in taken:
        finding = Finding(key, site, value_of(quantity))
        place = cast_place([finding], "iso3950")
        if key in NOWHERE:
            assert place is None
            continue
        assert place is not None, (key, site)
        (said,) = place.words
        assert all(tooth in said for tooth in sites.teeth_of(site)), (key, site, said)
        assert place.chart.filled
        other = cast_place([Finding(key, sites.mirror(site), finding.value)], "iso3950")
        assert other is not None
        mirrored = sorted((round(WIDTH - x, 2), y) for x, y in other.chart.spots)
        assert sorted(place.chart.spots) == [pytest.approx(spot, abs=0.011) for spot in mirrored], (key, site)
        assert all(0 < x < WIDTH and 0 < y < place.chart.height for x, y in place.chart.spots)


def test_outer_sides_look_away_from_the_other_arch() -> None:
    upper = cast_place([Finding("palatal_contact", "mouth", "contact")], "iso3950")
    cover = cast_place([Finding("overbite_cover", "mouth", "80")], "iso3950")
    assert upper is not None
    assert cover is not None
    assert max(y for _, y in upper.chart.spots) < min(y for _, y in cover.chart.spots)
    middle = upper.chart.height / 2
    assert all(y < middle for _, y in upper.chart.spots)
    assert AT["outer"][1] < 0.5 < AT["inner"][1]


def test_places_off_the_casts_and_statements_of_regions_have_none() -> None:
    for finding in (
        Finding("anb", "mouth", "4"),
        Finding("lip_competence", "mouth", "competent"),
        Finding("crossbite", "mouth", "none"),
        Finding("overjet", "mouth", "rest_none"),
        Finding("missing", "12", "unknown"),
        Finding("crowding", "upper", "3", method="computed"),
        Finding("no_such", "11", "3"),
    ):
        assert cast_place([finding], "iso3950") is None, finding


def test_many_places_of_one_line_are_all_drawn_and_told_by_their_number() -> None:
    found = [Finding("contact_offset", site, "1") for site in ("13-12", "12-11", "11-21", "21-22", "22-23")]
    place = cast_place(found, "iso3950")
    assert place is not None
    assert len(place.chart.spots) == 10
    assert (len(place.words), place.words[-1]) == (3, "at 3 more places")
