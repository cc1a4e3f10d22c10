"""Need, complexity, outcome and improvement by ICON.

Source: Daniels and Richmond, J Orthod 2000;27:149-162; the limits from memory, the cut-off of need read in
Torkan et al. 2015.  Totals are whole numbers.
"""

from dataclasses import dataclass
from decimal import Decimal

from portfolio.sources import cite

SOURCE = cite("icon_2000_rules")
NEED_OVER = Decimal(43)
ACCEPTABLE_UNDER = Decimal(31)
COMPLEXITY: tuple[tuple[Decimal, str], ...] = (
    (Decimal(28), "easy"),
    (Decimal(50), "mild"),
    (Decimal(63), "moderate"),
    (Decimal(77), "difficult"),
)
"""Greatest total of each class; over the last it is very difficult."""


@dataclass(frozen=True, slots=True)
class IconChange:
    """What a total before and one after treatment come to; `score` is before less four times after."""

    before: Decimal
    after: Decimal
    needed: bool
    complexity: str
    acceptable: bool
    score: Decimal
    improvement: str


def complexity(before: Decimal) -> str:
    """The class of complexity of a total before treatment."""
    return next((words for most, words in COMPLEXITY if before <= most), "very difficult")


def improvement(score: Decimal) -> str:
    """Words for an improvement score: over −1 greatly, −25 to −1 substantially, −53 to −26 moderately,
    −85 to −54 minimally, under −85 not improved or worse."""
    if score < Decimal(-85):
        return "not improved or worse"
    if score < Decimal(-53):
        return "minimally improved"
    if score < Decimal(-25):
        return "moderately improved"
    return "substantially improved" if score <= Decimal(-1) else "greatly improved"


def icon_change(before: Decimal, after: Decimal) -> IconChange:
    """Every published judgement on two totals."""
    score = before - 4 * after
    return IconChange(
        before=before,
        after=after,
        needed=before > NEED_OVER,
        complexity=complexity(before),
        acceptable=after < ACCEPTABLE_UNDER,
        score=score,
        improvement=improvement(score),
    )
