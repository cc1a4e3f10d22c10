"""Each line of a score by a name of its own, which stays while values change.  Pure."""

from collections import Counter
from collections.abc import Sequence

from scoring.result import Line, Score

LineName = tuple[str, str, int]
"""Category, site, and which of the lines there, from 1."""


def form_order(score: Score) -> tuple[Line, ...]:
    """Every line once: by the rows of the form, then those that name none, such as letters of a grade."""
    rows = {key: place for place, key in enumerate(score.categories)}
    return tuple(sorted(score.lines, key=lambda line: rows.get(line.category, len(rows))))


def line_names(lines: Sequence[Line]) -> tuple[LineName, ...]:
    """Names that stay while values change: category, site, and a number where one site has several lines."""
    seen: Counter[tuple[str, str]] = Counter()
    names = []
    for line in lines:
        seen[line.category, line.site] += 1
        names.append((line.category, line.site, seen[line.category, line.site]))
    return tuple(names)


def line_anchor(name: LineName) -> str:
    """`p-overbite-13`; a second line at one site is `p-overbite-13-2`."""
    category, site, nth = name
    return f"p-{category}-{site.replace('.', '_')}" + (f"-{nth}" if nth > 1 else "")


def anchors_by_place(score: Score) -> dict[tuple[str, str], str]:
    """Quantity and site of each finding that a line names → the anchor of the first such line that scores, else of any."""
    lines = form_order(score)
    named = sorted(zip(line_names(lines), lines, strict=True), key=lambda one: not one[1].points)
    found: dict[tuple[str, str], str] = {}
    for name, line in named:
        for finding in line.findings:
            found.setdefault((finding.quantity, finding.site), line_anchor(name))
    return found
