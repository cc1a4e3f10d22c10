"""What marks on a picture measure, and how sure each result is.  Pure.

Places are pixels of the original picture, x to the right and y down.  With a scale, lengths are millimetres in the
plane of that scale; without one there are angles only.  Every error is one standard deviation.

The scale of a ruler in a photograph holds what perspective and tilt leave open already (`imaging.calibration`); for a
photograph with another scale the same shares are added here, and for an angle what a tilt does to it: a plane tilted by
φ reads lengths along the tilt × cos φ, so that a right angle astride the tilt turns into 2·atan(cos φ) (plane
trigonometry).
"""

import math
from collections.abc import Callable, Sequence
from dataclasses import dataclass

from imaging.calibration import TILT_DEGREES, Doubt, Origin, Scale, doubt_sd_percent
from imaging.geometry import near

HAND_SCREEN_PIXELS = 1.5
"""How far a careful hand misses the wanted pixel on the screen (choice, no source)."""
EDGE_PIXELS = 0.5
"""How far the wanted edge itself is blurred, in pixels of the picture as it is shown (choice, no source)."""

STEP_PIXELS = 0.01


@dataclass(frozen=True, slots=True)
class Place:
    """One place of a mark; `zoom` is how many pixels of the screen showed one pixel of the picture when it was put."""

    x: float
    y: float
    zoom: float


@dataclass(frozen=True, slots=True)
class Kind:
    """One kind of mark: how it is called, what its places are in the order of clicking, and the unit it gives."""

    key: str
    label: str
    places: tuple[str, ...]
    unit: str
    help: str


KINDS = {
    kind.key: kind
    for kind in (
        Kind("point", "Point", ("point",), "", "Shows a place; gives no number."),
        Kind("line", "Line", ("start", "end"), "", "Shows a direction; gives no number."),
        Kind("distance", "Distance", ("start", "end"), "mm", "Straight between two places."),
        Kind(
            "from_line",
            "Distance from a line",
            ("start of the line", "end of the line", "place"),
            "mm",
            "Square from a line to a place: first the line, then the place.",
        ),
        Kind(
            "angle", "Angle", ("first arm", "corner", "second arm"), "deg", "Between two arms, at the corner."
        ),
    )
}


@dataclass(frozen=True, slots=True)
class Allowance:
    """What the view itself may do to a result: per cent of a length, degrees of an angle, and the words for it."""

    percent: float
    degrees: float
    words: str


@dataclass(frozen=True, slots=True)
class Result:
    """One number with its standard deviation and what that is made of: click, scale, view."""

    value: float
    unit: str
    parts: tuple[tuple[str, float], ...]

    @property
    def sd(self) -> float:
        return math.hypot(*(size for _, size in self.parts))


def allowance(scale: Scale | None, *, projected: bool, doubted: bool = True) -> Allowance:
    """What is allowed for the view, beside the error of the scale; `projected` is a radiograph.

    `doubted`: a ruler's scale holds perspective and tilt, as one does that lies in the plane measured.
    """
    if projected:
        return Allowance(
            0,
            0,
            "Nothing is allowed for depth: a radiograph enlarges what lies farther from the detector, and lengths hold "
            "for the plane of its scale alone.",
        )
    degrees = 90 - 2 * math.degrees(math.atan(math.cos(math.radians(TILT_DEGREES))))
    turned = f"Of an angle {degrees:.1f}°, for a camera up to {TILT_DEGREES:g}° off the square."
    if scale is not None and scale.origin == Origin.RULER and doubted:
        return Allowance(
            0, degrees, f"Perspective and tilt are in the error of the scale. {turned} Depth is not seen."
        )
    percent = doubt_sd_percent(Doubt())
    return Allowance(
        percent,
        degrees,
        f"Of a length {percent:.1f} per cent, for places up to 5 mm off the plane of the scale seen from 30 cm, and a "
        f"camera up to {TILT_DEGREES:g}° off the square. {turned} Depth is not seen.",
    )


def click_sd(zoom: float, share: float = 1.0) -> float:
    """Standard deviation of one coordinate of a place, in pixels of the original picture.

    `share` is how many pixels of the picture as it is shown stand for one of the original, at most 1.
    """
    return math.hypot(EDGE_PIXELS / share, HAND_SCREEN_PIXELS / zoom)


def measured(
    kind: str,
    places: Sequence[Place],
    scale: Scale | None,
    allowed: Allowance,
    share: float = 1.0,
    aspect: float = 1.0,
) -> Result | None:
    """What a mark measures; None for marks without a number, for lengths without a scale, and where places coincide.

    Places are those of the kind, in its order; ValueError for another number of them. `share` as in `click_sd`;
    `aspect` is how many times wider than high a pixel is, for angles without a scale.
    """
    known = KINDS[kind]
    if len(places) != len(known.places):
        raise ValueError(f"{kind} has {len(known.places)} places, not {len(places)}")
    reckoned = _RECKONED.get(kind)
    if reckoned is None or (known.unit == "mm" and scale is None):
        return None
    across, down = (scale.across, scale.down) if scale else (aspect, 1.0)

    def value(flat: Sequence[float]) -> float:
        points = [(flat[i] * across, flat[i + 1] * down) for i in range(0, len(flat), 2)]
        return reckoned(points)

    flat = [part for place in places for part in (place.x, place.y)]
    sds = [click_sd(place.zoom, share) for place in places for _ in "xy"]
    try:
        told = abs(value(flat))
        slopes = [_slope(value, flat, number, known.unit) for number in range(len(flat))]
    except ZeroDivisionError:
        return None
    click = math.hypot(*(slope * sd for slope, sd in zip(slopes, sds, strict=True)))
    if known.unit == "deg":
        return Result(told, "deg", (("click", click), ("view", allowed.degrees)))
    assert scale is not None, "lengths were refused without one"
    return Result(
        told,
        "mm",
        (
            ("click", click),
            ("scale", told * scale.sd_percent / 100),
            ("view", told * allowed.percent / 100),
        ),
    )


def _slope(value: Callable[[Sequence[float]], float], flat: Sequence[float], number: int, unit: str) -> float:
    """How fast the value follows one coordinate, by two small steps; an angle goes round the shorter way."""
    less, more = list(flat), list(flat)
    less[number] -= STEP_PIXELS
    more[number] += STEP_PIXELS
    change = value(more) - value(less)
    return (near(change, 0) if unit == "deg" else change) / (2 * STEP_PIXELS)


Points = Sequence[tuple[float, float]]


def _distance(points: Points) -> float:
    if points[0] == points[1]:
        raise ZeroDivisionError
    return math.dist(points[0], points[1])


def _from_line(points: Points) -> float:
    (ax, ay), (bx, by), (x, y) = points
    return ((bx - ax) * (y - ay) - (by - ay) * (x - ax)) / math.dist(points[0], points[1])


def _angle(points: Points) -> float:
    first, corner, second = points
    u = first[0] - corner[0], first[1] - corner[1]
    v = second[0] - corner[0], second[1] - corner[1]
    if not (any(u) and any(v)):
        raise ZeroDivisionError
    return math.degrees(math.atan2(u[0] * v[1] - u[1] * v[0], u[0] * v[0] + u[1] * v[1]))


_RECKONED: dict[str, Callable[[Points], float]] = {
    "distance": _distance,
    "from_line": _from_line,
    "angle": _angle,
}
"""With their signs: an error is the slope of what is signed, because a number without sign stands still at 0."""
