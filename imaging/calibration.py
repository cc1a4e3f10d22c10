"""The scale of a picture: millimetres for a pixel of the original, where they come from, and how far they err.

Places are in pixels of the original picture, x to the right and y down; lengths in millimetres; errors are one
standard deviation in per cent of every length.  Uncalibrated is None, never a scale of 1.  Pure.
"""

import math
from collections.abc import Sequence
from dataclasses import dataclass
from enum import StrEnum

from imaging.cephalometry.face import USUAL_SN_MM

CLICK_SD_MM = 0.3
"""One click on a mark of a ruler, along the ruler (choice, common practice, no source)."""
SHORT_RULER_MM = 30
"""Below it the clicks alone make the scale err by more than 1.4 per cent (choice, no source)."""
RULER_MM = (1, 1000)
LEAST_PIXELS = 20
"""Two clicks must lie that far apart; nearer they cannot be told from a slip."""
MOST_DIFFERENCE_PERCENT = 2.0
"""Two rulers of one picture that differ more are warned about (choice, no source)."""
WITHIN_DEGREES = 30
"""A second ruler helps only when one lies along the width and one along the height, each within this angle."""
FACTOR = (0.5, 3.0)
USUAL_FACTOR = (1.0, 1.35)
"""5 ft from source to midplane and 15 cm on to the film enlarge 1.098 times; one unit delivered 1.33 times (printing
standard study of 2021, read in an excerpt)."""
FACTOR_SD_PERCENT = 1.15
"""Repeated films of one maker's units differ by up to 2.3 per cent (Rino Neto et al., Dental Press J Orthod
2013;18(2), read in an excerpt); half of it is taken as one standard deviation (choice)."""
OFF_PLANE_MM, LENS_MM, TILT_DEGREES = 5.0, 300.0, 10.0
"""How far a bar may lie off the plane of a photograph that is measured, how far the lens is, and how far the picture
may be tilted, where nobody says otherwise (choice, no source)."""


class ScaleRefused(ValueError):
    """No scale can be told from what was given; `field` names the entry it is about, the text says why."""

    def __init__(self, field: str, words: str) -> None:
        super().__init__(words)
        self.field = field


class Origin(StrEnum):
    """Where a scale comes from."""

    RULER = "ruler"
    FILE = "file"
    MAGNIFICATION = "magnification"


class Size(StrEnum):
    """Which size its millimetres have: that of the patient, that on film or detector, or nobody can tell which."""

    NATURAL = "natural"
    FILM = "film"
    UNKNOWN = "unknown"


class Plane(StrEnum):
    """Where a ruler lies: amid the patient, on the film or detector, or in the plane of a photograph that is measured."""

    MIDSAGITTAL = "midsagittal"
    DETECTOR = "detector"
    MEASURED = "measured"


SIZE_WORDS = {
    Size.NATURAL: "natural size",
    Size.FILM: "size on the film, enlarged by an unknown factor",
    Size.UNKNOWN: "natural size or size on the film; the file does not tell which",
}
UNITS = {Size.NATURAL: "mm", Size.FILM: "film mm", Size.UNKNOWN: "mm (natural or film size)"}


@dataclass(frozen=True, slots=True)
class Scale:
    """Millimetres for a pixel of the original, across and down, and their standard deviation in per cent.

    `words` is one sentence on where it comes from.
    """

    across: float
    down: float
    sd_percent: float
    origin: Origin
    size: Size
    words: str

    @property
    def unit(self) -> str:
        """How a length by this scale has to be labelled."""
        return UNITS[self.size]

    def length(self, start: tuple[float, float], end: tuple[float, float]) -> float:
        """Millimetres between two places of the original."""
        return math.hypot((end[0] - start[0]) * self.across, (end[1] - start[1]) * self.down)

    def divided(self, factor: float) -> tuple[float, float]:
        """Across and down after the enlargement by a factor is taken out."""
        return self.across / factor, self.down / factor


@dataclass(frozen=True, slots=True)
class Ruler:
    """Two marks of a ruler and how many millimetres lie between them."""

    start: tuple[float, float]
    end: tuple[float, float]
    millimetres: float

    def pixels(self, aspect: float = 1.0) -> float:
        """Its length in pixels, those across counted `aspect` times (how many times wider than high a pixel is)."""
        return math.hypot((self.end[0] - self.start[0]) * aspect, self.end[1] - self.start[1])

    @property
    def degrees(self) -> float:
        """The angle to the width of the picture, 0 to 90."""
        return math.degrees(math.atan2(abs(self.end[1] - self.start[1]), abs(self.end[0] - self.start[0])))


