"""The discrepancy index of case complexity: later worksheet, totals of the 2004 article are only typed.

Sources: training slides on the index (undated); Cangialosi et al., Am J Orthod Dentofacial Orthop
2004;125:270-278; later worksheet, from memory.
"""

from portfolio.finding_sheet import Sheet
from scoring.hits import Ask
from scoring.index import Index
from scoring.indices.discrepancy.choices import AS_PRINTED, AS_SHIPPED, CHOICES
from scoring.indices.discrepancy.rules import components

CATEGORIES = {
    "overjet": "Overjet",
    "negative_overjet": "Reverse overjet",
    "overbite": "Overbite",
    "anterior_open_bite": "Anterior open bite",
    "lateral_open_bite": "Lateral open bite",
    "crowding": "Crowding",
    "molar_relation": "Occlusion, first molars",
    "lingual_crossbite": "Lingual posterior crossbite",
    "buccal_crossbite": "Buccal posterior crossbite",
    "anb": "ANB",
    "sn_mp": "SN to mandibular plane",
    "impa": "Lower incisor to mandibular plane",
    "other": "Other",
}


def outside(sheet: Sheet) -> str:
    """Why the index has no meaning for a sheet, or an empty text."""
    if sheet.dentition == "primary":
        return "the discrepancy index is not meant for the primary dentition"
    if sheet.stage not in ("initial", "interim"):
        return f"the discrepancy index is meant for records before treatment or a later phase, not for {sheet.stage} ones"
    return ""


INDEX = Index(
    key="discrepancy",
    label="Discrepancy index",
    editions=("worksheet",),
    categories=CATEGORIES,
    choices=CHOICES,
    components=components,
    outside=outside,
    extra_asks=(
        Ask("eruption", ("mouth",), needed=False),
        Ask("blocked_out", ("mouth",), needed=False),
        Ask("midline_offset", ("mouth",), needed=False),
        Ask("upper_midline_face", ("mouth",), needed=False),
        Ask("lower_midline_face", ("mouth",), needed=False),
    ),
    choice_sets={"as_shipped": AS_SHIPPED, "as_printed": AS_PRINTED},
    worse={
        "overbite": "both",
        "posterior_open_bite": "up",
        "crowding": "up",
        "molar_beyond": "up",
        "impa": "up",
        "supernumerary": "up",
        "anb": "both",
        "sn_mp": "both",
        "midline_offset": "both",
        "overjet": "both",
    },
)
