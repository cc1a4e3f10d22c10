"""A traced face: points in one frame, whatever way the picture lay."""

from collections.abc import Iterable, Mapping
from dataclasses import dataclass, field
from functools import cached_property

from imaging.cephalometry.landmarks import CHIN, DEFAULT_POINT_SD_MM, LANDMARKS
from imaging.cephalometry.planes import Constructed, constructed
from imaging.geometry import Vector, mean

STRUCTURES = ("cranial_base", "maxilla", "mandible")
PLACE_IN_LIST = {landmark.key: place for place, landmark in enumerate(LANDMARKS)}
USUAL_SN_MM = (60, 85)
"""S-N outside it suggests a wrong scale (choice, common practice, no source)."""


@dataclass(frozen=True, slots=True)
class Spot:
    """One placed point: profile facing +x, y up; `sd` of each coordinate in millimetres."""

    at: Vector
    sd: float = DEFAULT_POINT_SD_MM


@dataclass(frozen=True)
class Face:
    """All points of one tracing.

    Points are in millimetres when `calibrated`, else in the picture's own unit, and then only angles and
    ratios mean anything.  `scale_sd_percent` is the standard deviation of the scale, shared by every length.
    `fiducials` are marks on stable structures, by structure and name.
    """

    points: Mapping[str, Spot]
    calibrated: bool = True
    scale_sd_percent: float = 0.0
    mandibular_plane: str = "go_me"
    fiducials: Mapping[str, Mapping[str, Spot]] = field(default_factory=dict)

    @cached_property
    def _constructed(self) -> Mapping[str, Constructed]:
        return constructed(self.mandibular_plane)

    def made_of(self, name: str) -> tuple[str, ...]:
        """The placed points whose mean is the point of a name; empty when it cannot be had."""
        known = self._constructed.get(name)
        ways = known.ways if known else ((name,),)
        return next((way for way in ways if all(part in self.points for part in way)), ())

    def place(self, name: str) -> Vector:
        """Where a placed or constructed point lies; KeyError when it cannot be had."""
        parts = self.made_of(name)
        if not parts:
            raise KeyError(name)
        return mean([self.points[part].at for part in parts])

    def lacks(self, names: Iterable[str]) -> tuple[str, ...]:
        """The landmarks to be placed before all of the named points can be had, in the list's order."""
        found: list[str] = []
        for name in names:
            if self.made_of(name):
                continue
            known = self._constructed.get(name)
            if known is None or known.asks:
                found.append(known.asks if known else name)
            else:
                found += [part for part in known.ways[0] if part not in self.points]
        return tuple(sorted(set(found), key=PLACE_IN_LIST.__getitem__))

    def mirrored_at(self) -> tuple[str, str]:
        """Points of the chin above a line of the skull, and that line; empty texts when the face is the right way.

        The line is S-N, or Frankfort horizontal where S or N is not placed.  Turning the head as a whole does
        not matter.
        """
        for back, front in (("S", "N"), ("Po", "Or")):
            if back not in self.points or front not in self.points:
                continue
            start = self.points[back].at
            forward = self.points[front].at - start
            above = [p for p in CHIN if p in self.points and forward.cross(self.points[p].at - start) > 0]
            return (", ".join(above), f"{back}-{front}") if above else ("", "")
        return "", ""

    def scale_hint(self) -> str:
        """Words when S-N has an unusual length, so that the scale may be wrong; else empty."""
        if not self.calibrated or self.lacks(("S", "N")):
            return ""
        length = (self.points["N"].at - self.points["S"].at).length
        low, high = USUAL_SN_MM
        if low <= length <= high:
            return ""
        return f"S-N is {length:.1f} mm, usually {low} to {high}: check the scale"
