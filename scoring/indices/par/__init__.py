"""PAR, the peer assessment rating: how far a set of casts is from good alignment and occlusion.

Sources: form and instructions for PAR evaluation (read); Richmond et al., Eur J Orthod
1992;14:125-139 and 180-187; US weights: DeGuzman et al., Am J Orthod Dentofacial Orthop
1995;107:172-176 (from memory).
"""

from portfolio.finding_sheet import Sheet
from scoring.hits import Ask
from scoring.index import Index
from scoring.indices.par.choices import CHOICES
from scoring.indices.par.rules import components
from scoring.indices.par.verdicts import reckon
from scoring.indices.par.weights import CATEGORIES, EDITION_LABELS, WEIGHT_SETS, own_weights


def outside(sheet: Sheet) -> str:
    """Why the index has no meaning for a sheet, or an empty text."""
    if sheet.dentition == "primary":
        return "PAR is not meant for the primary dentition"
    return ""


INDEX = Index(
    key="par",
    label="PAR",
    editions=tuple(WEIGHT_SETS),
    categories=CATEGORIES,
    choices=CHOICES,
    components=components,
    outside=outside,
    extra_asks=(
        Ask("eruption", ("mouth",), needed=False),
        Ask("missing", ("mouth",), needed=False),
        Ask("submerged", ("mouth",), needed=False),
        Ask("transposed", ("mouth",), needed=False),
    ),
    worse={
        "contact_offset": "up",
        "posterior_open_bite": "up",
        "overjet": "both",
        "overbite_cover": "up",
        "midline_share": "up",
        "midline_offset": "both",
        "eruption_space": "down",
        "support_zone": "down",
    },
    reckon=reckon,
    weight_sets=WEIGHT_SETS,
    own_weights=own_weights,
    edition_labels=EDITION_LABELS,
    revision="1",
)
