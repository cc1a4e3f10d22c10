"""The spread of a score as the command line prints it, from each finding's own deviation; nothing shared.  Pure."""

from collections.abc import Iterator, Mapping
from typing import Any

from portfolio.finding_sheet import Sheet
from scoring.index import Index
from scoring.shapes import plain
from scoring.uncertainty import BY_FINDING, CannotBeTold, Question, law_of, percent

TOLD_IN_LINES = 12
"""So many of the likeliest totals are told as text."""


def spread_dict(
    index: Index, sheet: Sheet, edition: str | None, choices: Mapping[str, str] | None
) -> dict[str, Any]:
    """`spread` and `spread_categories`: pairs of total and chance to six decimals.

    Where an index has no total, `spread` is None and `spread_refused` says why.
    """
    try:
        law = law_of(index, sheet, BY_FINDING, Question.TRUE_SCORE, edition, choices)
    except CannotBeTold as refused:
        return {"spread": None, "spread_categories": {}, "spread_refused": str(refused)}
    told = {key: law.category(key).printed() for key, points in law.categories.items() if points is not None}
    return {"spread": law.total.printed(), "spread_categories": told}


def spread_lines(
    index: Index, sheet: Sheet, edition: str | None, choices: Mapping[str, str] | None
) -> Iterator[str]:
    """The same in a few lines: range, median, the likeliest totals."""
    try:
        law = law_of(index, sheet, BY_FINDING, Question.TRUE_SCORE, edition, choices)
    except CannotBeTold as refused:
        yield f"  spread: {refused}"
        return
    low, high = law.total.central()
    floor = "" if law.complete else " of what was recorded, so at least"
    yield f"  spread{floor}: 5 to 95 % from {plain(low)} to {plain(high)}, median {plain(law.total.median)}"
    likeliest = sorted(law.total.probabilities.items(), key=lambda pair: -pair[1])[:TOLD_IN_LINES]
    yield "    " + ", ".join(f"{plain(value)}: {percent(chance)}" for value, chance in sorted(likeliest))
    yield from (f"    {said}" for said in law.because)
