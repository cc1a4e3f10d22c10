"""Norms of a portfolio as plain values, for its page and for the page of a tracing."""

from dataclasses import dataclass
from datetime import datetime

from imaging.cephalometry.registry import ANALYSES, MEASURES
from imaging.models import OwnNorm
from imaging.norms.places import (
    Figures,
    Place,
    certainty_words,
    in_force,
    norm_words,
    places_of,
)
from portfolio.models import Portfolio
from portfolio.sources import SOURCES

MEMORY = "ceph_memory"
FIGURES = tuple(Figures.__dataclass_fields__)


@dataclass(frozen=True, slots=True)
class NormLine:
    """One place in a table of norms: what is published, and what counts.

    `source` is empty where it is that of the whole analysis, or memory, which `certainty` says.  `aside`: an own norm was set aside for the published
    one and may come back.
    """

    key: str
    label: str
    group: str
    published: str
    certainty: str
    source: str
    note: str
    own: str
    own_source: str
    own_by: str
    own_at: datetime | None
    aside: bool
    version: int


@dataclass(frozen=True, slots=True)
class NormTable:
    """All places of an analysis."""

    key: str
    label: str
    source: str
    lines: tuple[NormLine, ...]

    @property
    def own_count(self) -> int:
        return sum(bool(line.own) and not line.aside for line in self.lines)


def own_norms(portfolio: Portfolio) -> dict[Place, Figures]:
    """The own norms of a portfolio that count."""
    return {_place(row): _figures(row) for row in OwnNorm.objects.filter(portfolio=portfolio, in_force=True)}


def stored_figures(portfolio: Portfolio, place: Place) -> tuple[Figures, int] | None:
    """The own norm at a place with its version, whether it counts or was set aside."""
    row = _row(portfolio, place)
    return (_figures(row), row.version) if row else None


def _row(portfolio: Portfolio, place: Place) -> OwnNorm | None:
    rows = OwnNorm.objects.filter(
        portfolio=portfolio, analysis=place.analysis, measure=place.measure, nth=place.nth
    )
    return rows.select_related("by").first()


def _figures(row: OwnNorm) -> Figures:
    return Figures(**{name: getattr(row, name) for name in FIGURES})


def norm_tables(portfolio: Portfolio) -> tuple[NormTable, ...]:
    """Every norm by analysis, with what the portfolio has put in its place; one query."""
    rows = {_place(row): row for row in OwnNorm.objects.filter(portfolio=portfolio).select_related("by")}
    return tuple(
        NormTable(
            analysis.key,
            analysis.label,
            str(SOURCES[analysis.source]),
            tuple(_line(place, rows.get(place), analysis.source) for place in places_of(analysis.key)),
        )
        for analysis in ANALYSES.values()
    )


def norm_line(portfolio: Portfolio, place: Place) -> NormLine:
    """One place of a table of norms."""
    return _line(place, _row(portfolio, place), "")


def _place(row: OwnNorm) -> Place:
    return Place(row.analysis, row.measure, row.nth)


def _line(place: Place, row: OwnNorm | None, usual: str) -> NormLine:
    figures = _figures(row) if row else None
    found = in_force(place, {place: figures} if figures else {})
    published = found.published
    group = figures.group if figures and row and row.in_force else published.group if published else ""
    return NormLine(
        key=place.key,
        label=MEASURES[place.measure].label,
        group=group,
        published=norm_words(published),
        certainty=certainty_words(published),
        source=str(SOURCES[published.source])
        if published and published.source not in (usual, MEMORY)
        else "",
        note=published.note if published else "",
        own=norm_words(found.norm) if figures else "",
        own_source=figures.source if figures else "",
        own_by=str(row.by) if row else "",
        own_at=row.at if row else None,
        aside=row is not None and not row.in_force,
        version=row.version if row else 0,
    )
