"""The two ratios of tooth widths: lower arch as a share of the upper one, in per cent.

Means and deviations: Bolton 1962 as quoted (read), first published in Bolton, Angle Orthod 1958;28:113-130.
Limits of the verdicts: Othman and Harradine, Angle Orthod 2007;77:668-674 (abstract read).
Open readings: `reading.md`.
"""

from collections.abc import Iterable, Iterator
from dataclasses import dataclass
from decimal import Decimal
from functools import lru_cache
from typing import NamedTuple

from portfolio import teeth
from portfolio.finding_sheet import Sheet
from portfolio.sources import cite
from scoring.hits import Ask, Component, Convention, Hit, Missing, Tally
from scoring.shapes import ZERO, Cited, Said

PUBLISHED = Cited("tooth_size_1962", "read")
SETTLED = Cited("tooth_size_settled", "practice")
HUNDRED = Decimal(100)
MOST_DEVIATIONS = Decimal(2)
"""Beyond this many standard deviations of the published mean a ratio is flagged."""
MOST_EXCESS_MM = Decimal(2)
"""Over this excess, in the arch it is given for, a ratio is flagged."""

ADDED = Said("greatest mesiodistal width, added to those of its arch", PUBLISHED)
NOT_THERE = Said("the tooth is missing: this ratio needs every tooth of both arches and is not told", SETTLED)


class Excess(NamedTuple):
    """How much one arch is too wide for the other, which is taken as right: millimetres, 0 or more."""

    arch: teeth.Arch
    millimetres: Decimal


@dataclass(frozen=True)
class Ratio:
    """One published ratio: 100 × sum of the lower widths / sum of the upper widths."""

    key: str
    label: str
    last: int
    """Number of the last tooth on each side: 6 or 3."""
    mean: Decimal
    deviation: Decimal

    @property
    def places(self) -> tuple[str, ...]:
        """The teeth, upper then lower, from the patient's right to left."""
        return tuple(t for t in teeth.PERMANENT if teeth.number(t) <= self.last)

    def percent(self, upper: Decimal, lower: Decimal) -> Decimal:
        """The ratio of two sums in mm, unrounded."""
        return HUNDRED * lower / upper

    def excess(self, upper: Decimal, lower: Decimal) -> Excess:
        """Above the mean the lower arch is too wide, below it the upper; at the mean the lower by 0."""
        if self.percent(upper, lower) >= self.mean:
            return Excess("lower", lower - upper * self.mean / HUNDRED)
        return Excess("upper", upper - lower * HUNDRED / self.mean)

    def lack(self, upper: Decimal, lower: Decimal) -> Excess:
        """The same discrepancy named as what the other arch lacks; its millimetres differ from the excess."""
        if self.percent(upper, lower) >= self.mean:
            return Excess("upper", lower * HUNDRED / self.mean - upper)
        return Excess("lower", upper * self.mean / HUNDRED - lower)


OVERALL = Ratio("overall", "overall ratio, first molar to first molar", 6, Decimal("91.3"), Decimal("1.91"))
ANTERIOR = Ratio("anterior", "anterior ratio, canine to canine", 3, Decimal("77.2"), Decimal("1.65"))
RATIOS = {ratio.key: ratio for ratio in (OVERALL, ANTERIOR)}


@dataclass(frozen=True)
class Widths:
    """The widths of one ratio, a hit each; its points are millimetres.

    `may_be_left`: a missing tooth behind the canines leaves this ratio out, with the reason among the
    conventions, and nothing else is wanted for it.
    """

    ratio: Ratio
    may_be_left: bool
    added: Said = ADDED
    not_there: Said = NOT_THERE

    @property
    def category(self) -> str:
        return self.ratio.key

    def tally(self, sheet: Sheet) -> Tally:
        tally = Tally()
        widths = sheet.by_quantity.get("tooth_width", {})
        gone = sheet.missing_teeth
        for tooth in self.ratio.places:
            if tooth in gone:
                named = sheet.at("missing", tooth)
                assert named is not None
                tally.hits.append(Hit(tooth, (named,), self.not_there, None, ZERO, counts=False))
            elif tooth in widths:
                finding = widths[tooth]
                tally.hits.append(Hit(tooth, (finding,), self.added, None, finding.number))
        if self.left_out(sheet):
            tally.conventions += (self._said(t) for t in self.ratio.places if t in gone)
        else:
            lacking = tuple(t for t in self.ratio.places if t not in widths or t in gone)
            if lacking:
                tally.missing.append(Missing("tooth_width", lacking, self.category))
        return tally

    def left_out(self, sheet: Sheet) -> bool:
        """Whether the ratio cannot be told although every tooth in front stands."""
        gone = [t for t in self.ratio.places if t in sheet.missing_teeth]
        return self.may_be_left and bool(gone) and all(teeth.is_posterior(t) for t in gone)

    def _said(self, tooth: str) -> Convention:
        taken_as = "anterior ratio only: the overall ratio needs all twelve teeth of each arch"
        return Convention("missing", tooth, taken_as, cite(self.not_there.cited.source))

    def asks(self, sheet: Sheet) -> Iterator[Ask]:
        if not self.left_out(sheet):
            yield Ask("tooth_width", tuple(t for t in self.ratio.places if t not in sheet.missing_teeth))


@lru_cache
def components(choices: tuple[tuple[str, str], ...], edition: str) -> tuple[Component, ...]:
    """Both ratios; there is one edition and nothing to choose."""
    return (Widths(OVERALL, may_be_left=True), Widths(ANTERIOR, may_be_left=False))


def sums(ratio: Ratio, hits: Iterable[Hit]) -> tuple[Decimal, Decimal] | None:
    """The upper and the lower sum in mm, or None unless every width is there."""
    added = [h for h in hits if h.counts]
    if len(added) < len(ratio.places):
        return None
    upper = sum((h.raw for h in added if teeth.arch(h.site) == "upper"), ZERO)
    return upper, sum((h.raw for h in added), ZERO) - upper
