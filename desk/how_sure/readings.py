"""Every reading of a sheet's numbers: the recorded ones and those of its counted repeats."""

from collections.abc import Mapping
from dataclasses import dataclass
from decimal import Decimal

from portfolio.finding_sheet import Finding
from portfolio.finding_sheet import Sheet as SheetReading
from portfolio.models import Sheet
from portfolio.repeating.pairs import method_of
from portfolio.repeating.selectors import counted
from portfolio.selectors import readings_of
from portfolio.vocabulary import QUANTITIES

Place = tuple[str, str]


@dataclass(frozen=True, slots=True)
class Readings:
    """All readings by place where there are several, and how many repeats they come from."""

    by_place: Mapping[Place, tuple[Decimal, ...]]
    repeats: int


def all_readings(row: Sheet, recorded: SheetReading) -> Readings:
    """The recorded number first, then that of each counted repeat in order; none is dropped.

    Places that only one sheet has a number for are left out, and so are numbers taken to another plane or by another
    method, which are no repeats of one measurement.
    """
    repeats = [one.sheet for one in counted(row.reader) if one.first_id == row.pk]
    read = readings_of(repeats)
    sheets = [read[one.pk] for one in repeats]
    found: dict[Place, tuple[Decimal, ...]] = {}
    for finding in recorded.findings:
        if finding.nth != 1 or not _is_number(finding):
            continue
        place = (finding.quantity, finding.site)
        again = [other for sheet in sheets if (other := sheet.at(*place)) and _same(finding, other)]
        if again:
            found[place] = (Decimal(finding.value), *(Decimal(other.value) for other in again))
    return Readings(found, len(sheets))


def _is_number(finding: Finding) -> bool:
    return QUANTITIES[finding.quantity].kind == "number" and finding.value not in (
        "none",
        "rest_none",
        "unknown",
    )


def _same(finding: Finding, other: Finding) -> bool:
    return _is_number(other) and (method_of(finding), finding.plane) == (method_of(other), other.plane)
