"""Reads a sheet for the measuring page: findings, notation and rule choices of its portfolio."""

from desk.measuring.fields import Stored
from desk.measuring.hinted import ShownHint, show_hints_against
from desk.measuring.page import Measured
from portfolio.models import Sheet
from portfolio.selectors.sheets import other_stages
from portfolio.selectors.standing import standing
from scoring.selectors import ways_of

COMPARED = ("tooth_width", "missing", "anomalous", "crossbite", "molar_relation")
"""Quantities by which hints hold a sheet against those of other stages."""


def against_other_stages(sheet: Sheet, stands: Measured) -> tuple[ShownHint, ...]:
    """What deserves a second look when the sheet is held against the case's other stages; one query."""
    return show_hints_against(stands.sheet, other_stages(sheet, COMPARED), stands.notation)


def measured(sheet: Sheet) -> Measured:
    """A sheet whose record set, case, patient and portfolio are loaded, as the page reads it."""
    found = standing(sheet)
    portfolio = sheet.record_set.case.patient.portfolio
    ways = ways_of([portfolio.pk])[portfolio.pk]
    return Measured(
        sheet=found.sheet,
        stored={
            (f.quantity, f.site, f.nth): Stored(f, found.changed_in[(f.quantity, f.site, f.nth)])
            for f in found.sheet.findings
        },
        notation=portfolio.notation,
        indices=ways.indices(found.sheet),
        choices={key: chosen.values for key, chosen in ways.chosen.items()},
        editions={key: chosen.edition for key, chosen in ways.chosen.items()},
    )
