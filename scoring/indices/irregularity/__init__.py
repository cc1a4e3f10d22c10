"""The irregularity index of the lower front teeth: a sum in millimetres and a word for it.

Source: Little, Am J Orthod 1975;68:554-563.
"""

from portfolio.finding_sheet import Sheet
from scoring.hits import Ask, Tallies, gathered
from scoring.index import Index, Reckoned, Terms
from scoring.indices.irregularity.rules import BANDS, CATEGORY, SUM, absent, band_of, components
from scoring.shapes import ZERO


def outside(sheet: Sheet) -> str:
    """Why the index has no meaning for a sheet, or an empty text."""
    if sheet.dentition != "permanent":
        return (
            f"the irregularity index is meant for the permanent dentition, not for the {sheet.dentition} one"
        )
    return ""


def reckon(index: Index, sheet: Sheet, found: Tallies, terms: Terms) -> Reckoned:
    """The sum and its band; no total without all six teeth, no band while a contact is missing."""
    missing = gathered(m for _, tally in found for m in tally.missing)
    total = None if absent(sheet) else sum((tally.points for _, tally in found), ZERO)
    band = band_of(total) if total is not None and not missing else None
    return Reckoned(total, not missing, missing, {}, found, extra={"band": band})


INDEX = Index(
    key="irregularity",
    label="Irregularity index",
    editions=("1975",),
    categories={},
    choices=(),
    components=components,
    outside=outside,
    extra_asks=(Ask("missing", ("mouth",), needed=False), Ask("eruption", ("mouth",), needed=False)),
    worse={"contact_offset": "up"},
    reckon=reckon,
    line_labels={CATEGORY: "Contacts of the lower front teeth"},
    counted_in="mm",
    revision=f"1: {SUM!r} {BANDS}",
)
