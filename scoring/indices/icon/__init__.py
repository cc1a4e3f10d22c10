"""ICON, the index of complexity, outcome and need: one score before treatment and after it.

Sources: Daniels and Richmond, J Orthod 2000;27:149-162 (abstract read, rules from memory); an annex
that explains the index (read).
"""

from decimal import Decimal

from portfolio.finding_sheet import Sheet
from scoring.hits import Ask
from scoring.index import Index
from scoring.indices.icon.rules import components
from scoring.indices.icon.verdicts import reckon

CATEGORIES = {
    "aesthetic": "Aesthetic component",
    "upper_space": "Upper arch, crowding or spacing",
    "crossbite": "Crossbite",
    "vertical": "Overbite or open bite in front",
    "buccal_ap": "Buccal segments front to back",
}
WEIGHTS = dict(zip(CATEGORIES, map(Decimal, (7, 5, 5, 4, 3)), strict=True))
"""Aesthetic component 7: read; the others from memory."""


def outside(sheet: Sheet) -> str:
    """Why the index has no meaning for a sheet, or an empty text."""
    if sheet.dentition == "primary":
        return "ICON is not meant for the primary dentition"
    if sheet.stage not in ("initial", "final"):
        return f"ICON is meant for records before treatment and at its end, not for {sheet.stage} ones"
    return ""


INDEX = Index(
    key="icon",
    label="ICON",
    editions=("2000",),
    categories=CATEGORIES,
    choices=(),
    components=components,
    outside=outside,
    extra_asks=(
        Ask("eruption", ("mouth",), needed=False),
        Ask("missing", ("mouth",), needed=False),
    ),
    worse={
        "aesthetic_component": "up",
        "crowding": "both",
        "overjet": "down",
        "overbite_cover": "up",
        "eruption_space": "down",
    },
    reckon=reckon,
    weight_sets={"2000": WEIGHTS},
    edition_labels={"2000": "ICON, weights of 2000"},
    revision="1",
)
