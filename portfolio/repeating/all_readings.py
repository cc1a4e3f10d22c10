"""Every reading of a sheet's numbers: the recorded ones and those of its counted repeats."""

from collections.abc import Mapping, Sequence
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
    return together(recorded, repeats_of([row]).get(row.pk, ()))


def repeats_of(rows: Sequence[Sheet]) -> dict[int, tuple[SheetReading, ...]]:
    """Primary key → counted repeats of the sheet as read, for sheets that have any; two queries for each reader and one.

    Sheets come with their readers loaded.
    """
    wanted = {row.pk for row in rows}
    readers = {row.reader_id: row.reader for row in rows}
    repeats = [one for reader in readers.values() for one in counted(reader) if one.first_id in wanted]
    if not repeats:
        return {}
    read = readings_of([one.sheet for one in repeats])
    found: dict[int, tuple[SheetReading, ...]] = {}
    for one in repeats:
        found[one.first_id] = (*found.get(one.first_id, ()), read[one.sheet_id])
    return found


def together(recorded: SheetReading, repeats: Sequence[SheetReading]) -> Readings:
    """The recorded numbers with those of the repeats, place by place."""
    found: dict[Place, tuple[Decimal, ...]] = {}
    for finding in recorded.findings if repeats else ():
        if finding.nth != 1 or not _is_number(finding):
            continue
        place = (finding.quantity, finding.site)
        again = [other for sheet in repeats if (other := sheet.at(*place)) and _same(finding, other)]
        if again:
            found[place] = (Decimal(finding.value), *(Decimal(other.value) for other in again))
    return Readings(found, len(repeats))


def _is_number(finding: Finding) -> bool:
    return QUANTITIES[finding.quantity].kind == "number" and finding.value not in (
        "none",
        "rest_none",
        "unknown",
    )


def _same(finding: Finding, other: Finding) -> bool:
    return _is_number(other) and (method_of(finding), finding.plane) == (method_of(other), other.plane)
