"""Every quantity of the vocabulary, with its sites, range, codes and region statements, written out once more.

A line reads: key | sites it takes | sites it does not | range or codes | which region statements.
"""

from decimal import Decimal

import pytest

from portfolio import sites, sources, teeth
from portfolio.quantity import Quantity
from portfolio.readings import Finding, Sheet, check
from portfolio.vocabulary import GROUPS, ORDER, QUANTITIES

LISTED = """
overjet | 13 11 23 53 62 | 14 33 54 13-12 right mouth upper | mm -20 25 | rest
overbite | 13 11 23 53 62 | 14 33 mouth | mm -20 20 | rest
overbite_cover | mouth | 11 upper | % 0 200 |
palatal_contact | mouth | 11 | none contact trauma unknown |
posterior_open_bite | 14 18 24 28 54 65 | 13 34 mouth | mm 0 15 | both
molar_relation | right left | 16 mouth upper | class1 toward2 end2 full2 beyond2 toward3 end3 full3 beyond3 |
molar_beyond | right left | mouth | mm 0 15 |
molar_substitute | right left | mouth | tooth |
canine_relation | right left | 13 | class1 toward2 end2 full2 toward3 end3 full3 |
incisor_class | mouth | right | I II/1 II/2 II_indefinite III |
buccal_interdigitation | right left | mouth | fitted off cusp_to_cusp |
crossbite | 14 18 24 28 54 65 | 13 34 | none edge upper_inside upper_outside | both
buccal_contact | right left | mouth | yes no unknown |
functional_shift | mouth | right | mm 0 10 unknown | own
shift_direction | mouth | right | forward right left |
tooth_width | 11 48 55 85 | 13-12 mouth | mm 2 16 |
arch_segment | upper-right-back lower-left-front | upper mouth | mm 5 50 |
support_zone | upper-right-back lower-left-back | upper-right-front upper | mm 5 40 |
arch_available | upper lower | right mouth | mm 20 130 |
crowding | upper lower | right 11 | mm -30 30 | own
contact_offset | 13-12 41-31 55-54 | 11 mouth | mm 0 15 | both
gap | 13-12 12-21 48-47 | 11 | mm 0 25 | both
gap_plan | 13-12 | 11 mouth | close keep unknown |
midline_offset | mouth | 11 upper | mm -15 15 | own
midline_share | mouth | upper | % 0 400 |
upper_midline_face | mouth | upper | mm -15 15 |
lower_midline_face | mouth | lower | mm -15 15 |
missing | 18 11 55 | 13-12 | congenital extracted lost unknown | both
eruption | 18 11 55 | mouth | full partial unerupted |
blocked_out | 13 55 | 13-12 | labial lingual | both
impacted | 13 38 | 13-12 | yes tipped supernumerary | both
eruption_space | 13 75 | 13-12 | mm 0 15 |
ankylosed | 46 85 | 13-12 | yes unknown | both
anomalous | 12 | 13-12 | yes | both
transposed | 13 | 13-12 | yes | both
retained_primary | 55 75 | 15 | no_successor overdue | both
submerged | 75 | 35 | yes severe | both
supernumerary | 11 45 | 11-21 | whole 1 9 | both
skeletal_asymmetry | mouth | right | none nonsurgical surgical unknown |
added_complexity | mouth | 11 | words |
lip_competence | mouth | upper | competent incompetent unknown |
function_problem | mouth | upper | yes no unknown |
cleft_or_syndrome | mouth | upper | yes no unknown |
aesthetic_component | mouth | upper | whole 1 10 |
curve_of_spee | right left | lower | mm -5 10 |
intercanine_width | upper lower | right | mm 15 80 |
intermolar_width | upper lower | right | mm 15 80 |
arch_depth | upper lower | right | mm 15 80 |
rotation | 11 85 | 13-12 | deg -180 180 |
alignment_step | 11 47 | 13-12 | mm 0 10 | both
ridge_step | 15-14 16-15 17-16 46-45 47-46 36-37 16-14 | 14-13 45-44 34-35 11-21 16 | mm 0 10 | both
inclination_step | 14 17 26 35 47 | 13 34 44 | mm 0 10 | both
facing_gap | 11 17 | 31 | mm 0 10 | both
occlusal_gap | 14.l 15.l 16.ml 17.ml 16.dl 34.b 45.b 36.mb 36.db 46.dc | 16.mb 36.ml 14.b 34.l 16 | mm 0 10 | both
relation_step | 13 17 23 27 | 12 18 33 | mm 0 15 | both
relation_target | right left | mouth | class1 full2 full3 |
root_angulation | 11 47 | 13-12 | parallel tipped touching | both
incisor_show_rest | mouth | 11 | mm |
incisor_show_smile | mouth | 11 | mm |
gum_show_smile | mouth | 11 | mm |
chin_deviation | mouth | 11 | mm |
occlusal_cant | mouth | right | mm |
maturation | mouth | 11 | whole 1 6 |
root_shortening | 11 | mouth | mm |
recession | 11 | mouth | mm |
probing_max | 11 | mouth | mm |
decalcification | 11 | mouth | codes |
untreated_caries | 11 | mouth | codes |
hygiene | mouth | 11 | good fair poor |
joint_signs | mouth | right | none sound pain limited |
mouth_opening | mouth | 11 | mm |
habit | mouth | 11 | words |
"""
TRACING = """
sna snb anb snd sn_fh sn_go_gn sn_go_me sn_mp fma fmia impa op_sn op_fh u1_na u1_na_mm l1_nb l1_nb_mm u1_sn u1_fh
interincisal pog_nb_mm holdaway_ratio s_l s_e facial_angle facial_depth convexity convexity_mm ab_plane y_axis
facial_axis lower_face_height mandibular_arc maxillary_depth u6_ptv_mm wits u1_apog_mm l1_apog_mm l1_apog l1_op saddle
articular gonial gonial_upper gonial_lower bjork_sum s_go n_me height_ratio a_nperp_mm pog_nperp_mm u1_a_vert_mm co_a
co_gn ans_me pp_fh odi apdi eline_upper eline_lower s_line_upper s_line_lower h_angle h_angle_nb nasolabial overjet_mm
overbite_mm
""".split()
ROWS = [[cell.strip() for cell in line.split("|")] for line in LISTED.strip().splitlines()]
STAND = {"rest": {"rest_none"}, "both": {"none", "rest_none"}, "own": {"none"}, "": set()}
PLACES = {"crowding": ("upper", "lower", "mouth")}


