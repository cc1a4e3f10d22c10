"""Measures, norms and analyses as data."""

from dataclasses import dataclass
from typing import Literal

from imaging.cephalometry.shapes import Shape

Unit = Literal["deg", "mm", "%", ""]
Certainty = Literal["read", "memory", "derived", "practice"]


@dataclass(frozen=True, slots=True)
class Measure:
    """One measure: its formula, what a larger value means, and its unit (`""` for a bare ratio).

    `takes_plane`: it follows the mandibular plane chosen and names it.
    """

    key: str
    label: str
    unit: Unit
    shape: Shape
    larger: str
    takes_plane: bool = False

    @property
    def is_length(self) -> bool:
        """Lengths need a calibrated picture; angles and ratios do not."""
        return self.unit == "mm"

    @property
    def formula(self) -> str:
        """The formula in words, with the direction of every angle."""
        return str(self.shape)


@dataclass(frozen=True, slots=True)
class Norm:
    """What an analysis gives for a measure: decimal texts in the measure's unit, empty where it gives none.

    `value` is the mean or ideal, `sd` its standard deviation, `low` to `high` a range.  `per_year` is added for
    every year over `age_years`.  `certainty` is that of `value` (of the range where there is no value),
    `sd_certainty` that of `sd`.  Norms are starting values that a portfolio may replace.
    """

    measure: str
    value: str = ""
    sd: str = ""
    low: str = ""
    high: str = ""
    group: str = ""
    age_years: int | None = None
    per_year: str = ""
    source: str = ""
    certainty: Certainty = "memory"
    sd_certainty: Certainty = "memory"
    note: str = ""


@dataclass(frozen=True, slots=True)
class Analysis:
    """A published analysis: the measures it defines here, and its norms, also for measures defined elsewhere."""

    key: str
    label: str
    source: str
    measures: tuple[Measure, ...]
    norms: tuple[Norm, ...]
