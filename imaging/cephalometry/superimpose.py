"""Laying a later tracing on a first one, and how far each point has moved.

Quick overall: S on S, S-N along S-N.  Structural: the rigid best fit of marks on stable structures of the cranial
base, maxilla or mandible (Kabsch, no scale, no reflection).  Displacements are second minus first in millimetres.

Sources: a guide to structural superimposition after Björk (which structures are stable, and from which age), read;
Kabsch, Acta Cryst A 1976;32:922-923.  N moves with growth and S drifts, so S-N is quick, not stable (same guide).
"""

from collections.abc import Iterator, Mapping
from dataclasses import dataclass, replace

from imaging.cephalometry.errors import NOISE_DEVIATIONS, Parts, sd_of
from imaging.cephalometry.face import STRUCTURES, Face, Spot
from imaging.cephalometry.landmarks import BY_KEY
from imaging.geometry import Motion, Vector, best_fit, laid, root_mean_square

ON = ("sn", *STRUCTURES)
FEWEST_FIDUCIALS = 3
STEP = 1e-3


class CannotLay(ValueError):
    """The tracings lack what the superimposition needs; the words are for a reader."""


@dataclass(frozen=True, slots=True)
class Displacement:
    """How one point moved: forward and up on the first film's axes, and along and square to the first S-N.

    `parts_x` and `parts_y` are the named errors of x and y, causes named `first.` and `second.`.
    """

    x: float
    y: float
    along_sn: float
    square_to_sn: float
    parts_x: Parts
    parts_y: Parts

    @property
    def sd_x(self) -> float:
        return sd_of(self.parts_x)

    @property
    def sd_y(self) -> float:
        return sd_of(self.parts_y)

    @property
    def inside_noise(self) -> bool:
        """Whether one observer's noise could make both parts of the move."""
        return abs(self.x) <= NOISE_DEVIATIONS * self.sd_x and abs(self.y) <= NOISE_DEVIATIONS * self.sd_y


@dataclass(frozen=True, slots=True)
class Superimposition:
    """The second tracing on the first.  `motion` and `rms_mm` are None where there is no scale; `rms_mm` also
    for S-N, which is laid and not fitted."""

    on: str
    motion: Motion | None
    rms_mm: float | None
    displacements: Mapping[str, Displacement]
    refused: Mapping[str, str]


def superimpose(first: Face, second: Face, on: str) -> Superimposition:
    """Lays `second` on `first`; `on` is one of `ON`.  CannotLay when marks or S and N are missing."""
    marks = _marks(first, second, on)
    shared = [name for name in BY_KEY if name in first.points and name in second.points]
    loose = [word for word, face in (("first", first), ("second", second)) if not face.calibrated]
    if loose:
        why = f"not calibrated: {' and '.join(loose)} tracing"
        return Superimposition(on, None, None, {}, dict.fromkeys(shared, why))
    try:
        laying = _laying(first, second, on, marks)
    except ZeroDivisionError as error:
        raise CannotLay("the points that are to be laid on each other lie in one place") from error
    rms = None
    if on != "sn":
        pairs = zip(_spots(first, on, marks), _spots(second, on, marks), strict=True)
        rms = root_mean_square([(laying(b) - a).length for a, b in pairs])
    errors = _errors(first, second, on, marks, shared)
    sn = (first.points["N"].at - first.points["S"].at).unit()
    found = {}
    for name in shared:
        moved = laying(second.points[name].at) - first.points[name].at
        found[name] = Displacement(moved.x, moved.y, sn.dot(moved), sn.cross(moved), *errors[name])
    return Superimposition(on, laying, rms, found, {})


def _marks(first: Face, second: Face, on: str) -> tuple[str, ...]:
    """Names of what is laid on what; CannotLay with every reason."""
    reasons = [f"the first tracing has no {name}, which S-N needs" for name in first.lacks(("S", "N"))]
    if on == "sn":
        reasons += [f"the second tracing has no {name}, which S-N needs" for name in second.lacks(("S", "N"))]
        shared: tuple[str, ...] = ("S", "N")
    else:
        theirs = second.fiducials.get(on, {})
        shared = tuple(name for name in first.fiducials.get(on, {}) if name in theirs)
        if len(shared) < FEWEST_FIDUCIALS:
            reasons.append(
                f"{on} has {len(shared)} fiducials with the same name in both tracings; "
                f"{FEWEST_FIDUCIALS} or more are needed"
            )
    if not reasons and first.points["S"].at == first.points["N"].at:
        reasons.append("S and N of the first tracing lie in one place")
    if reasons:
        raise CannotLay("; ".join(reasons))
    return shared


