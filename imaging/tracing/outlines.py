"""Outlines of a tracing: rows of knots by structure, and the curves and teeth drawn from them.  Pure.

A stored outline is a row of knots in the order of drawing.  A knot is a landmark's key, which follows the landmark
when that is moved, or a place `[x, y]` in pixels of the original picture.  The curve through them is
`imaging.cephalometry.outlines.curve`; which structures there are and which landmarks lie on them is `STRUCTURES`
there.  A structure nobody has drawn is shown through its landmarks where three or more of them are placed, and not
stored.  Teeth are never stored: they follow from edge and apex, or from the mesiobuccal cusp.
"""

from collections.abc import Iterator, Mapping, Sequence
from typing import Any, TypeAlias

from imaging.cephalometry.face import Face
from imaging.cephalometry.landmarks import BY_KEY
from imaging.cephalometry.outlines import (
    DISTAL_SHARE,
    MOLAR_WIDTHS_MM,
    STRUCTURES,
    Jaw,
    controls_at,
    curve,
    incisor,
    molar,
)
from imaging.geometry import Vector
from imaging.tracing.on_picture import Axes

Knot: TypeAlias = str | list[float]
Row: TypeAlias = Sequence[Knot]
BY_STRUCTURE: Mapping[str, Any] = {one.key: one for one in STRUCTURES}
MOST_KNOTS = 60
FEWEST_LANDMARKS = 3
"""Landmarks that a structure nobody has drawn must have to be shown."""
INCISOR_LENGTHS_MM: Mapping[Jaw, float] = {"upper": 23.5, "lower": 21.5}
"""Wheeler, from memory: how wide a molar is drawn where the picture has no scale."""


def row_faults(key: str, row: Row, size: tuple[int, int]) -> Iterator[str]:
    """What is wrong with the knots of one outline on an original of `size` (width, height), in words."""
    known = BY_STRUCTURE.get(key)
    if known is None:
        yield f"{key[:40]} is not a structure; allowed: {', '.join(BY_STRUCTURE)}."
        return
    if len(row) > MOST_KNOTS:
        yield f"{known.label}: {len(row)} points are too many; an outline takes {MOST_KNOTS}."
    for knot in row:
        if isinstance(knot, str):
            if knot not in BY_KEY:
                yield f"{known.label}: {knot[:40]} is not a landmark."
        elif not (0 <= knot[0] <= size[0] and 0 <= knot[1] <= size[1]):
            yield (
                f"{known.label}: a point lies outside the picture, {knot[0]:.0f} across, {knot[1]:.0f} down; allowed: "
                f"0 to {size[0]} across, 0 to {size[1]} down."
            )


def curves(face: Face, outlines: Mapping[str, Row], axes: Axes) -> dict[str, tuple[Vector, ...]]:
    """Structure → its curve as a polyline in the frame of the face, drawn ones and those their landmarks give."""
    found: dict[str, tuple[Vector, ...]] = {}
    for structure in STRUCTURES:
        drawn = outlines.get(structure.key)
        if drawn is None:
            row: list[str | Vector] = [name for name in structure.anchors if name in face.points]
            fewest = FEWEST_LANDMARKS
        else:
            row = [knot if isinstance(knot, str) else Vector(*axes(*knot)) for knot in drawn]
            fewest = 3 if structure.closed else 2
        controls = controls_at(row, face.place)
        if len(controls) >= fewest:
            found[structure.key] = curve(controls, structure.closed)
    return found


def teeth(face: Face) -> dict[str, tuple[Vector, ...]]:
    """U1, L1, U6, L6 → closed outline in the frame of the face, as far as its points are placed and lie apart."""
    found: dict[str, tuple[Vector, ...]] = {}
    jaws: tuple[tuple[Jaw, str], ...] = (("upper", "U"), ("lower", "L"))
    for jaw, letter in jaws:
        edge, apex = f"{letter}1", f"{letter}1A"
        if not face.lacks((edge, apex)) and face.place(edge) != face.place(apex):
            found[edge] = incisor(jaw, face.place(edge), face.place(apex))
    for jaw, letter in jaws:
        cusp = f"{letter}6"
        if cusp not in face.points or face.lacks(("OPm", "OPi")):
            continue
        forward, width = face.place("OPi") - face.place("OPm"), _molar_width(face, jaw, letter)
        if forward.length and width > 0:
            found[cusp] = molar(jaw, face.place(cusp), forward, width)
    return found


def _molar_width(face: Face, jaw: Jaw, letter: str) -> float:
    """Mesiodistal width in the unit of the face; 0 when nothing tells it."""
    if letter == "U" and "U6D" in face.points:
        return (face.place("U6D") - face.place("U6")).length / DISTAL_SHARE
    if face.calibrated:
        return MOLAR_WIDTHS_MM[jaw]
    if face.lacks((f"{letter}1", f"{letter}1A")):
        return 0.0
    long = (face.place(f"{letter}1A") - face.place(f"{letter}1")).length
    return long * MOLAR_WIDTHS_MM[jaw] / INCISOR_LENGTHS_MM[jaw]