@dataclass(frozen=True, slots=True)
class Doubt:
    """How far a photograph may be off: bar to measured plane and plane to lens in mm, tilt in degrees."""

    off_plane: float = OFF_PLANE_MM
    lens: float = LENS_MM
    tilt: float = TILT_DEGREES


@dataclass(frozen=True, slots=True)
class RulerReading:
    """All that is said of one or two rulers in a picture.

    `factor` is how many times a ruler on the detector stands for natural size; None when nobody knows, then the
    scale is that of the film.  `aspect`: how many times wider than high a pixel of the original is.
    """

    first: Ruler
    plane: Plane
    second: Ruler | None = None
    factor: float | None = None
    factor_sd_percent: float = FACTOR_SD_PERCENT
    doubt: Doubt = Doubt()
    aspect: float = 1.0


def click_sd_percent(millimetres: float) -> float:
    """What two clicks on a ruler of this length leave open: √2 · 0.3 mm / length, in per cent.

    100 mm: 0.4, 30 mm: 1.4, 20 mm: 2.1.  Source: the errors of two ends add in squares (JCGM 100:2008 section 5,
    from memory).
    """
    return 100 * math.sqrt(2) * CLICK_SD_MM / millimetres


def doubt_sd_percent(doubt: Doubt) -> float:
    """What perspective and tilt leave open in a photograph, in per cent.

    A bar that lies dz nearer to a lens at distance D errs by dz/(D − dz): 5 mm at 300 mm 1.7 per cent; a length along
    a tilt by φ shrinks to cos φ: 10° 1.5 per cent.  Source: central projection, computed.  Both are taken as one
    standard deviation.
    """
    perspective = doubt.off_plane / (doubt.lens - doubt.off_plane)
    return 100 * math.hypot(perspective, 1 - math.cos(math.radians(doubt.tilt)))


def by_ruler(reading: RulerReading) -> Scale:
    """The scale that rulers of stated length give; raises ScaleRefused.

    One ruler: its millimetres over its pixels, for both directions by the pixels' shape.  Two, one along the width and
    one along the height: the pair of scales that fits both.
    """
    rulers = [reading.first, *([reading.second] if reading.second else [])]
    for number, ruler in enumerate(rulers, 1):
        _check_ruler(ruler, f"ruler_{number}")
    across, down = _pair(reading)
    sd = max(click_sd_percent(ruler.millimetres) for ruler in rulers)
    if reading.plane == Plane.MEASURED:
        sd = math.hypot(sd, doubt_sd_percent(_checked(reading.doubt)))
    size, words = Size.NATURAL, _ruler_words(rulers, reading)
    if reading.plane == Plane.DETECTOR:
        if reading.factor is None:
            size = Size.FILM
        else:
            _check_factor(reading.factor)
            across, down = across / reading.factor, down / reading.factor
            sd = math.hypot(sd, reading.factor_sd_percent)
    return Scale(across, down, sd, Origin.RULER, size, words)


def by_magnification(film: Scale, factor: float, factor_sd_percent: float = FACTOR_SD_PERCENT) -> Scale:
    """Natural size from a scale of the film and a stated enlargement (1.098 is 9.8 per cent); raises ScaleRefused."""
    _check_factor(factor)
    across, down = film.divided(factor)
    sd = math.hypot(film.sd_percent, factor_sd_percent)
    words = f"Size on the film divided by the stated magnification of {factor:g}. {film.words}"
    return Scale(across, down, sd, Origin.MAGNIFICATION, Size.NATURAL, words)


def typed_film_scale(across: float, down: float) -> Scale:
    """A scale of the film that a person states, for instance from the resolution of a scanner."""
    words = f"Stated on the film: {across:g} mm across and {down:g} mm down a pixel."
    return Scale(across, down, 0.0, Origin.MAGNIFICATION, Size.FILM, words)


def ruler_warnings(reading: RulerReading) -> tuple[str, ...]:
    """What a person has to know about rulers that are taken all the same."""
    words = []
    for number, ruler in enumerate((reading.first, reading.second), 1):
        if ruler is not None and ruler.millimetres < SHORT_RULER_MM:
            words.append(
                f"Ruler {number} shows {ruler.millimetres:g} mm. Below {SHORT_RULER_MM} mm the clicks alone make every "
                f"length err by ± {click_sd_percent(ruler.millimetres):.1f} per cent: click marks further apart if there "
                "are any."
            )
    if reading.second is not None:
        percent = difference_percent(reading.first, reading.second, reading.aspect)
        if percent > MOST_DIFFERENCE_PERCENT:
            words.append(
                f"The two rulers differ by {percent:.1f} per cent, more than {MOST_DIFFERENCE_PERCENT:g}. Either a click or "
                "a length is wrong, or the picture was stretched in one direction; the scale fits both rulers."
            )
    if reading.plane == Plane.DETECTOR and reading.factor is None:
        words.append(
            "Without the magnification every length is that on the film, longer than in the patient, and is labelled so."
        )
    if reading.plane == Plane.DETECTOR and reading.factor is not None:
        words += factor_warnings(reading.factor)
    return tuple(words)


