"""What each line of a score would be under the other readings of the rule choices."""

from collections.abc import Mapping
from decimal import Decimal
from typing import NamedTuple

from portfolio.finding_sheet import Sheet
from scoring import kernel
from scoring.index import Index
from scoring.line_names import LineName, form_order, line_names
from scoring.result import Score


class OtherLine(NamedTuple):
    """One other reading that changes a line; `points` is None where the line would not stand."""

    choice: str
    value: str
    points: Decimal | None


def under_other_readings(
    index: Index, sheet: Sheet, score: Score
) -> Mapping[LineName, tuple[OtherLine, ...]]:
    """Line → the readings not in force that change its points or its rule, in the order of the choices.

    Choices whose other readings are not compared (they ask for other measurements) are left out.
    """
    before = dict(zip(line_names(form_order(score)), form_order(score), strict=True))
    found: dict[LineName, tuple[OtherLine, ...]] = {}
    for choice in index.choices:
        for value in choice.values if choice.alternative else ():
            if value == score.choices[choice.id]:
                continue
            other = kernel.score(index, sheet, score.edition, {**score.choices, choice.id: value}, "lines")
            lines = form_order(other)
            after = dict(zip(line_names(lines), lines, strict=True))
            for name, line in before.items():
                then = after.get(name)
                if then is None or (then.points, then.rule) != (line.points, line.rule):
                    points = None if then is None else then.points
                    found[name] = (*found.get(name, ()), OtherLine(choice.id, value, points))
    return found
