"""Hints: what on a sheet is possible but improbable, and deserves a second look; never a refusal.

Pure functions of a sheet and, where there are any, of other sheets of the same case.
"""

from collections.abc import Iterable

from portfolio.finding_sheet import Sheet
from scoring.hints import arches, front, sides, stages, teeth_there
from scoring.hints.hint import Hint

__all__ = ["Hint", "hints"]

ALONE = (*front.CHECKS, *sides.CHECKS, *arches.CHECKS, *teeth_there.CHECKS)
"""Checks of one sheet by itself, in the order round the casts."""


def hints(sheet: Sheet, others: Iterable[Sheet] = (), notation: str = "iso3950") -> tuple[Hint, ...]:
    """Everything improbable on a sheet that was accepted, alone and against `others` of the same case.

    `others` are sheets of other stages, or another examiner's of the same stage.  Teeth in words are in
    the reader's `notation`; `sites` of a hint stay in ISO 3950.
    """
    found = [one for check in ALONE for one in check(sheet, notation)]
    found += [one for other in others for check in stages.CHECKS for one in check(sheet, other, notation)]
    return tuple(found)