def _held(face: Face, on: str) -> Mapping[str, Spot]:
    return face.points if on == "sn" else face.fiducials[on]


def _spots(face: Face, on: str, marks: tuple[str, ...]) -> list[Vector]:
    held = _held(face, on)
    return [held[name].at for name in marks]


def _laying(first: Face, second: Face, on: str, marks: tuple[str, ...]) -> Motion:
    fixed, moved = _spots(first, on, marks), _spots(second, on, marks)
    if on == "sn":
        return laid(moved[0], moved[1] - moved[0], fixed[0], fixed[1] - fixed[0])
    return best_fit(moved, fixed)


def _errors(
    first: Face, second: Face, on: str, marks: tuple[str, ...], shared: list[str]
) -> Mapping[str, tuple[Parts, Parts]]:
    """Named errors of x and y of every shared point: its own, those of the marks, and both scales."""
    found: dict[str, tuple[dict[str, float], dict[str, float]]] = {name: ({}, {}) for name in shared}
    turned = _laying(first, second, on, marks).turned
    for name in shared:
        if on == "sn" and name in marks:
            continue
        for axis, arrow in (("x", Vector(1, 0)), ("y", Vector(0, 1))):
            _note(found[name], f"first.{name}.{axis}", -arrow.times(first.points[name].sd))
            _note(found[name], f"second.{name}.{axis}", turned(arrow).times(second.points[name].sd))
    for cause, sd, ends in _disturbed(first, second, on, marks):
        low, high = (_moves(a, b, on, marks, shared) for a, b in ends)
        for name in shared:
            _note(found[name], cause, (high[name] - low[name]).times(sd / (2 * STEP)))
    return found


def _note(parts: tuple[dict[str, float], dict[str, float]], cause: str, change: Vector) -> None:
    for kept, part in zip(parts, (change.x, change.y), strict=True):
        if part:
            kept[cause] = part


def _disturbed(
    first: Face, second: Face, on: str, marks: tuple[str, ...]
) -> Iterator[tuple[str, float, list[tuple[Face, Face]]]]:
    """Each cause that moves all points at once, its deviation, and both tracings a step below and above it."""
    for word, face in (("first", first), ("second", second)):
        causes: list[tuple[str, float, list[Face]]] = [
            ("scale", face.scale_sd_percent / 100, [_scaled(face, 1 - STEP), _scaled(face, 1 + STEP)])
        ]
        for name in marks:
            label = name if on == "sn" else f"{on}/{name}"
            for axis, arrow in (("x", Vector(STEP, 0)), ("y", Vector(0, STEP))):
                ends = [_nudged(face, on, name, -arrow), _nudged(face, on, name, arrow)]
                causes.append((f"{label}.{axis}", _held(face, on)[name].sd, ends))
        for cause, sd, ends in causes:
            yield f"{word}.{cause}", sd, [(e, second) if word == "first" else (first, e) for e in ends]


def _moves(
    first: Face, second: Face, on: str, marks: tuple[str, ...], shared: list[str]
) -> dict[str, Vector]:
    laying = _laying(first, second, on, marks)
    return {name: laying(second.points[name].at) - first.points[name].at for name in shared}


def _nudged(face: Face, on: str, name: str, arrow: Vector) -> Face:
    held = _held(face, on)
    moved = {**held, name: replace(held[name], at=held[name].at + arrow)}
    return (
        replace(face, points=moved) if on == "sn" else replace(face, fiducials={**face.fiducials, on: moved})
    )


def _scaled(face: Face, factor: float) -> Face:
    def grown(held: Mapping[str, Spot]) -> dict[str, Spot]:
        return {name: replace(spot, at=spot.at.times(factor)) for name, spot in held.items()}

    fiducials = {structure: grown(held) for structure, held in face.fiducials.items()}
    return replace(face, points=grown(face.points), fiducials=fiducials)
