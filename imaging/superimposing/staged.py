"""Tracings of stages laid on the first of them: which can be, what is told about them, and how points moved.  Pure."""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field
from uuid import UUID

from imaging.calibration import Scale, Size
from imaging.cephalometry.errors import NOISE_DEVIATIONS
from imaging.cephalometry.face import Face
from imaging.cephalometry.landmarks import BY_KEY
from imaging.cephalometry.stable_structures import STRUCTURE_LABELS, marks_of
from imaging.cephalometry.superimpose import (
    FEWEST_FIDUCIALS,
    ON,
    CannotLay,
    Displacement,
    Superimposition,
    superimpose,
)
from imaging.cephalometry.trace_print import fixed
from imaging.geometry import Motion, Vector, motion

SN = "sn"
ON_LABELS = {SN: "S-N at S", **STRUCTURE_LABELS}
ON_WORDS = {
    SN: "Sella on sella, S-N along S-N: quick, and not stable, because nasion moves with growth and sella drifts.",
    "cranial_base": "Best fit of the marks on stable structures of the anterior cranial base, no change of size.",
    "maxilla": "Best fit of the marks on the maxilla: teeth are seen to move in the bone.",
    "mandible": "Best fit of the marks on the mandible: teeth are seen to move in the bone.",
}
UPPER = ("ANS", "PNS", "A", "U1", "U1A", "U1F", "U6", "U6D")
LOWER = (
    "B",
    "D",
    "Pog",
    "Gn",
    "Me",
    "MT",
    "Go",
    "Ar",
    "Co",
    "Cd",
    "DC",
    "Xi",
    "PM",
    "L1",
    "L1A",
    "L1F",
    "L6",
)
SHOWN: Mapping[str, tuple[str, ...]] = {
    SN: tuple(BY_KEY),
    "cranial_base": tuple(BY_KEY),
    "maxilla": UPPER,
    "mandible": LOWER,
}
"""The points that are drawn and told for each way."""
MOST_STAGES = 3
LOOSE_FIT_MM = 1.5
"""A residual above it says that some marks are not the same spots (choice, no source)."""
STILL = motion(0)


@dataclass(frozen=True, slots=True)
class TracedStage:
    """One stage with its tracing: `face` is None where it cannot be read, and `why` says so.

    `outlines` are polylines in the face's frame by the key of the structure.
    """

    stage: str
    ordinal: int
    label: str
    tracing: UUID
    face: Face | None
    why: str
    scale: Scale | None
    plane: str
    outlines: Mapping[str, tuple[Vector, ...]] = field(default_factory=dict)

    @property
    def key(self) -> str:
        """What stands for the stage in an address."""
        return f"{self.stage}-{self.ordinal}" if self.ordinal > 1 else self.stage

    def marks(self, structure: str) -> tuple[str, ...]:
        """Keys of the marks set on a structure."""
        return tuple(self.face.fiducials.get(structure, ())) if self.face else ()


@dataclass(frozen=True, slots=True)
class MovedPoint:
    """How one point moved, in words and millimetres rounded once to a tenth."""

    key: str
    name: str
    across: str
    across_way: str
    across_sd: str
    up: str
    up_way: str
    up_sd: str
    within_error: bool
    held: bool
    """Whether the point was laid on its partner, so that its move says nothing."""


@dataclass(frozen=True, slots=True)
class Refusal:
    """Why two tracings are not laid on each other: `reason` for any reader, `advice` for their owner.

    `lasting` says that the radiographs themselves stand against it, not something that waits to be done.
    """

    reason: str
    advice: str = ""
    lasting: bool = False

    @property
    def words(self) -> str:
        return f"{self.reason} {self.advice}".strip()


@dataclass(frozen=True, slots=True)
class Laid:
    """A later stage laid on the first, or why it is not."""

    stage: TracedStage
    motion: Motion | None = None
    rms: str = ""
    loose: bool = False
    marks: tuple[str, ...] = ()
    moved: tuple[MovedPoint, ...] = ()
    refusal: Refusal | None = None


@dataclass(frozen=True, slots=True)
class Overlay:
    """All of one superimposition: the first stage, the later ones on it, what has to be known beside."""

    on: str
    first: TracedStage
    later: tuple[Laid, ...]
    cautions: tuple[str, ...]

    @property
    def label(self) -> str:
        return ON_LABELS[self.on]

    @property
    def words(self) -> str:
        return ON_WORDS[self.on]

    @property
    def unit(self) -> str:
        return self.first.scale.unit if self.first.scale else ""

    @property
    def drawn(self) -> tuple[Laid, ...]:
        """The later stages that could be laid."""
        return tuple(one for one in self.later if one.motion)

    @property
    def refusals(self) -> tuple[str, ...]:
        return tuple(one.refusal.words for one in self.later if one.refusal)


def overlay(stages: Sequence[TracedStage], on: str) -> Overlay:
    """The later stages laid on the first, by one of `ON`; ValueError for another way or fewer than two stages."""
    if on not in ON or len(stages) < 2:
        raise ValueError("two stages and a way to lay them are needed")
    first, *rest = stages
    later = tuple(_laid(first, one, on) for one in rest)
    return Overlay(on, first, later, cautions(stages) if any(one.motion for one in later) else ())


