"""All measures of a face: values with errors, and what cannot be told with the reason."""

from collections.abc import Iterable
from dataclasses import dataclass

from imaging.cephalometry.errors import Parts, noise_limit, parts_of, sd_of
from imaging.cephalometry.face import Face
from imaging.cephalometry.measure import Measure
from imaging.cephalometry.registry import MEASURES
from imaging.cephalometry.shapes import Coincide

NOT_CALIBRATED = "not calibrated"


@dataclass(frozen=True, slots=True)
class Measured:
    """One measure of one tracing, unrounded; `parts` and `sd` are None without a scale."""

    measure: Measure
    value: float
    parts: Parts | None
    plane: str | None = None

    @property
    def sd(self) -> float | None:
        return None if self.parts is None else sd_of(self.parts)


@dataclass(frozen=True, slots=True)
class Refused:
    """A measure that cannot be told, and why."""

    measure: Measure
    why: str


@dataclass(frozen=True, slots=True)
class Change:
    """A measure on two tracings, second minus first.  `noise` is None when an error is not known.

    `why_not` says why the two must not be compared; then the other numbers are None.
    """

    measure: Measure
    change: float | None
    noise: float | None
    why_not: str = ""

    @property
    def inside_noise(self) -> bool | None:
        """Whether one observer's noise could make the change."""
        return None if self.change is None or self.noise is None else abs(self.change) <= self.noise


def measure_face(
    face: Face, measures: Iterable[Measure] | None = None
) -> tuple[tuple[Measured, ...], tuple[Refused, ...]]:
    """Every measure (or the ones given) of a face: what is told, then what is refused, each in order."""
    told: list[Measured] = []
    refused: list[Refused] = []
    for measure in MEASURES.values() if measures is None else measures:
        reasons = [NOT_CALIBRATED] if measure.is_length and not face.calibrated else []
        missing = face.lacks(measure.shape.names())
        if missing:
            reasons.append(f"missing {', '.join(missing)}")
        if not reasons:
            try:
                told.append(_measured(face, measure))
                continue
            except Coincide as coincide:
                reasons.append(_words(face, coincide))
        refused.append(Refused(measure, "; ".join(reasons)))
    return tuple(told), tuple(refused)


def _words(face: Face, coincide: Coincide) -> str:
    """Why a line has no direction, with the landmarks' own names in place of constructed ones."""
    if not coincide.points:
        return str(coincide)
    ends = (
        made[0] if len(made) == 1 else f"the middle of {' and '.join(made)}"
        for made in map(face.made_of, coincide.points)
    )
    return f"{' and '.join(ends)} lie in one place"


def _measured(face: Face, measure: Measure) -> Measured:
    reading = measure.shape.read(face.place)
    parts = parts_of(face, reading.value, reading.slopes, measure.is_length) if face.calibrated else None
    return Measured(measure, reading.value, parts, face.mandibular_plane if measure.takes_plane else None)


def changes(first: Iterable[Measured], second: Iterable[Measured]) -> tuple[Change, ...]:
    """Measures that both tracings tell, second minus first; other mandibular planes are not compared."""
    before = {found.measure.key: found for found in first}
    return tuple(_change(before[now.measure.key], now) for now in second if now.measure.key in before)


def _change(before: Measured, now: Measured) -> Change:
    if before.plane != now.plane:
        return Change(now.measure, None, None, f"mandibular planes differ: {before.plane}, then {now.plane}")
    noise = noise_limit(before.sd, now.sd) if before.sd is not None and now.sd is not None else None
    return Change(now.measure, now.value - before.value, noise)