def test_the_vocabulary_holds_every_listed_quantity_and_no_other() -> None:
    assert sorted(QUANTITIES) == sorted([row[0] for row in ROWS] + TRACING)


@pytest.mark.parametrize("row", ROWS, ids=lambda row: row[0])
def test_a_quantity_takes_its_sites_and_no_others(row: list[str]) -> None:
    quantity = QUANTITIES[row[0]]
    assert [site for site in row[1].split() if not quantity.site.takes(site)] == []
    assert [site for site in row[2].split() if quantity.site.takes(site)] == []


@pytest.mark.parametrize("row", ROWS, ids=lambda row: row[0])
def test_a_quantity_has_its_unit_and_range_or_its_codes(row: list[str]) -> None:
    quantity, (first, *rest) = QUANTITIES[row[0]], row[3].split()
    if first in ("mm", "%", "deg", "whole"):
        assert quantity.kind == "number"
        assert quantity.unit == ("" if first == "whole" else first)
        assert quantity.whole is (first == "whole")
        assert quantity.takes_unknown is ("unknown" in rest)
        if rest:
            assert [quantity.minimum, quantity.maximum] == [Decimal(text) for text in rest[:2]]
    elif first in ("tooth", "words"):
        assert quantity.kind == first
    else:
        assert quantity.kind == "code"
        if first != "codes":
            assert list(quantity.allowed_words()) == [first, *rest]


@pytest.mark.parametrize("row", ROWS, ids=lambda row: row[0])
def test_regions_are_stated_free_only_where_that_has_a_meaning(row: list[str]) -> None:
    quantity, may = QUANTITIES[row[0]], STAND[row[4] if len(row) > 4 else ""]
    here = PLACES.get(row[0], ("mouth",))
    for value in ("none", "rest_none"):
        taken = {site for site in sites.REGIONS if quantity.takes_region(site, value)}
        if value not in may:
            assert taken == set()
        elif row[4] == "own":
            assert taken == set(here)
        else:
            assert "mouth" in taken
            touching = {s for s in sites.REGIONS if any(sites.inside(s, x) for x in row[1].split())}
            assert touching <= taken


