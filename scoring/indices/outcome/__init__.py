"""The outcome evaluation on finished casts and a panoramic radiograph: manual of 2012, article of 1998.

Sources: Casko et al., Am J Orthod Dentofacial Orthop 1998;114:589-599; grading system for dental casts
and panoramic radiographs, revision of June 2012.  Points are lost; 0 is best.  All limits are from memory.
"""

from dataclasses import replace
from decimal import Decimal

from portfolio.finding_sheet import Sheet
from scoring.hits import Ask, Tallies
from scoring.index import Index, Reckoned, Terms, weighted_sum
from scoring.indices.outcome.choices import CHOICES
from scoring.indices.outcome.places import left_out, scored_teeth
from scoring.indices.outcome.rules import components
from scoring.indices.outcome.verdicts import verdicts

CATEGORIES = {
    "alignment": "Alignment and rotations",
    "ridges": "Marginal ridges",
    "inclination": "Buccolingual inclination",
    "contacts": "Occlusal contacts",
    "relation": "Occlusal relationship",
    "overjet": "Overjet",
    "interproximal": "Interproximal contacts",
    "roots": "Root angulation",
}
STAGES = ("final", "retention")


def outside(sheet: Sheet) -> str:
    """Why the index has no meaning for a sheet, or an empty text."""
    if sheet.dentition != "permanent":
        return (
            f"the outcome evaluation is meant for the permanent dentition, not for the {sheet.dentition} one"
        )
    if sheet.stage not in STAGES:
        stage = sheet.stage.replace("_", "-")
        return f"the outcome evaluation is meant for final records and retention, not for {stage} ones"
    return ""


def reckon(index: Index, sheet: Sheet, found: Tallies, terms: Terms) -> Reckoned:
    """The plain sum of what the rows lose, with the teeth it was taken over and what has been published on it."""
    summed = weighted_sum(index, sheet, found, terms)
    total = summed.total or Decimal(0)
    return replace(
        summed,
        verdicts=verdicts(sheet, total, summed.categories, summed.complete, not outside(sheet)),
        extra={"teeth_scored": list(scored_teeth(sheet)), "left_out": left_out(sheet)},
    )


INDEX = Index(
    key="outcome",
    label="Cast-radiograph outcome evaluation",
    editions=("manual2012", "article1998"),
    edition_labels={"manual2012": "manual of 2012", "article1998": "article of 1998"},
    categories=CATEGORIES,
    choices=CHOICES,
    components=components,
    outside=outside,
    extra_asks=(
        Ask("missing", ("mouth",), needed=False),
        Ask("eruption", ("mouth",), needed=False),
    ),
    worse={
        "alignment_step": "up",
        "ridge_step": "up",
        "inclination_step": "up",
        "occlusal_gap": "up",
        "relation_step": "up",
        "facing_gap": "up",
        "gap": "up",
    },
    reckon=reckon,
    revision="1",
)
