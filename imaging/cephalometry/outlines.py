"""Outlines of a tracing as polylines: splines of the structures, and teeth drawn from a few landmarks.

A structure is a row of control points, landmarks and points set between them; its curve is the uniform
Catmull-Rom spline, which passes through every control point and is carried along by every affine map, so a curve
drawn on a picture and one drawn in millimetres are the same curve.  Source: Catmull E, Rom R, A class of local
interpolating splines, 1974 (from memory).

Teeth have the average proportions of Wheeler's dental anatomy (from memory); they show where a tooth stands, and
nothing is measured on them.  All points are in one frame, profile facing +x, y up.
"""

from collections.abc import Callable, Sequence
from dataclasses import dataclass
from typing import Literal

from imaging.geometry import Vector

Control = str | Vector
STEPS = 12
MOST_STEPS = 100


@dataclass(frozen=True, slots=True)
class Structure:
    """One outline to be traced: what to follow, the landmarks that lie on it in order, and whether it closes."""

    key: str
    label: str
    follows: str
    anchors: tuple[str, ...]
    closed: bool = False


STRUCTURES: tuple[Structure, ...] = (
    Structure("sella", "Sella", "floor and walls of the pituitary fossa between the clinoid processes", ()),
    Structure(
        "cranial_base",
        "Cranial base",
        "from the back of the clivus over the sella and the planum to the frontonasal suture",
        ("Ba", "N"),
    ),
    Structure("orbit", "Orbit", "roof, outer wall and floor of the orbit; the mean of both sides", ("Or",)),
    Structure(
        "maxilla",
        "Maxilla",
        "from the anterior spine along the front of the alveolus to its crest",
        ("ANS", "A"),
    ),
    Structure(
        "palate",
        "Palate",
        "roof of the hard palate, from the posterior to the anterior spine",
        ("PNS", "ANS"),
    ),
    Structure(
        "mandible",
        "Mandible",
        "from the condyle down the back of the ramus and along the lower border to the chin; mean of both sides",
        ("Co", "Ar", "MT", "Me"),
    ),
    Structure(
        "symphysis",
        "Symphysis",
        "front of the chin from the alveolar crest to menton",
        ("B", "PM", "Pog", "Gn", "Me"),
    ),
    Structure(
        "profile",
        "Soft tissue profile",
        "skin from the forehead to below the chin",
        ("G'", "N'", "Prn", "Cm", "Sn", "Ls", "Stm", "Li", "Sl", "Pog'", "Me'"),
    ),
)
"""Gonion is not among the anchors of the mandible: it is constructed and lies off the bone."""


def curve(controls: Sequence[Vector], closed: bool = False, steps: int = STEPS) -> tuple[Vector, ...]:
    """The spline through control points as a polyline, `steps` pieces from each control point to the next.

    An open curve ends straight on, as if a control point lay mirrored beyond each end.  A closed one repeats its
    first point at the end.  ValueError for fewer than 2 controls (3 when closed) or steps outside 1 to 100.
    """
    if len(controls) < (3 if closed else 2):
        raise ValueError(
            f"a {'closed' if closed else 'open'} curve needs {3 if closed else 2} points or more"
        )
    if not 1 <= steps <= MOST_STEPS:
        raise ValueError(f"steps must be 1 to {MOST_STEPS}")
    if closed:
        row = [controls[-1], *controls, controls[0], controls[1]]
    else:
        row = [controls[0].times(2) - controls[1], *controls, controls[-1].times(2) - controls[-2]]
    drawn = [
        _between(row[i - 1 : i + 3], step / steps) if step else row[i]
        for i in range(1, len(row) - 2)
        for step in range(steps)
    ]
    return (*drawn, row[-2])


def _between(four: Sequence[Vector], t: float) -> Vector:
    """The point at `t` (0 to 1) between the second and third of four controls."""
    weights = (
        t * (t * (2 - t) - 1) / 2,
        (t * t * (3 * t - 5) + 2) / 2,
        t * (t * (4 - 3 * t) + 1) / 2,
        t * t * (t - 1) / 2,
    )
    x = sum(w * p.x for w, p in zip(weights, four, strict=True))
    y = sum(w * p.y for w, p in zip(weights, four, strict=True))
    return Vector(x, y)


