"""What repeated totals tell: the error of one total, and the change that a reader's error does not explain."""

from collections.abc import Mapping
from dataclasses import dataclass, replace

from portfolio.access import Asker
from portfolio.finding_sheet import Sheet as SheetReading
from portfolio.repeated import (
    FEWEST_PAIRS_SHOWN,
    RepeatedStatistics,
    detectable_change,
    least_error,
    repeated_statistics,
)
from portfolio.repeating.pairs import is_repeated
from portfolio.repeating.selectors import counted, occasions_of
from scoring import registry
from scoring.selectors.choices import Chosen, ways_of

INDICES: tuple[str, ...] = ("discrepancy", "par", "icon")
"""Indices whose totals are compared before and after."""
POINT = 1.0
"""Totals are whole points, so totals that agree were rounded, not exact."""


@dataclass(frozen=True, slots=True)
class DetectableChange:
    """Of totals of one index scored again: the error of one total (SEM, its systematic part taken out) and 1.96·√2 of it.

    Both in points.  The consistency form, for totals of one reader; Weir 2005, as in `portfolio.repeated`.
    """

    index: str
    pairs: int
    sem: float
    mdc95: float


@dataclass(frozen=True, slots=True)
class RepeatedTotals:
    """The totals of one index, (first, repeat, …) for each sheet where all are complete, and how many were not."""

    index: str
    label: str
    totals: tuple[tuple[float, ...], ...]
    incomplete: int

    @property
    def told(self) -> RepeatedStatistics | None:
        return repeated_statistics(self.totals)

    @property
    def pairs(self) -> int:
        return sum(len(one) - 1 for one in self.totals)

    @property
    def change(self) -> DetectableChange | None:
        """None under 5 pairs."""
        told = self.told
        if told is None or told.pairs < FEWEST_PAIRS_SHOWN:
            return None
        sem = max(told.random_sd, least_error(POINT))
        return DetectableChange(self.index, told.pairs, sem, detectable_change(sem))


def minimal_detectable_change(reader: Asker, index: str) -> DetectableChange | None:
    """The smallest change of a total that the reader's own error does not explain; None under 5 pairs of totals."""
    return next((one.change for one in repeated_totals(reader, (index,))), None)


def repeated_totals(reader: Asker, indices: tuple[str, ...] = INDICES) -> tuple[RepeatedTotals, ...]:
    """Totals of all counted repeats of the reader beside those of the first sheets, each as its portfolio reads it.

    What casts do not show (radiographs, the patient, notes) is not measured again and is the same in both.
    """
    rows = counted(reader)
    if not rows:
        return tuple(RepeatedTotals(key, registry.index(key).label, (), 0) for key in indices)
    ways = ways_of({row.sheet.record_set.case.patient.portfolio_id for row in rows}, indices)
    found: dict[str, list[tuple[float, ...]]] = {key: [] for key in indices}
    incomplete = dict.fromkeys(indices, 0)
    for sheet, occasion in occasions_of(rows):
        chosen = ways[sheet.record_set.case.patient.portfolio_id].chosen
        for key in indices:
            if registry.index(key).outside(occasion.first):
                continue
            repeats = [_with_the_rest(again, occasion.first) for again in occasion.repeats]
            first, *again = (_total(key, one, chosen) for one in (occasion.first, *repeats))
            numbers = [number for number in again if number is not None]
            if key in ways[sheet.record_set.case.patient.portfolio_id].indices(occasion.first):
                incomplete[key] += len(again) if first is None else len(again) - len(numbers)
            if first is not None and numbers:
                found[key].append((first, *numbers))
    return tuple(
        RepeatedTotals(key, registry.index(key).label, tuple(found[key]), incomplete[key]) for key in indices
    )


def _with_the_rest(again: SheetReading, first: SheetReading) -> SheetReading:
    kept = [f for f in first.findings if not is_repeated(f.quantity)]
    own = [f for f in again.findings if is_repeated(f.quantity)]
    return replace(again, findings=(*own, *kept))


def _total(key: str, sheet: SheetReading, chosen: Mapping[str, Chosen]) -> float | None:
    """The total of a sheet that is complete."""
    way = chosen[key]
    score = registry.score(key, sheet, way.edition, way.values, detail="lines")
    return float(score.total) if score.complete and score.total is not None else None
