"""A tracing as the face that formulas read, and why it cannot be read where the picture lies wrong."""

from collections.abc import Mapping
from types import MappingProxyType
from typing import TypedDict

from imaging.calibration import Scale
from imaging.cephalometry.face import Face, Spot
from imaging.cephalometry.landmarks import DEFAULT_POINT_SD_MM
from imaging.geometry import Vector
from imaging.tracing.formulas import UNCERTAIN_POINT_SD_MM
from imaging.tracing.on_picture import Axes

LYING_WORDS = "The picture lies on its side. Turn it on its own page until the head stands upright; the points go with it."


class Placed(TypedDict):
    """One point in pixels of the original picture, y down."""

    x: float
    y: float
    uncertain: bool


Points = Mapping[str, Placed]


def face_of(
    points: Points,
    axes: Axes,
    scale: Scale | None,
    mandibular_plane: str,
    own_sds: Mapping[str, float] = MappingProxyType({}),
) -> Face:
    """The face of these points; `axes` already hold the scale where there is one.

    `own_sds` are the reader's own standard deviations by point, which stand in place of the default.
    """
    spots = {
        name: Spot(Vector(*axes(at["x"], at["y"])), point_sd(own_sds.get(name), uncertain=at["uncertain"]))
        for name, at in points.items()
    }
    return Face(spots, scale is not None, scale.sd_percent if scale else 0.0, mandibular_plane)


def point_sd(own: float | None, *, uncertain: bool) -> float:
    """The standard deviation of a coordinate in mm: the reader's own where known, twice as much when uncertain."""
    if own is None:
        return UNCERTAIN_POINT_SD_MM if uncertain else DEFAULT_POINT_SD_MM
    return own * UNCERTAIN_POINT_SD_MM / DEFAULT_POINT_SD_MM if uncertain else own


def mirrored_words(face: Face) -> str:
    """What is wrong when the chin lies above the line of the skull; empty when it does not."""
    chin, line = face.mirrored_at()
    if not chin:
        return ""
    lie = "lie" if "," in chin else "lies"
    return (
        f"{chin} {lie} above {line}, as in a mirrored or upside-down picture. Check to which side the patient faces, "
        "and where these points lie."
    )
