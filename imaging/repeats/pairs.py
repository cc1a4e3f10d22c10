"""Differences between a first tracing and its repeat, point by point and measure by measure.  Pure."""

from collections.abc import Iterable, Mapping
from dataclasses import dataclass

from imaging.cephalometry.face import Face
from imaging.cephalometry.landmarks import BY_KEY
from imaging.cephalometry.measuring import measure_face
from imaging.cephalometry.registry import MEASURES
from imaging.geometry import near
from portfolio.repeats import PairStatistics, pair_statistics


@dataclass(frozen=True, slots=True)
class Pair:
    """Both faces of one radiograph, in one frame and by one scale."""

    first: Face
    second: Face


@dataclass(frozen=True, slots=True)
class PointFigures:
    """One point over all pairs: forward (`x`) and up (`y`), in millimetres."""

    key: str
    x: PairStatistics
    y: PairStatistics

    @property
    def sd(self) -> float:
        """The standard deviation of a coordinate: both Dahlberg errors in one, √((x² + y²)/2)."""
        return float(((self.x.dahlberg**2 + self.y.dahlberg**2) / 2) ** 0.5)


@dataclass(frozen=True, slots=True)
class MeasureFigures:
    """One measure over all pairs, in its own unit."""

    key: str
    label: str
    unit: str
    told: PairStatistics


def point_differences(pair: Pair) -> Mapping[str, tuple[float, float]]:
    """Second minus first, forward and up, of every point that both have; in the unit of the faces."""
    return {
        key: ((moved := pair.second.points[key].at - pair.first.points[key].at).x, moved.y)
        for key in BY_KEY
        if key in pair.first.points and key in pair.second.points
    }


def measure_differences(pair: Pair) -> Mapping[str, float]:
    """Second minus first of every measure that both tell; angles by the shorter way round."""
    first, second = (
        {one.measure.key: one for one in measure_face(face)[0]} for face in (pair.first, pair.second)
    )
    found = {}
    for key in (key for key in MEASURES if key in first and key in second):
        difference = second[key].value - first[key].value
        found[key] = near(difference, 0) if first[key].measure.unit == "deg" else difference
    return found


def point_figures(pairs: Iterable[Pair]) -> tuple[PointFigures, ...]:
    """Every point that at least two calibrated pairs have."""
    found: dict[str, list[tuple[float, float]]] = {}
    for pair in pairs:
        if pair.first.calibrated and pair.second.calibrated:
            for key, both in point_differences(pair).items():
                found.setdefault(key, []).append(both)
    rows = []
    for key in (key for key in BY_KEY if key in found):
        x, y = (pair_statistics([one[axis] for one in found[key]]) for axis in (0, 1))
        if x and y:
            rows.append(PointFigures(key, x, y))
    return tuple(rows)


def measure_figures(pairs: Iterable[Pair]) -> tuple[MeasureFigures, ...]:
    """Every measure that at least two pairs tell; lengths of calibrated pairs only, which the measures see to."""
    found: dict[str, list[float]] = {}
    for pair in pairs:
        for key, difference in measure_differences(pair).items():
            found.setdefault(key, []).append(difference)
    rows = []
    for key, measure in MEASURES.items():
        if told := pair_statistics(found.get(key, [])):
            rows.append(MeasureFigures(key, measure.label, measure.unit, told))
    return tuple(rows)


def own_sds(pairs: Iterable[Pair]) -> Mapping[str, float]:
    """Standard deviation of a coordinate in millimetres for each point with enough pairs to be used."""
    return {one.key: one.sd for one in point_figures(pairs) if one.x.used}
