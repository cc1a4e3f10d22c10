"""The score beside the fields: total, categories, newest lines and what is missing, in words."""

from collections.abc import Collection
from dataclasses import dataclass
from decimal import Decimal

from desk.measuring.layout import GROUPS, TOOTH_QUANTITIES
from portfolio.quantities.radiograph import PLANE_LABELS
from portfolio.vocabulary import QUANTITIES
from portfolio.wording import site_words, value_words
from scoring.facts import facts, figure
from scoring.hits import Missing
from scoring.index import Index
from scoring.result import Line, Score
from scoring.shapes import plain

GROUP_OF = {
    key: group.key
    for group in GROUPS
    for key in ([plan.quantity for plan in group.plans] if group.plans else TOOTH_QUANTITIES)
}
"""Quantity → the part of the page where it is asked, in the order of the page."""
ORDER_ON_PAGE = {key: number for number, key in enumerate(GROUP_OF)}
SHORT = {
    "discrepancy": "discrepancy",
    "iotn": "need",
    "outcome": "outcome",
    "irregularity": "irregularity",
    "tooth_size": "widths",
    "space": "space",
}
MOST_LINES = 6
MOST_SITES = 6


@dataclass(frozen=True, slots=True)
class CategoryTotal:
    """One row of the form with its points so far; `points` is empty while nothing is recorded."""

    key: str
    label: str
    points: str
    missing: bool


@dataclass(frozen=True, slots=True)
class LiveLine:
    """One line of the score in words."""

    category: str
    site: str
    values: str
    rule: str
    points: str
    beaten: bool


@dataclass(frozen=True, slots=True)
class LiveMissing:
    """Something nobody recorded yet, and the part of the page where it is asked."""

    label: str
    where: str
    group: str
    row: str


@dataclass(frozen=True, slots=True)
class Live:
    """The score as it stands; `figure` is a floor while `complete` is false."""

    index: str
    label: str
    short: str
    """The label in a word or two, for the bar."""
    figure: str
    """The total, or the grade where that stands for it."""
    facts: tuple[str, ...]
    complete: bool
    categories: tuple[CategoryTotal, ...]
    lines: tuple[LiveLine, ...]
    lines_are_new: bool
    missing: tuple[LiveMissing, ...]
    conventions: tuple[str, ...]
    outside: str
    supposed: bool = False


def make_live(
    index: Index,
    score: Score,
    notation: str,
    fresh: Collection[tuple[str, str]] = (),
    *,
    supposed: bool = False,
) -> Live:
    """The live score; `fresh` names the findings just changed, whose lines are shown first."""
    lacking = {m.category for m in score.missing}
    new = [line for line in score.lines if any((f.quantity, f.site) in fresh for f in line.findings)]
    scoring = [line for line in score.lines if line.points]
    # One key can state a dozen quantities free; a list of noughts would say nothing.
    if len(fresh) > 1 and not any(line.points for line in new):
        new = []
    chosen = sorted(new, key=lambda line: not line.points) or scoring
    return Live(
        index=index.key,
        label=index.label,
        short=SHORT.get(index.key, index.label),
        figure=figure(score),
        facts=facts(score, notation),
        complete=score.complete,
        categories=tuple(
            CategoryTotal(key, label, number_words(score.categories.get(key)), key in lacking)
            for key, label in index.categories.items()
        ),
        lines=tuple(_line(index, line, notation) for line in chosen[:MOST_LINES]),
        lines_are_new=bool(new),
        missing=_missing(score.missing, notation),
        conventions=tuple(
            f"{QUANTITIES[c.quantity].label}, {site_words(c.site, notation)}: taken as {c.taken_as}"
            for c in score.conventions
        ),
        outside=score.outside,
        supposed=supposed,
    )


def number_words(points: Decimal | None) -> str:
    """Points without trailing zeros; empty for none."""
    return "" if points is None else plain(points).replace("-", "−")


def _line(index: Index, line: Line, notation: str) -> LiveLine:
    values = ", ".join(
        f"{QUANTITIES[f.quantity].label.lower()} {value_words(f.quantity, f.value)}" for f in line.findings
    )
    return LiveLine(
        category=index.labels.get(line.category, line.category),
        site=site_words(line.site, notation),
        values=values,
        rule=line.rule,
        points=number_words(line.points),
        beaten=bool(line.beaten_by),
    )


def _missing(missing: tuple[Missing, ...], notation: str) -> tuple[LiveMissing, ...]:
    """What is missing, once for each quantity, in the order of the page."""
    sites: dict[str, list[str]] = {}
    planes: dict[str, str] = {}
    lacks: dict[str, str] = {}
    for one in missing:
        known = sites.setdefault(one.quantity, [])
        known += [s for s in one.sites if s not in known]
        if one.plane:
            planes[one.quantity] = one.plane
        if one.lacks:
            lacks[one.quantity] = one.lacks
    return tuple(
        LiveMissing(
            label=QUANTITIES[key].label,
            where=f"taken to {PLANE_LABELS[planes[key]]}"
            if key in planes
            else _where(sites[key], notation) + (f", without {lacks[key]}" if key in lacks else ""),
            group=GROUP_OF.get(key, "other"),
            row=key,
        )
        for key in sorted(sites, key=lambda key: ORDER_ON_PAGE.get(key, len(ORDER_ON_PAGE)))
    )


def _where(sites: list[str], notation: str) -> str:
    named = [site_words(s, notation) for s in sites if s != "mouth"]
    return ", ".join(named) if len(named) <= MOST_SITES else f"{len(named)} places"