def first_way(stages: Sequence[TracedStage]) -> str:
    """The cranial base where it is marked well enough on all stages, else S-N."""
    first, *rest = stages
    shared = (set(first.marks("cranial_base")) & set(one.marks("cranial_base")) for one in rest)
    return "cranial_base" if all(len(both) >= FEWEST_FIDUCIALS for both in shared) else SN


def _laid(first: TracedStage, second: TracedStage, on: str) -> Laid:
    refusal = scale_refusal(first, second) or _lacking(first, second, on)
    if refusal or first.face is None or second.face is None:
        return Laid(second, refusal=refusal)
    try:
        found = superimpose(first.face, second.face, on)
    except CannotLay as why:
        reason = f"{second.label.capitalize()} cannot be laid on {first.label}: {why}."
        return Laid(second, refusal=Refusal(reason))
    shared = tuple(key for key in first.marks(on) if key in second.marks(on)) if on != SN else ()
    return Laid(
        second,
        found.motion,
        "" if found.rms_mm is None else fixed(found.rms_mm),
        found.rms_mm is not None and found.rms_mm > LOOSE_FIT_MM,
        shared,
        _moved(found, on),
    )


def scale_refusal(first: TracedStage, second: TracedStage) -> Refusal | None:
    """Why two radiographs cannot be laid on each other for their readings or scales; None when they can."""
    for one in (first, second):
        if one.why:
            return Refusal(f"The tracing of the {one.label} stage cannot be read.", one.why)
    if first.scale is None or second.scale is None:
        loose = " and ".join(one.label for one in (first, second) if one.scale is None)
        return Refusal(
            f"No scale: {loose}. Without millimetres on both radiographs nothing can be laid on each other and no point "
            "is told to have moved.",
            "Give the radiograph a scale on its own page.",
            lasting=True,
        )
    if first.scale.size != second.scale.size:
        return Refusal(
            f"Differently magnified: {first.label} is told in {first.scale.unit}, {second.label} in {second.scale.unit}. "
            "They are not laid on each other: the difference in size would look like growth.",
            "State the magnification of the one that lacks it on the page of its scale.",
            lasting=True,
        )
    return None


def cautions(stages: Sequence[TracedStage]) -> tuple[str, ...]:
    """What a reader has to know about radiographs that are laid on each other all the same."""
    said = []
    scales = [(one.label, one.scale) for one in stages if one.scale]
    if len({scale.origin for _, scale in scales}) > 1:
        sources = "; ".join(f"{label}: {scale.words}" for label, scale in scales)
        said.append(
            f"The scales come from different sources, so an error of one of them looks like growth. {sources}"
        )
    if scales and scales[0][1].size != Size.NATURAL:
        said.append(
            f"Lengths are {scales[0][1].unit}: enlarged by a factor nobody stated, and by the same one only if all "
            "radiographs come from the same unit."
        )
    planes = {one.plane: one.label for one in reversed(stages)}
    if len(planes) > 1:
        both = ", ".join(f"{label} {plane}" for plane, label in reversed(planes.items()))
        said.append(
            f"Different mandibular planes: {both}. Each is drawn by its own; their angles are not compared."
        )
    return tuple(said)


def _lacking(first: TracedStage, second: TracedStage, on: str) -> Refusal | None:
    if on == SN:
        short = [(one.label, one.face.lacks(("S", "N"))) for one in (first, second) if one.face]
        lacks = "; ".join(f"{label} lacks {' and '.join(names)}" for label, names in short if names)
        return Refusal(f"S and N are needed on both radiographs: {lacks}.") if lacks else None
    both = set(first.marks(on)) & set(second.marks(on))
    if len(both) < FEWEST_FIDUCIALS:
        return Refusal(
            f"{ON_LABELS[on]}: {len(both)} of the same marks on {first.label} and {second.label}; at least "
            f"{FEWEST_FIDUCIALS} are needed.",
            "Mark the stable structures on both radiographs.",
        )
    if first.face and first.face.lacks(("S", "N")):
        return Refusal(f"The {first.label} tracing lacks S or N, from which directions are told.")
    return None


def _moved(found: Superimposition, on: str) -> tuple[MovedPoint, ...]:
    return tuple(
        _point(key, found.displacements[key], held=on == SN and key == "S")
        for key in SHOWN[on]
        if key in found.displacements
    )


def _point(key: str, moved: Displacement, *, held: bool) -> MovedPoint:
    across, up = fixed(abs(moved.x), 1), fixed(abs(moved.y), 1)
    return MovedPoint(
        key=key,
        name=BY_KEY[key].name,
        across=across,
        across_way="" if not float(across) else "forward" if moved.x > 0 else "back",
        across_sd=fixed(moved.sd_x, 1),
        up=up,
        up_way="" if not float(up) else "up" if moved.y > 0 else "down",
        up_sd=fixed(moved.sd_y, 1),
        within_error=moved.inside_noise and not held,
        held=held,
    )


def mark_names(keys: Sequence[str]) -> tuple[str, ...]:
    """The names of marks, in the order of the list."""
    every = (mark for structure in STRUCTURE_LABELS for mark in marks_of(structure))
    return tuple(mark.name for mark in every if mark.key in keys)


NOISE_WORDS = (
    "± is one standard deviation of the move: the errors of the point and of what was laid on what, on both radiographs, "
    f"and of both scales. A point is told “within error” when both parts of its move are at most {NOISE_DEVIATIONS:g} of "
    "these, which is 2·√2 times the standard deviation of one tracing: one observer's noise may be all of it."
)
