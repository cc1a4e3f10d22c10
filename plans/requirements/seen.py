"""What a sheet says about sites, three ways: seen there, seen not to be there, nobody looked.  Pure.

Teeth that are missing, unerupted, partly erupted or blocked out are left out of overjet, overbite and open bites,
as the discrepancy index leaves them out (`di_worksheet`).
"""

from collections.abc import Iterable
from dataclasses import dataclass
from decimal import Decimal

from plans.answers import State
from portfolio.errors import error_of
from portfolio.finding_sheet import Finding, Sheet

ZERO = Decimal(0)


@dataclass(frozen=True, slots=True)
class Seen:
    """One number at one site: `finding` is the value or the statement that tells it, None where nobody looked.

    `rest` is set where the site is covered by a statement about a region: nothing there, and for overjet and
    overbite no more than the greatest listed.
    """

    site: str
    finding: Finding | None
    rest: bool = False

    @property
    def number(self) -> Decimal | None:
        """The value; 0 under a statement; None where nobody looked."""
        if self.finding is None:
            return None
        return ZERO if self.rest or self.finding.value == "none" else self.finding.number

    @property
    def sd(self) -> float:
        """One standard deviation of the value; 0 for what was seen not to be there."""
        return 0.0 if self.finding is None or self.rest else error_of(self.finding).sd


def looked_at(sheet: Sheet, quantity: str, site: str) -> Seen:
    """What is recorded of a quantity at a site, by itself or by a statement about a region."""
    found = sheet.at(quantity, site)
    if found is not None:
        return Seen(site, found, found.is_statement)
    stated = sheet.statement_over(quantity, site)
    return Seen(site, stated, stated is not None)


def front_and_behind(sheet: Sheet, quantity: str, places: Iterable[str]) -> tuple[Seen, ...]:
    """A bite at the teeth that hold these places, as far as they count; see the head of this file."""
    held = (sheet.holder(place) for place in places)
    left_out = sheet.partly_erupted | sheet.blocked_out
    counted = tuple(tooth for tooth in held if tooth and tooth not in left_out)
    return tuple(looked_at(sheet, quantity, tooth) for tooth in counted)


def count_state(shown: int, unseen: int, wanted: int) -> State:
    """Whether at least so many sites show something, of which some were not looked at."""
    if shown >= wanted:
        return "met"
    return "unknown" if shown + unseen >= wanted else "not_met"


def chance_of_at_least(wanted: int, chances: Iterable[float]) -> float:
    """P(at least so many hold), each independent of the others (Poisson binomial law)."""
    law = [1.0]
    for chance in chances:
        law = [
            (law[k] if k < len(law) else 0.0) * (1 - chance) + (law[k - 1] * chance if k else 0.0)
            for k in range(len(law) + 1)
        ]
    return min(sum(law[wanted:]), 1.0)
