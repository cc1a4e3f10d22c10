"""What tests of an index read of a score: its sheet from a neutral one, single lines, what is missing."""

from decimal import Decimal

from scoring import registry
from scoring.result import Line, Score
from tests.scoring.sheets import neutral_with


def scored(
    index: str,
    *changes: str,
    edition: str | None = None,
    choices: dict[str, str] | None = None,
    teeth: str = "",
    dentition: str = "permanent",
    stage: str = "initial",
) -> Score:
    """The score of the neutral sheet of an index with changes."""
    sheet = neutral_with(changes, index, teeth=teeth, dentition=dentition, stage=stage)
    return registry.score(index, sheet, edition, choices)


def raw(index: str, category: str, *changes: str, choices: dict[str, str] | None = None) -> Decimal:
    """Points of a category before weighting; the sheet must be complete."""
    score = scored(index, *changes, choices=choices)
    assert score.complete, score.missing
    points = score.categories[category]
    assert points is not None
    return points / registry.index(index).terms(None, {}).weight(category)


def line(score: Score, category: str, site: str, quantity: str = "") -> Line:
    """The one line of a category at a site, of those that read a quantity first."""
    (found,) = [
        x
        for x in score.lines
        if x.category == category and x.site == site and quantity in ("", x.findings[0].quantity)
    ]
    return found


def lacks(score: Score) -> list[str]:
    """What is missing, as `category: quantity sites`."""
    return [f"{m.category}: {m.quantity} {' '.join(m.sites)}" for m in score.missing]