def factor_warnings(factor: float) -> list[str]:
    """Words when a magnification is unusual."""
    low, high = USUAL_FACTOR
    if low <= factor <= high:
        return []
    return [f"A magnification of {factor:g} is unusual; {low:g} to {high:g} is what units have. Check it."]


def difference_percent(first: Ruler, second: Ruler, aspect: float = 1.0) -> float:
    """By how many per cent of their mean the scales of two rulers differ."""
    one, other = (ruler.millimetres / ruler.pixels(aspect) for ruler in (first, second))
    return 200 * abs(one - other) / (one + other)


def sn_words(millimetres: float, size: Size = Size.NATURAL) -> str:
    """Words when S-N has an unusual length, so that the scale may be wrong; else empty."""
    low, high = USUAL_SN_MM
    if low <= millimetres <= high:
        return ""
    on_film = " on the film" if size == Size.FILM else ""
    return (
        f"S-N would be {millimetres:.1f} mm long{on_film}, usually {low} to {high}. Check the clicks, the stated length and "
        "the magnification before you use any length."
    )


def _check_ruler(ruler: Ruler, field: str) -> None:
    low, high = RULER_MM
    if not low <= ruler.millimetres <= high:
        raise ScaleRefused(
            f"{field}_mm", f"{ruler.millimetres:g} mm; a length from {low} to {high} mm is taken."
        )
    if ruler.pixels() < LEAST_PIXELS:
        raise ScaleRefused(
            f"{field}_end",
            f"The two marks lie {ruler.pixels():.0f} pixels apart; at least {LEAST_PIXELS} are needed. Click two marks "
            "further apart.",
        )


def _check_factor(factor: float) -> None:
    low, high = FACTOR
    if not low <= factor <= high:
        raise ScaleRefused("factor", f"{factor:g}; a magnification from {low:g} to {high:g} is taken.")


def _checked(doubt: Doubt) -> Doubt:
    if not 0 <= doubt.off_plane <= doubt.lens / 2:
        raise ScaleRefused(
            "off_plane", f"{doubt.off_plane:g} mm; 0 to half the distance of the lens is taken."
        )
    return doubt


def _pair(reading: RulerReading) -> tuple[float, float]:
    first, second = reading.first, reading.second
    if second is None:
        down = first.millimetres / first.pixels(reading.aspect)
        return down * reading.aspect, down
    low, high = sorted((first.degrees, second.degrees))
    if low > WITHIN_DEGREES or high < 90 - WITHIN_DEGREES:
        raise ScaleRefused(
            "ruler_2_end",
            f"The rulers lie at {first.degrees:.0f}° and {second.degrees:.0f}° to the width of the picture. A second ruler "
            f"tells something only when one lies along the width and one along the height, each within {WITHIN_DEGREES}°; "
            "leave the second one out.",
        )
    return _fitted(first, second)


def _fitted(first: Ruler, second: Ruler) -> tuple[float, float]:
    """The pair (a, d) with (a·dx)² + (d·dy)² = mm² for both rulers: two linear equations in a² and d²."""
    (p, q), (r, s) = (
        ((one.end[0] - one.start[0]) ** 2, (one.end[1] - one.start[1]) ** 2) for one in (first, second)
    )
    m, n = first.millimetres**2, second.millimetres**2
    whole = p * s - q * r
    across, down = (m * s - n * q) / whole, (p * n - r * m) / whole
    if across <= 0 or down <= 0:
        raise ScaleRefused(
            "ruler_2_mm", "No scale fits both rulers. Check which length belongs to which two marks."
        )
    return math.sqrt(across), math.sqrt(down)


def _ruler_words(rulers: Sequence[Ruler], reading: RulerReading) -> str:
    lengths = " and ".join(f"{ruler.millimetres:g} mm" for ruler in rulers)
    what = f"{'A ruler' if len(rulers) == 1 else 'Two rulers'} of {lengths} in the picture"
    if reading.plane == Plane.MIDSAGITTAL:
        return f"{what}, lying amid the patient."
    if reading.plane == Plane.MEASURED:
        return f"{what}, lying in the plane that is measured."
    if reading.factor is None:
        return f"{what}, lying on the film or detector; its magnification is not stated."
    return (
        f"{what}, lying on the film or detector, divided by the stated magnification of {reading.factor:g}."
    )
