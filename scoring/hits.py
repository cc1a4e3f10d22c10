"""What a row of a published form finds on a sheet: hits, what is missing, what was taken by convention."""

from collections.abc import Iterable
from dataclasses import dataclass, field
from decimal import Decimal
from typing import NamedTuple, Protocol

from portfolio.finding_sheet import Finding, Sheet
from scoring.shapes import ZERO, Rule, Value


class Hit(NamedTuple):
    """One use of a rule: the findings read, the value they come to, the points before any rival beat them.

    `value` is None where the rule is only said and has no value to step from.
    """

    site: str
    findings: tuple[Finding, ...]
    rule: Rule
    value: Value | None
    raw: Decimal
    beaten_by: str = ""
    counts: bool = True
    """Whether this records anything for its category; a finding that cannot be told does not."""

    @property
    def points(self) -> Decimal:
        return ZERO if self.beaten_by else self.raw


class Missing(NamedTuple):
    """What nobody recorded: a quantity, the sites, the category that waits for it.

    `plane` names the plane of a value that was taken to another one than is read; `lacks` what a value
    comes without, so that it cannot be read.
    """

    quantity: str
    sites: tuple[str, ...]
    category: str
    plane: str = ""
    lacks: str = ""


class Convention(NamedTuple):
    """A published or settled reading that stood in for something that cannot be told."""

    quantity: str
    site: str
    taken_as: str
    source: str


class Ask(NamedTuple):
    """What a measuring page asks for one index: a quantity at sites; not needed = only if there is something."""

    quantity: str
    sites: tuple[str, ...]
    needed: bool = True


@dataclass(slots=True)
class Tally:
    """What one component found on a sheet."""

    hits: list[Hit] = field(default_factory=list)
    missing: list[Missing] = field(default_factory=list)
    conventions: list[Convention] = field(default_factory=list)

    @property
    def points(self) -> Decimal:
        return sum((h.raw for h in self.hits if not h.beaten_by), ZERO)

    @property
    def recorded(self) -> bool:
        return any(h.counts for h in self.hits)


Tallies = list[tuple[str, Tally]]
"""Category and what was found for it, in the order of the form; a category may stand several times."""


class Component(Protocol):
    """One row of the published form."""

    @property
    def category(self) -> str: ...

    def tally(self, sheet: Sheet) -> Tally: ...

    def asks(self, sheet: Sheet) -> Iterable[Ask]: ...


def gathered(missing: Iterable[Missing]) -> tuple[Missing, ...]:
    """One entry for all sites that one category lacks of a quantity."""
    merged: dict[tuple[str, str, str, str], tuple[str, ...]] = {}
    for m in missing:
        key = (m.quantity, m.category, m.plane, m.lacks)
        merged[key] = tuple(dict.fromkeys((*merged.get(key, ()), *m.sites)))
    return tuple(Missing(q, sites, row, plane, lacks) for (q, row, plane, lacks), sites in merged.items())