@pytest.mark.parametrize("value", ["3", "unknown", "yes", "anything", ""])
@pytest.mark.parametrize("region", sites.REGIONS)
def test_a_region_takes_no_other_words_than_none_and_rest_none(region: str, value: str) -> None:
    assert [q.key for q in QUANTITIES.values() if q.takes_region(region, value)] == []


@pytest.mark.parametrize(
    ("quantity", "site"),
    [("crossbite", "lower"), ("overjet", "upper-right-back"), ("relation_step", "lower-left-front")],
)
def test_no_region_is_stated_free_where_the_quantity_has_no_site(quantity: str, site: str) -> None:
    assert not QUANTITIES[quantity].takes_region(site, "rest_none")


@pytest.mark.parametrize("key", TRACING)
def test_a_tracing_measure_is_taken_at_the_mouth_over_its_whole_range(key: str) -> None:
    quantity = QUANTITIES[key]
    assert quantity.kind == "number"
    assert [site for site in ("11", "right", "upper") if quantity.site.takes(site)] == []
    assert quantity.site.takes("mouth")
    if quantity.unit in ("deg", "mm"):
        limits = {"deg": (Decimal(-90), Decimal(400)), "mm": (Decimal(-100), Decimal(200))}[quantity.unit]
        assert (quantity.minimum, quantity.maximum) == limits
    assert quantity.takes_plane is (key in ("sn_mp", "impa", "fma", "fmia"))
    if key in ("anb", "sn_mp", "impa", "l1_apog") or key.endswith("_mm"):
        assert quantity.unit == ("mm" if key.endswith("_mm") else "deg")


def _quantities() -> list[Quantity]:
    return list(QUANTITIES.values())


@pytest.mark.parametrize("quantity", _quantities(), ids=lambda q: q.key)
def test_a_quantity_says_what_it_is_where_it_is_listed_and_who_defined_it(quantity: Quantity) -> None:
    assert quantity.label.strip()
    assert quantity.definition.strip().endswith((".", "there is none."))
    assert quantity.group in GROUPS
    assert quantity.source in sources.SOURCES
    assert sources.cite(quantity.source).strip()
    assert quantity.site.words


@pytest.mark.parametrize("quantity", _quantities(), ids=lambda q: q.key)
def test_numbers_that_may_be_negative_say_what_plus_means(quantity: Quantity) -> None:
    if quantity.kind == "number":
        assert quantity.minimum is not None
        assert quantity.maximum is not None
        assert quantity.minimum < quantity.maximum
        signed = quantity.minimum < 0 and quantity.group not in ("radiograph", "clinical")
        assert bool(quantity.sign) or not signed


def test_quantities_stand_in_the_order_of_their_groups_round_the_casts() -> None:
    groups = [quantity.group for quantity in _quantities()]
    assert groups == sorted(groups, key=list(GROUPS).index)
    assert list(ORDER.values()) == list(range(len(QUANTITIES)))


def test_only_free_words_repeat() -> None:
    assert {q.key for q in _quantities() if q.repeats} == {"added_complexity", "habit"}


def test_aliases_of_crossbite_are_stored_as_the_codes_they_stand_for() -> None:
    crossbite = QUANTITIES["crossbite"]
    assert crossbite.canonical("lingual") == "upper_inside"
    assert crossbite.canonical("buccal") == "upper_outside"
    assert crossbite.canonical("edge") == "edge"
    assert crossbite.fault("lingual") is None
    assert {q.key for q in _quantities() if q.aliases} == {"crossbite"}


def test_a_missing_radiograph_is_stated_at_the_mouth_only() -> None:
    def faults(site: str) -> list[str]:
        found = Finding("root_angulation", site, "not_taken")
        return [f.message for f in check(Sheet("final", "permanent", (found,)))]

    assert faults("mouth") == []
    assert len(faults("16")) == 1
    assert len(faults("upper")) == 2  # neither the site nor the word is taken


def test_by_place_means_the_primary_tooth_too() -> None:
    for key, places in (("overjet", "13 12 11 21 22 23"), ("crossbite", "14 15 24 25")):
        for place in places.split():
            before = teeth.predecessor(place)
            assert before is not None
            assert QUANTITIES[key].site.takes(before)


def test_every_source_can_be_cited_in_one_line() -> None:
    for key in sources.SOURCES:
        assert "\n" not in sources.cite(key)
    with pytest.raises(KeyError):
        sources.cite("nobody")
