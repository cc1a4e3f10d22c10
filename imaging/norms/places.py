"""Where norms stand, what is published there, and what counts when a portfolio has a norm of its own.  Pure.

A place is a measure in an analysis, numbered where the analysis gives several norms for it (adults and children,
women and men).  A measure without a published norm has one place all the same.
"""

from collections.abc import Mapping
from dataclasses import dataclass
from decimal import ROUND_HALF_UP, Decimal
from functools import cache

from imaging.cephalometry.measure import Norm
from imaging.cephalometry.registry import ANALYSES, MEASURES
from portfolio.sources import SOURCES

GROWTH_BEGINS_MONTHS = 3 * 12
GROWTH_ENDS_MONTHS = 16 * 12
"""Between these ages a norm that moves with age is told for the patient's age (choice, no source)."""
UNIT_WORDS = {"deg": "°", "mm": " mm", "%": " %", "": ""}
CERTAINTY_WORDS = {
    "read": "read",
    "memory": "from memory",
    "derived": "derived",
    "practice": "common practice, no source",
}


@dataclass(frozen=True, slots=True)
class Place:
    """A measure in an analysis, and which of its norms, from 1."""

    analysis: str
    measure: str
    nth: int = 1

    @property
    def key(self) -> str:
        """As an address names it: `steiner-sna-1`."""
        return f"{self.analysis}-{self.measure}-{self.nth}"


@dataclass(frozen=True, slots=True)
class Figures:
    """A portfolio's own norm: decimal texts in the measure's unit, empty where it gives none, and its source line."""

    value: str = ""
    sd: str = ""
    low: str = ""
    high: str = ""
    group: str = ""
    age_years: int | None = None
    per_year: str = ""
    source: str = ""


@dataclass(frozen=True, slots=True)
class InForce:
    """The norm that counts at a place: the portfolio's own, else the published one; None where there is neither."""

    place: Place
    norm: Norm | None
    source: str
    own: bool
    published: Norm | None


@cache
def places_of(analysis: str) -> tuple[Place, ...]:
    """The places of an analysis: its own measures in their order, then those it only has norms for."""
    known = ANALYSES[analysis]
    keys = dict.fromkeys([*(one.key for one in known.measures), *(norm.measure for norm in known.norms)])
    return tuple(
        Place(analysis, key, nth)
        for key in keys
        for nth in range(1, max(1, sum(norm.measure == key for norm in known.norms)) + 1)
    )


@cache
def every_place() -> Mapping[str, Place]:
    """All places by their key."""
    return {place.key: place for analysis in ANALYSES for place in places_of(analysis)}


def published_at(place: Place) -> Norm | None:
    """What the analysis publishes at a place."""
    norms = [norm for norm in ANALYSES[place.analysis].norms if norm.measure == place.measure]
    return norms[place.nth - 1] if place.nth <= len(norms) else None


def in_force(place: Place, own: Mapping[Place, Figures]) -> InForce:
    """The norm that counts at a place."""
    published, figures = published_at(place), own.get(place)
    if figures is None:
        source = str(SOURCES[published.source]) if published else ""
        return InForce(place, published, source, False, published)
    norm = Norm(
        measure=place.measure,
        value=figures.value,
        sd=figures.sd,
        low=figures.low,
        high=figures.high,
        group=figures.group,
        age_years=figures.age_years,
        per_year=figures.per_year,
        certainty="practice",
        sd_certainty="practice",
    )
    return InForce(place, norm, figures.source, True, published)


def value_at(norm: Norm, age_months: int | None) -> str:
    """The value for an age: as it stands, or moved with age to a tenth, half away from zero; empty where it moves and the age is not known."""
    if norm.age_years is None:
        return norm.value
    if age_months is None or not GROWTH_BEGINS_MONTHS <= age_months <= GROWTH_ENDS_MONTHS:
        return ""
    moved = Decimal(norm.value) + Decimal(norm.per_year) * (age_months - 12 * norm.age_years) / 12
    return str(moved.quantize(Decimal("0.1"), ROUND_HALF_UP))


def age_words(norm: Norm) -> str:
    """How the norm moves with age; empty when it does not."""
    if norm.age_years is None:
        return ""
    sign = "" if norm.per_year.startswith("-") else "+"
    return f"{norm.value} at {norm.age_years} years, {sign}{norm.per_year} a year"


def norm_words(norm: Norm | None) -> str:
    """The figures in words: `82° ± 3.5 (78 to 86)`, `26° at 9 years, −0.3 a year, ± 4.5`."""
    if norm is None:
        return ""
    unit = UNIT_WORDS[MEASURES[norm.measure].unit]
    spread = f" ± {norm.sd}" if norm.sd else ""
    limits = f"{norm.low} to {norm.high}" if norm.low else ""
    if norm.age_years is not None:
        text = f"{norm.value}{unit}{age_words(norm).removeprefix(norm.value)}{',' if spread else ''}{spread}"
    elif norm.value:
        text = f"{norm.value}{unit}{spread}"
    else:
        return _printed(f"{limits}{unit}{spread}")
    return _printed(f"{text} ({limits})" if limits else text)


def certainty_words(norm: Norm | None) -> str:
    """How sure a published norm is, the deviation told apart where it differs."""
    if norm is None:
        return ""
    said = CERTAINTY_WORDS[norm.certainty]
    if norm.sd and norm.sd_certainty != norm.certainty:
        return f"{said}; deviation {CERTAINTY_WORDS[norm.sd_certainty]}"
    return said


def _printed(text: str) -> str:
    return text.replace("-", "−")
