"""The irregularity index: faciolingual displacements of the five lower front contacts, summed in millimetres.

Source: Little, Am J Orthod 1975;68:554-563, as told by an encyclopaedia page (read).  Its bands are in
whole millimetres (1-3, 4-6, 7-9); the gaps between them are closed by us, see `reading.md`.
"""

from collections.abc import Iterator
from dataclasses import dataclass
from decimal import Decimal
from functools import lru_cache
from itertools import pairwise

from portfolio import sites, teeth
from portfolio.finding_sheet import Finding, Sheet
from scoring.components import amount
from scoring.front_contacts import front_contacts
from scoring.hits import Ask, Component, Hit, Missing, Tally
from scoring.measured_shapes import Bands, band
from scoring.shapes import ZERO, Cited, Said

PUBLISHED = Cited("irregularity_page", "read")
SETTLED = Cited("irregularity_settled", "practice")
CATEGORY = "contact_offset"
FRONT = tuple(t for t in teeth.LOWER_ROUND if teeth.number(t) <= 3)
"""The six lower front teeth from the patient's right to left."""
CONTACTS = tuple(f"{first}-{second}" for first, second in pairwise(FRONT))
SUM = Bands(
    "irregularity",
    "mm",
    (
        band("(..., 0]", 0),
        band("(0, 4)", 1),
        band("[4, 7)", 2),
        band("[7, 10)", 3),
        band("[10, ...)", 4),
    ),
    SETTLED,
)
BANDS = ("perfect", "minimal", "moderate", "severe", "very_severe")
"""Names of the bands by their place in the table."""

ADDED = Said("displacement added in millimetres", PUBLISHED)
SIX_NEEDED = "all six lower front teeth"


@dataclass(frozen=True)
class Displacements:
    """One hit a contact, its points are millimetres; a region that was stated free adds nothing."""

    added: Said = ADDED
    category: str = CATEGORY
    revision: str = "1"

    def tally(self, sheet: Sheet) -> Tally:
        gone = absent(sheet)
        if gone:
            untold = tuple(c for c in CONTACTS if not frozenset(sites.teeth_of(c)).isdisjoint(gone))
            return Tally([], [Missing("contact_offset", untold, self.category, lacks=SIX_NEEDED)])
        tally = Tally()
        found = sheet.by_quantity.get("contact_offset", {})
        lacking: list[str] = []
        stated: dict[str, Finding] = {}
        for contact in front_contacts(sheet, "lower"):
            finding = found.get(contact) or sheet.statement_over("contact_offset", contact)
            if finding is None:
                lacking.append(contact)
            elif finding.is_statement:
                stated[finding.site] = finding
            else:
                tally.hits.append(Hit(contact, (finding,), self.added, None, amount(finding)))
        tally.hits += (Hit(site, (finding,), self.added, None, ZERO) for site, finding in stated.items())
        if lacking:
            tally.missing.append(Missing("contact_offset", tuple(lacking), self.category))
        return tally

    def asks(self, sheet: Sheet) -> Iterator[Ask]:
        """The five contacts; nothing where the index cannot be told."""
        if not absent(sheet):
            yield Ask("contact_offset", front_contacts(sheet, "lower"))


def absent(sheet: Sheet) -> tuple[str, ...]:
    """Lower front teeth that do not stand: missing, unerupted, or a primary tooth holds the place."""
    return tuple(t for t in FRONT if t not in sheet.standing)


def band_of(total: Decimal) -> str:
    """The published word for a sum of displacements in mm."""
    return BANDS[int(SUM.points(total))]


@lru_cache
def components(choices: tuple[tuple[str, str], ...], edition: str) -> tuple[Component, ...]:
    """The one row; there is one edition and nothing to choose."""
    return (Displacements(),)
