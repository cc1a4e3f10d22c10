"""Improvement by PAR: points, per cent, the published verdicts and the zones of the published chart.

Source: Richmond et al., Eur J Orthod 1992;14:180-187 (abstract read): improved from 30 % less, greatly
improved from a change of 22 points.  The verdicts hold for the weights of 1992 only.
"""

from dataclasses import dataclass
from decimal import Decimal
from typing import Literal

from portfolio.sources import cite

WEIGHTS_OF_VERDICTS = "uk1992"
IMPROVED_PERCENT = Decimal(30)
GREATLY_POINTS = Decimal(22)
SOURCE = cite("par_outcome_1992")
HUNDRED = Decimal(100)

ParVerdict = Literal["greatly_improved", "improved", "worse_or_no_different", "undefined"]
VERDICT_WORDS: dict[ParVerdict, str] = {
    "greatly_improved": "greatly improved",
    "improved": "improved",
    "worse_or_no_different": "worse or no different",
    "undefined": "not defined: nothing was wrong before",
}


@dataclass(frozen=True, slots=True)
class ParChange:
    """The change of a total.  `points` is before less after, so more is better; `percent` of the total before.

    `percent` is exact and None where nothing was wrong before.
    """

    before: Decimal
    after: Decimal
    points: Decimal
    percent: Decimal | None
    verdict: ParVerdict
    can_be_greatly_improved: bool
    """Whether the case began with 22 points or more; one that did not can never reach that verdict."""

    @property
    def words(self) -> str:
        return VERDICT_WORDS[self.verdict]


def par_change(before: Decimal, after: Decimal) -> ParChange:
    """Points, per cent and verdict for two totals of 0 or more by the weights of 1992.

    A change of exactly 22 points counts as greatly improved (the abstract says "of 22"; one slide text has
    "over 22").  From 74 points on a fall of 22 is under 30 %: both are asked for, so it is not improved.
    """
    points = before - after
    can_be = before >= GREATLY_POINTS
    if not before:
        verdict: ParVerdict = "undefined" if not after else "worse_or_no_different"
        return ParChange(before, after, points, None, verdict, can_be)
    # points / before >= 30 %, without a division
    if points * HUNDRED < IMPROVED_PERCENT * before:
        verdict = "worse_or_no_different"
    else:
        verdict = "greatly_improved" if points >= GREATLY_POINTS else "improved"
    return ParChange(before, after, points, points * HUNDRED / before, verdict, can_be)


def improved_up_to(before: Decimal) -> Decimal:
    """The greatest total after treatment that still is improved: the upper line of the chart."""
    return before * (HUNDRED - IMPROVED_PERCENT) / HUNDRED


def greatly_improved_up_to(before: Decimal) -> Decimal | None:
    """The greatest total after treatment that still is greatly improved: the lower line; None under 22."""
    return min(before - GREATLY_POINTS, improved_up_to(before)) if before >= GREATLY_POINTS else None
