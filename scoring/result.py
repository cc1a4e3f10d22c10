"""A score as everybody reads it: total, categories, lines in words, verdicts; and its JSON form."""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field
from decimal import Decimal
from typing import NamedTuple

from portfolio.finding_sheet import Finding
from scoring.hits import Convention, Missing
from scoring.shapes import Step, plain

Json = str | int | bool | None | Sequence["Json"] | Mapping[str, "Json"]


class Line(NamedTuple):
    """One line of an explained score; `raw` is before weighting and before any rival beat it."""

    category: str
    site: str
    findings: tuple[Finding, ...]
    rule: str
    raw: Decimal
    points: Decimal
    source: str
    certainty: str
    next_step: Step | None
    previous_step: Step | None
    beaten_by: str

    def as_dict(self) -> dict[str, object]:
        """The line as the command line prints it."""
        shown: dict[str, object] = {
            "category": self.category,
            "site": self.site,
            "findings": [
                {"quantity": f.quantity, "site": f.site, "value": f.value}
                | ({"plane": f.plane} if f.plane else {})
                for f in self.findings
            ],
            "rule": self.rule,
            "raw": plain(self.raw),
            "points": plain(self.points),
            "source": self.source,
            "certainty": self.certainty,
            "next_step": _step_dict(self.next_step),
            "previous_step": _step_dict(self.previous_step),
        }
        if self.beaten_by:
            shown["beaten_by"] = self.beaten_by
        return shown


def _step_dict(step: Step | None) -> dict[str, str] | None:
    return None if step is None else {"at": step.at, "points": plain(step.points), "distance": step.distance}


class Verdict(NamedTuple):
    """A published judgement on a total."""

    key: str
    says: str
    source: str


class OtherTotal(NamedTuple):
    """The total under one other rule choice, all else as it is; `instead` where an index has no total."""

    choice: str
    total: Decimal | None
    instead: Mapping[str, Json] | None = None

    def as_dict(self) -> dict[str, Json]:
        if self.instead is not None:
            return {"choice": self.choice, **self.instead}
        return {"choice": self.choice, "total": None if self.total is None else plain(self.total)}


@dataclass(frozen=True, slots=True)
class Score:
    """A total with everything it is made of.  `total` is a floor where `complete` is false."""

    index: str
    edition: str
    total: Decimal | None
    complete: bool
    missing: tuple[Missing, ...]
    categories: dict[str, Decimal | None]
    lines: tuple[Line, ...]
    choices: dict[str, str]
    other_totals: tuple[OtherTotal, ...]
    conventions: tuple[Convention, ...]
    verdicts: tuple[Verdict, ...] = ()
    outside: str = ""
    extra: Mapping[str, Json] = field(default_factory=dict)
    """What only this index prints, such as a grade or the totals by every set of weights."""

    def as_dict(self, sheet_name: str) -> dict[str, object]:
        """The score as the command line prints it; numbers are plain text without trailing zeros."""
        shown: dict[str, object] = {
            "sheet": sheet_name,
            "index": self.index,
            "edition": self.edition,
            "total": None if self.total is None else plain(self.total),
            "complete": self.complete,
            "missing": [
                {"quantity": m.quantity, "sites": list(m.sites), "category": m.category}
                | ({"plane": m.plane} if m.plane else {})
                for m in self.missing
            ],
            "categories": {k: None if v is None else plain(v) for k, v in self.categories.items()},
            "lines": [line.as_dict() for line in self.lines],
            "choices": self.choices,
            "other_totals": [o.as_dict() for o in self.other_totals],
            "conventions": [c._asdict() for c in self.conventions],
            "verdicts": [v._asdict() for v in self.verdicts],
            **self.extra,
        }
        if self.outside:
            shown["outside"] = self.outside
        return shown
