"""From pixels of the original picture to the picture as it is shown, and to the frame of a face.

The original has x to the right and y down.  What was done to the picture (turns, mirror, crops) moves its pixels;
points are kept on the original and follow.  Pure.
"""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from enum import StrEnum
from typing import Any

TENTHS_OF_ALL = 1000
"""Crops are told in tenths of a per cent."""


class Way(StrEnum):
    """A side of a picture."""

    RIGHT = "right"
    LEFT = "left"
    UP = "up"
    DOWN = "down"


_STEPS: Mapping[Way, tuple[int, int]] = {
    Way.RIGHT: (1, 0),
    Way.LEFT: (-1, 0),
    Way.UP: (0, -1),
    Way.DOWN: (0, 1),
}


@dataclass(frozen=True, slots=True)
class Shown:
    """Where a point of the original lies in the picture as shown: x' = xx·x + xy·y + x0, y' = yx·x + yy·y + y0.

    `width` and `height` are those of the shown picture, in its pixels.
    """

    width: int
    height: int
    xx: float
    xy: float
    x0: float
    yx: float
    yy: float
    y0: float

    def __call__(self, x: float, y: float) -> tuple[float, float]:
        return self.xx * x + self.xy * y + self.x0, self.yx * x + self.yy * y + self.y0

    def way(self, original: Way) -> Way:
        """The side of the shown picture to which a side of the original has come."""
        x, y = _STEPS[original]
        return _nearest(self.xx * x + self.xy * y, self.yx * x + self.yy * y)

    def way_back(self, shown: Way) -> Way:
        """The side of the original that has come to a side of the shown picture."""
        return next(way for way in Way if self.way(way) == shown)


def _nearest(x: float, y: float) -> Way:
    if abs(x) > abs(y):
        return Way.RIGHT if x > 0 else Way.LEFT
    return Way.DOWN if y > 0 else Way.UP


def shown_picture(
    size: tuple[int, int], operations: Sequence[Mapping[str, Any]], longest: int, worked_longest: int
) -> Shown:
    """The map for an original of `size` (width, height) after the operations.

    The picture is made smaller to `worked_longest` pixels on its longer side, worked on, and made smaller to
    `longest`; crops are cut at whole pixels, as `imaging.operations` cuts them.
    """
    now = _scaled(_whole(size), size, worked_longest)
    for one in operations:
        now = _after(now, one)
    return _scaled(now, (now.width, now.height), longest)


def _whole(size: tuple[int, int]) -> Shown:
    return Shown(size[0], size[1], 1, 0, 0, 0, 1, 0)


def _scaled(before: Shown, size: tuple[int, int], longest: int) -> Shown:
    width, height = size
    if max(size) <= longest:
        return before
    share = longest / max(size)
    new = max(1, round(width * share)), max(1, round(height * share))
    across, down = new[0] / width, new[1] / height
    return Shown(
        *new,
        before.xx * across,
        before.xy * across,
        before.x0 * across,
        before.yx * down,
        before.yy * down,
        before.y0 * down,
    )


def _after(b: Shown, operation: Mapping[str, Any]) -> Shown:
    kind = operation["kind"]
    if kind == "mirror":
        return Shown(b.width, b.height, -b.xx, -b.xy, b.width - b.x0, b.yx, b.yy, b.y0)
    if kind == "quarter_right":
        return Shown(b.height, b.width, -b.yx, -b.yy, b.height - b.y0, b.xx, b.xy, b.x0)
    if kind == "quarter_left":
        return Shown(b.height, b.width, b.yx, b.yy, b.y0, -b.xx, -b.xy, b.width - b.x0)
    if kind == "crop":
        tenths = {edge: round(operation[edge] * 10) for edge in ("left", "right", "top", "bottom")}
        left, top = b.width * tenths["left"] // TENTHS_OF_ALL, b.height * tenths["top"] // TENTHS_OF_ALL
        right = b.width - b.width * tenths["right"] // TENTHS_OF_ALL
        bottom = b.height - b.height * tenths["bottom"] // TENTHS_OF_ALL
        width, height = max(right, left + 1) - left, max(bottom, top + 1) - top
        return Shown(width, height, b.xx, b.xy, b.x0 - left, b.yx, b.yy, b.y0 - top)
    return b


@dataclass(frozen=True, slots=True)
class Axes:
    """Rows that turn a point of the original (x, y) into the frame of a face: profile to +x, y up."""

    x: tuple[float, float]
    y: tuple[float, float]

    def __call__(self, x: float, y: float) -> tuple[float, float]:
        return self.x[0] * x + self.x[1] * y, self.y[0] * x + self.y[1] * y


def face_axes(shown: Shown, forward: Way, mm_per_pixel: tuple[float, float] = (1.0, 1.0)) -> Axes | None:
    """The frame of a face that looks to the side `forward` of the original; None when it lies on its side.

    `mm_per_pixel` is across and down the original.
    """
    faces = shown.way(forward)
    if faces not in (Way.RIGHT, Way.LEFT):
        return None
    sign = 1 if faces == Way.RIGHT else -1
    across, down = mm_per_pixel
    return Axes(
        (sign * _sign(shown.xx) * across, sign * _sign(shown.xy) * down),
        (-_sign(shown.yx) * across, -_sign(shown.yy) * down),
    )


def _sign(value: float) -> int:
    return (value > 0) - (value < 0)
