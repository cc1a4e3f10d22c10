"""Rows that several forms share: how deep or open the bite is in front, and how each side meshes."""

from collections.abc import Iterable, Iterator
from dataclasses import dataclass
from decimal import Decimal

from portfolio import sites, teeth
from portfolio.finding_sheet import Finding, Sheet
from scoring.components import REST_LOOKED_AT, standing_teeth
from scoring.hits import Ask, Hit, Missing, Tally
from scoring.shapes import ZERO, Choice, Rule

INTERDIGITATION_LABELS = (
    ("fitted", "good, whatever the class"),
    ("off", "less than half a unit off"),
    ("cusp_to_cusp", "cusp to cusp"),
)


@dataclass(frozen=True)
class OverbitePart:
    """Cover of the lower incisors and open bite share one part, of which the higher counts.

    `cover` reads per cent of the whole mouth, `opening` the overbite of each upper incisor in mm,
    where minus is open.  Recorded must be the cover, or the overbite of all upper incisors of which
    one is open.
    """

    category: str
    cover: Rule
    opening: Rule
    unprinted: Rule | None = None
    """The same points under our own name, for bands of the opening that print leaves out."""

    def tally(self, sheet: Sheet) -> Tally:
        tally = Tally()
        cover = sheet.at("overbite_cover", "mouth")
        front, lacking = self._overbites(sheet)
        hits = [] if cover is None else [_hit(cover, self.cover)]
        opened = [_hit(finding, self._opening_for(finding)) for finding in front]
        best = max((*hits, *sorted(opened, key=_widest_first)), key=lambda h: h.raw, default=None)
        tally.hits = [h if h is best else h._replace(beaten_by=_named(best)) for h in (*hits, *opened)]
        for finding in sheet.statements("overbite"):
            tally.hits.append(Hit(finding.site, (finding,), REST_LOOKED_AT, None, ZERO))
        if cover is None:
            if not any(f.number < 0 for f in front):
                tally.missing.append(Missing("overbite_cover", ("mouth",), self.category))
            elif lacking:
                tally.missing.append(Missing("overbite", lacking, self.category))
        return tally

    def _opening_for(self, finding: Finding) -> Rule:
        own = self.unprinted
        return (
            own if own is not None and self.opening.certainty(finding.number) == "practice" else self.opening
        )

    def _overbites(self, sheet: Sheet) -> tuple[list[Finding], tuple[str, ...]]:
        """Overbites of the upper incisors, and the incisors about which nothing is said."""
        found: list[Finding] = []
        lacking: list[str] = []
        for tooth in standing_teeth(sheet, teeth.UPPER_INCISORS):
            finding = sheet.at("overbite", tooth)
            if finding is not None:
                found.append(finding)
            elif sheet.statement_over("overbite", tooth) is None:
                lacking.append(tooth)
        return found, tuple(lacking)

    def asks(self, sheet: Sheet) -> Iterator[Ask]:
        incisors = tuple(standing_teeth(sheet, teeth.UPPER_INCISORS))
        by_opening = sheet.at("overbite_cover", "mouth") is None and any(
            f.number < 0 for f in self._overbites(sheet)[0]
        )
        yield Ask("overbite_cover", ("mouth",), needed=not by_opening)
        yield Ask("overbite", incisors, needed=by_opening)


def _hit(finding: Finding, rule: Rule) -> Hit:
    return Hit(finding.site, (finding,), rule, finding.number, rule.points(finding.number))


def _widest_first(hit: Hit) -> tuple[Decimal, tuple[int, int]]:
    return hit.findings[0].number, teeth.nearest_midline_first(hit.site)


def _named(winner: Hit | None) -> str:
    return "" if winner is None else f"{winner.findings[0].quantity} {winner.site}"


@dataclass(frozen=True)
class Interdigitation:
    """How well the teeth behind the canine mesh, each side for itself, summed."""

    category: str
    rule: Choice

    def tally(self, sheet: Sheet) -> Tally:
        tally = Tally()
        for side in sites.SIDES:
            finding = sheet.at("buccal_interdigitation", side)
            if finding is not None:
                points = self.rule.points(finding.value)
                tally.hits.append(Hit(side, (finding,), self.rule, finding.value, points))
            elif _meets(sheet, side):
                tally.missing.append(Missing("buccal_interdigitation", (side,), self.category))
        return tally

    def asks(self, sheet: Sheet) -> Iterator[Ask]:
        yield Ask("buccal_interdigitation", tuple(side for side in sites.SIDES if _meets(sheet, side)))


def _meets(sheet: Sheet, side: str) -> bool:
    """Whether teeth behind the canine stand in both arches of a side."""
    behind = {teeth.arch(t) for t in sheet.standing if teeth.is_posterior(t) and teeth.side(t) == side}
    return len(behind) == 2


def each_side(places: Iterable[str]) -> Iterator[tuple[str, tuple[str, ...]]]:
    """Right and left with those of the places that lie there."""
    listed = tuple(places)
    for side in sites.SIDES:
        yield side, tuple(p for p in listed if teeth.side(p) == side)


def say_nothing_of(sheet: Sheet, quantity: str, wanted: Iterable[str]) -> tuple[str, ...]:
    """Teeth of which neither a value nor a statement speaks."""
    found = sheet.by_quantity.get(quantity, {})
    return tuple(t for t in wanted if t not in found and sheet.statement_over(quantity, t) is None)
