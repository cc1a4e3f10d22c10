"""What a row looks at on a sheet, so that sheets that look alike to it are worked out together.  Pure.

A kind of row that nobody has described here takes its whole index the way of one sheet after the other.
"""

from collections.abc import Hashable
from dataclasses import dataclass
from functools import singledispatch
from typing import Any

from portfolio import sites, teeth
from portfolio.finding_sheet import Finding, Sheet
from scoring.components import EachTooth, Marked, SingleCode, SingleNumber, WorstSite, WorstTooth
from scoring.indices.discrepancy.conditions import (
    AddedComplexity,
    BlockedCanines,
    ExtraToothOnce,
    Gaps,
    MissingTeeth,
    MolarRelation,
    SuccessorOnce,
    contacts_to_second_molars,
)
from scoring.uncertainty.rows import scored_places

STANDING = frozenset(
    (
        "missing",
        "eruption",
        "impacted",
        "retained_primary",
        "submerged",
        "transposed",
        "blocked_out",
        "molar_substitute",
    )
)
"""Quantities that tell which teeth stand and count."""


@dataclass(frozen=True)
class Reads:
    """Quantities of which a row reads any finding.

    `only_errors`: which parts there are does not hang on the size of a number, only the chances of its pieces do;
    `codes_too`: nor on a code.
    """

    quantities: tuple[str, ...]
    only_errors: bool = True
    codes_too: bool = False


@singledispatch
def reads_of(row: Any) -> Reads | None:
    """What a row reads; None for a kind that is not described."""
    return None


@singledispatch
def seen_of_teeth(row: Any, sheet: Sheet) -> Hashable:
    """What a row sees of the mouth beside the findings of its own quantities."""
    return ()


def tells_teeth(finding: Finding) -> bool:
    """Whether a finding may say which teeth stand: third molars do by being mentioned."""
    return finding.quantity in STANDING or any(
        tooth in teeth.THIRD_MOLARS for tooth in sites.teeth_of(finding.site)
    )


@reads_of.register
def _each_tooth(row: EachTooth) -> Reads:
    return Reads((row.quantity,), codes_too=True)


@reads_of.register
def _worst_tooth(row: WorstTooth) -> Reads:
    return Reads((row.quantity, *(quantity for quantity, _ in row.rivals)), codes_too=True)


@seen_of_teeth.register(EachTooth)
@seen_of_teeth.register(WorstTooth)
def _scored(row: EachTooth | WorstTooth, sheet: Sheet) -> Hashable:
    return tuple(scored_places(row, sheet))


@reads_of.register
def _worst_site(row: WorstSite) -> Reads:
    return Reads(tuple(dict.fromkeys(quantity for quantity, _ in row.readings)))


@reads_of.register
def _single_number(row: SingleNumber) -> Reads:
    return Reads((row.quantity,))


@reads_of.register
def _single_code(row: SingleCode) -> Reads:
    return Reads((row.quantity,))


@reads_of.register
def _marked(row: Marked) -> Reads | None:
    if row.read_as is None:
        return Reads((row.quantity,))
    if isinstance(row.read_as, ExtraToothOnce):
        return Reads((row.quantity, "supernumerary"))
    return Reads((row.quantity, "missing")) if isinstance(row.read_as, SuccessorOnce) else None


@reads_of.register
def _molars(row: MolarRelation) -> Reads:
    return Reads(("molar_relation", "molar_beyond"))


@reads_of.register
def _missing(row: MissingTeeth) -> Reads:
    if row.closed_scores_nothing:
        return Reads(("missing", "gap"), only_errors=False)
    return Reads(("missing",))


@seen_of_teeth.register
def _around_missing(row: MissingTeeth, sheet: Sheet) -> Hashable:
    closing = tuple(sorted(sheet.rounds.items())) if row.closed_scores_nothing else ()
    return sheet.standing, closing


@reads_of.register
def _gaps(row: Gaps) -> Reads:
    return Reads(("gap",))


@seen_of_teeth.register
def _contacts(row: Gaps, sheet: Sheet) -> Hashable:
    return tuple(tuple(contacts_to_second_molars(sheet, arch)) for arch in ("upper", "lower"))


@reads_of.register
def _blocked(row: BlockedCanines) -> Reads:
    return Reads(("impacted", "blocked_out"))


@reads_of.register
def _added(row: AddedComplexity) -> Reads:
    return Reads(("added_complexity",))
