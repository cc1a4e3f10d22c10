"""Grades, letters and the order in which they are searched; rule shapes whose points are grades.

A rule gives the grade that one feature alone comes to, 5 the worst; 0 means that its letter does not
fire.  Order within a grade: missing teeth, overjet, crossbite, displacement, overbite and open bite
(two pages of teaching read); the order of the letters inside these five is ours.
"""

from collections.abc import Iterable
from dataclasses import dataclass
from decimal import Decimal

from portfolio import sites, teeth
from scoring.hits import Hit
from scoring.measured_shapes import Band, Bands
from scoring.shapes import Choice, Value, plain

LETTERS = tuple("ihpstxambcldefg")
LABELS = {
    "i": "Impeded eruption",
    "h": "Missing teeth",
    "p": "Cleft and craniofacial anomalies",
    "s": "Submerged primary teeth",
    "t": "Tipped against a neighbour",
    "x": "Extra teeth",
    "a": "Overjet",
    "m": "Reverse overjet with problems",
    "b": "Reverse overjet",
    "c": "Crossbite and shift",
    "l": "Scissor bite without contact",
    "d": "Displacement of contacts",
    "e": "Open bite",
    "f": "Deep overbite",
    "g": "Molars off Class I",
}
_PLACE_IN_GRADE = {letter: place for place, letter in enumerate(LETTERS)}
Rank = tuple[int, int]
NOTHING: Rank = (0, len(LETTERS))


def rank(grade: int, letter: str) -> Rank:
    """Sort key, worst first: the higher grade, then the order within a grade."""
    return -grade, _PLACE_IN_GRADE[letter]


def told(grade: Decimal) -> str:
    """`grade 4`, or that the letter does not fire."""
    return f"grade {plain(grade)}" if grade else "no letter"


@dataclass(frozen=True)
class GradeBands(Bands):
    """Bands whose points are grades.

    `by_size`: the values that count are negative, so that words speak of their size.
    `asides` are words that belong to one grade only, such as what was taken for the lips.
    """

    by_size: bool = False
    asides: tuple[tuple[int, str], ...] = ()

    def words(self, value: Value) -> str:
        assert isinstance(value, Decimal)
        found = self._band(value)
        shown = _mirrored(found) if self.by_size else found
        aside = dict(self.asides).get(int(found.points), "")
        return f"{self.label} {shown.words(self.unit)}{aside and f', {aside}'}: {told(found.points)}"


def _mirrored(band: Band) -> Band:
    low = None if band.high is None else -band.high
    high = None if band.low is None else -band.low
    return Band(low, band.high_inside, high, band.low_inside, band.points)


@dataclass(frozen=True)
class GradeChoice(Choice):
    """Codes whose points are grades; `from_memory` names codes that are known from memory only."""

    from_memory: tuple[str, ...] = ()

    def words(self, value: Value) -> str:
        shown = dict(self.labels).get(str(value), str(value))
        return f"{self.label}, {shown}: {told(self.points(value))}"

    def certainty(self, value: Value) -> str:
        return "memory" if value in self.from_memory else self.cited.certainty


def nearest_midline_first(site: str) -> tuple[int, int, int]:
    """Sort key for ties: nearer the midline, the patient's right, the upper arch; wider sites first."""
    named = sites.teeth_of(site)
    if not named:
        return 0, 1 if "left" in site else 0, 1 if "lower" in site else 0
    first = named[0]
    return (
        sum(teeth.number(t) for t in named),
        0 if teeth.side(first) == "right" else 1,
        1 if teeth.arch(first) == "lower" else 0,
    )


def worst_alone(hits: Iterable[Hit], by_size: bool) -> list[Hit]:
    """The hits of one letter, of which the worst alone fires; `by_size`: among equal grades the greater value."""
    listed = list(hits)
    firing = [h for h in listed if h.raw]
    if not firing:
        return listed
    worst = min(firing, key=lambda h: (-h.raw, -_size(h) if by_size else 0, nearest_midline_first(h.site)))
    beaten_by = f"{worst.findings[0].quantity} {worst.site}"
    return [h if h is worst or not h.raw else h._replace(beaten_by=beaten_by) for h in listed]


def _size(hit: Hit) -> Decimal:
    return abs(hit.value) if isinstance(hit.value, Decimal) else Decimal(0)
