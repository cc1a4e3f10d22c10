"""Limits that a score has to keep, by name: what a plan asks of a total.

`limits_of` is the one place where the page of chances asks for them.
"""

from dataclasses import dataclass
from decimal import Decimal

from plans.selectors.limits import limits_for
from portfolio.access import Asker
from portfolio.models import Sheet


@dataclass(frozen=True, slots=True)
class NamedLimit:
    """A total to be reached or not to be passed, and whose limit it is; one of the two numbers at least."""

    label: str
    at_least: Decimal | None = None
    at_most: Decimal | None = None

    def __post_init__(self) -> None:
        if self.at_least is None and self.at_most is None:
            raise ValueError(f"the limit “{self.label}” names no total")


def limits_of(user: Asker, sheet: Sheet, index: str) -> tuple[NamedLimit, ...]:
    """The limits that the portfolio's plan sets for a visible sheet by an index; none where no plan names any.

    The sheet comes with record set, case, patient and portfolio loaded.
    """
    here = sheet.record_set
    found = limits_for(user, here.case.patient.portfolio, index, here.stage)
    return tuple(NamedLimit(one.label, one.at_least, one.at_most) for one in found)