def controls_at(row: Sequence[Control], place: Callable[[str], Vector]) -> tuple[Vector, ...]:
    """Control points of a stored row: names are landmarks, vectors stand as they are.

    A landmark that is not placed (KeyError of `place`) is left out, so that an outline outlives its landmark.
    """
    found: list[Vector] = []
    for control in row:
        if isinstance(control, Vector):
            found.append(control)
            continue
        try:
            found.append(place(control))
        except KeyError:
            continue
    return tuple(found)


Jaw = Literal["upper", "lower"]
# Along the tooth from edge (0, 0) to apex (1, 0), then labial (+) or lingual (−); unit: the tooth's length.
# Lengths 23.5 and 21.5 mm, crowns 10.5 and 9 mm, labiolingual 7 and 6 mm (Wheeler, from memory).
INCISORS: dict[Jaw, tuple[tuple[float, float], ...]] = {
    "upper": (
        (0, 0), (0.12, 0.05), (0.28, 0.095), (0.43, 0.12), (0.62, 0.11), (0.82, 0.075), (0.95, 0.03), (1, 0),
        (0.95, -0.03), (0.82, -0.07), (0.62, -0.105), (0.44, -0.13), (0.33, -0.115), (0.22, -0.055), (0.10, -0.025),
    ),
    "lower": (
        (0, 0), (0.11, 0.045), (0.26, 0.085), (0.40, 0.11), (0.60, 0.105), (0.82, 0.07), (0.95, 0.028), (1, 0),
        (0.95, -0.028), (0.82, -0.065), (0.60, -0.10), (0.41, -0.12), (0.31, -0.105), (0.20, -0.05), (0.09, -0.025),
    ),
}  # fmt: skip
# From the mesiobuccal cusp (0, 0): toward the roots, then distally; unit: the crown's mesiodistal width.
MOLARS: dict[Jaw, tuple[tuple[float, float], ...]] = {
    "upper": (
        (0, 0), (0.12, 0.20), (0.02, 0.46), (0.28, 0.72), (0.72, 0.62), (1.30, 0.66), (1.90, 0.52), (1.50, 0.34),
        (1.05, 0.22), (1.50, 0.10), (1.95, -0.02), (1.30, -0.16), (0.72, -0.18), (0.28, -0.28),
    ),
    "lower": (
        (0, 0), (0.10, 0.20), (0.02, 0.42), (0.28, 0.72), (0.68, 0.62), (1.20, 0.72), (1.90, 0.66), (1.45, 0.42),
        (0.98, 0.26), (1.45, 0.10), (1.95, 0.06), (1.25, -0.14), (0.68, -0.18), (0.28, -0.28),
    ),
}  # fmt: skip
DISTAL_SHARE = 0.72
"""How much of a molar's width lies distal of its mesiobuccal cusp."""
MOLAR_WIDTHS_MM: dict[Jaw, float] = {"upper": 10.0, "lower": 11.0}
"""Mesiodistal widths of first molars, Wheeler, from memory."""


def incisor(jaw: Jaw, edge: Vector, apex: Vector, steps: int = STEPS) -> tuple[Vector, ...]:
    """The closed outline of an incisor through its edge and apex; the face looks forward.

    ValueError when edge and apex lie in one place.
    """
    axis = apex - edge
    if not axis.length:
        raise ValueError("edge and apex lie in one place")
    labial = axis.left.times(-1 if jaw == "upper" else 1)
    return curve([edge + axis.times(u) + labial.times(v) for u, v in INCISORS[jaw]], closed=True, steps=steps)


def molar(jaw: Jaw, cusp: Vector, forward: Vector, width: float, steps: int = STEPS) -> tuple[Vector, ...]:
    """The closed outline of a first molar at its mesiobuccal cusp.

    `forward` is the direction of the occlusal plane, `width` the mesiodistal width in the unit of the points
    (10 and 11 mm on average; with the distal face placed, its distance from the cusp over `DISTAL_SHARE`).
    ValueError without a direction or for a width that is not above 0.
    """
    if not forward.length or width <= 0:
        raise ValueError("a molar needs a direction of the occlusal plane and a width above 0")
    distal = forward.unit().times(-width)
    rootward = forward.unit().left.times(width if jaw == "upper" else -width)
    controls = [cusp + rootward.times(u) + distal.times(v) for u, v in MOLARS[jaw]]
    return curve(controls, closed=True, steps=steps)
