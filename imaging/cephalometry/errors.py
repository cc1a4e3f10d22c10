"""Errors of a measure from the errors of its points, to first order, with named parts.

Each coordinate of each point errs by itself; the scale errs once for all lengths of a tracing.  A part is the
measure's change by one standard deviation of its cause, with sign, under the cause's name: `N.x` (forward),
`N.y` (up), `scale`.  Equal names of one tracing are one cause, so ANB knows that SNA and SNB share N, and two
measures of one tracing go together as `covariance` says.

Source of the method: propagation of uncertainty, JCGM 100:2008 section 5 (from memory).
"""

import math
from collections.abc import Mapping

from imaging.cephalometry.face import Face
from imaging.cephalometry.shapes import Slopes

Parts = Mapping[str, float]
SCALE = "scale"
NOISE_DEVIATIONS = 2.0
"""A change is told apart from noise beyond this many standard deviations of a difference (about 95 %)."""


def parts_of(face: Face, value: float, slopes: Slopes, is_length: bool) -> Parts:
    """The named parts of a measure read on a face, in the measure's unit; causes without effect are left out.

    `slopes` may name constructed points; their errors are those of the points they are made of.
    """
    found: dict[str, float] = {}
    for name, slope in slopes.items():
        made_of = face.made_of(name)
        for part in made_of:
            sd = face.points[part].sd / len(made_of)
            for axis, steepness in (("x", slope.x), ("y", slope.y)):
                found[f"{part}.{axis}"] = found.get(f"{part}.{axis}", 0.0) + steepness * sd
    if is_length:
        found[SCALE] = value * face.scale_sd_percent / 100
    return {name: part for name, part in found.items() if part}


def sd_of(parts: Parts) -> float:
    """The standard deviation that named parts come to together."""
    return math.sqrt(sum(part * part for part in parts.values()))


def covariance(one: Parts, other: Parts) -> float:
    """The covariance of two measures of one tracing, through the causes that they share."""
    return sum(part * other[name] for name, part in one.items() if name in other)


def noise_limit(first_sd: float, second_sd: float) -> float:
    """The change between two tracings below which it may be one observer's noise.

    With equal deviations 2·√2·SD.  The two tracings err independently of each other.
    """
    return NOISE_DEVIATIONS * math.hypot(first_sd, second_sd)
