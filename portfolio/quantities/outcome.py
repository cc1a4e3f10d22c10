"""Quantities of finished casts, read by the outcome evaluation."""

from decimal import Decimal

from portfolio import teeth
from portfolio.quantity import ANY_TOOTH, FUNCTIONAL_CUSP, SIDE, UPPER_TOOTH, Quantity, SiteRule, by_place

_RIDGE_TEETH = frozenset(
    t
    for t in teeth.ALL_TEETH
    if teeth.is_posterior(t) and not (teeth.arch(t) == "lower" and teeth.number(t) == 4)
)
_INCLINED = SiteRule("tooth", "a tooth behind the canine, lower first premolars left out", _RIDGE_TEETH)
_RELATION = by_place(
    tuple(f"{q}{n}" for q in "12" for n in range(3, 8)), "an upper tooth from canine to second molar"
)


def _step(key: str, label: str, site: SiteRule, high: int, definition: str, how: str, sign: str) -> Quantity:
    return Quantity(
        key=key,
        label=label,
        kind="number",
        unit="mm",
        minimum=Decimal(0),
        maximum=Decimal(high),
        site=site,
        group="outcome",
        takes_none=True,
        takes_rest_none=True,
        method="gauge",
        source="outcome_1998",
        definition=definition,
        how=how,
        sign=sign,
    )


QUANTITIES = (
    _step(
        "alignment_step",
        "Deviation from alignment",
        ANY_TOOTH,
        10,
        "How far a tooth stands out of the line of its arch. Where two neighbours are out of line with each other it is "
        "recorded at the worse one.",
        "Upper front: along the edges and lingual faces. Lower front: along the labial side of the edges. Upper back: "
        "along the central grooves. Lower back: along the buccal cusps. The greater end of a rotated tooth counts.",
        "0: in line; always plus, whichever way the tooth stands out",
    ),
    _step(
        "ridge_step",
        "Marginal ridge step",
        SiteRule("contact", "a contact behind the first premolar", members=_RIDGE_TEETH),
        10,
        "Difference of height between the marginal ridges of two neighbours, square to the occlusal plane.",
        "Upper: from the first premolar back. Lower: from the second premolar back; the distal side of the lower first "
        "premolar is left out. Where a tooth is missing, the ridges that now meet.",
        "0: level; always plus, whichever ridge is higher",
    ),
    _step(
        "inclination_step",
        "Buccolingual step",
        _INCLINED,
        10,
        "Difference of height between the buccal and the lingual cusps of a tooth behind the canine, against a flat bar "
        "laid across the arch from side to side.",
        "Upper: the bar rests on the lingual cusps, the gap to the buccal cusps is measured. Lower: the bar rests on the "
        "buccal cusps, the gap to the lingual cusps is measured. Second molars: mesial cusps only.",
        "0: cusps level; always plus, whichever cusp is higher",
    ),
    _step(
        "facing_gap",
        "Gap of the pair",
        UPPER_TOOTH,
        10,
        "How far an upper tooth and its opponent stand from where they should meet, across the arch. Each pair is "
        "recorded once, at the upper tooth.",
        "Front: gap between the lower edge and the lingual face of the upper tooth. Behind: distance of the lower buccal "
        "cusp from the middle of the upper chewing surface.",
        "0: touching in front, centred behind; always plus, whichever way it is off",
    ),
    _step(
        "occlusal_gap",
        "Gap at a functional cusp",
        FUNCTIONAL_CUSP,
        10,
        "Gap between a functional cusp and the opposing tooth with the casts together: lingual cusps of upper, buccal "
        "cusps of lower premolars and molars.",
        "Asked for are one cusp of each premolar and upper molar (the mesiolingual one) and both buccal cusps of lower "
        "molars. Distolingual cusps of upper and distal cusps of lower molars score when they are recorded.",
        "0: contact",
    ),
    _step(
        "relation_step",
        "Distance from the position aimed at",
        _RELATION,
        15,
        "Distance of an upper tooth, along the arch, from the position aimed at.",
        "Canine and premolars: tip of the (buccal) cusp to the embrasure between the lower opponents. Molars: mesiobuccal "
        "cusp to the buccal groove. After extractions in one arch alone, to the place a full step away.",
        "0: in position; always plus, forward or back",
    ),
    Quantity(
        key="relation_target",
        label="Position aimed at",
        kind="code",
        codes=("class1", "full2", "full3"),
        code_labels={"class1": "Class I", "full2": "full step Class II", "full3": "full step Class III"},
        site=SIDE,
        group="outcome",
        method="eye",
        source="outcome_1998",
        definition="The position against which the teeth of this side are judged: Class I, or a full step after "
        "extractions in one arch alone.",
        how="Class I when nothing is recorded. It gives no points by itself; it says from where the distances were taken.",
    ),
    Quantity(
        key="root_angulation",
        label="Root angulation",
        kind="code",
        codes=("parallel", "tipped", "touching"),
        code_labels={
            "parallel": "parallel",
            "tipped": "tipped, not touching",
            "touching": "touching its neighbour",
            "not_taken": "no radiograph taken",
        },
        site=ANY_TOOTH,
        group="outcome",
        takes_none=True,
        takes_rest_none=True,
        mouth_codes=("not_taken",),
        method="picture",
        source="outcome_1998",
        definition="Direction of a root beside its neighbours' on a panoramic radiograph, about square to the occlusal plane.",
        how="Tipped: out of line without touching; touching: against its neighbour's root. The radiograph bends roots "
        "near the canines; the manual of 2012 leaves canines out. Without a radiograph "
        "record that none was taken for the whole mouth: the total is then one of the casts only.",
    ),
)
