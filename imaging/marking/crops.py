"""The enlarged part of a picture round its marks, and the marks drawn on it.  Pure.

Places come in pixels of the original and go to pixels of the picture as it is shown; a crop has whole pixels of that.
"""

import math
from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass
from typing import Any

from imaging.marking.measures import KINDS

MARGIN = 0.4
"""Shown round the marks: this share of their longer side."""
LEAST_SIDE = 0.12
"""A crop is at least this share of the picture's longer side, so that one sees where one is."""
SHAPE = 4 / 3
"""The longer side of a crop to its shorter one is at most that, where the picture allows it."""

Point = tuple[float, float]


@dataclass(frozen=True, slots=True)
class Crop:
    """A part of the shown picture in whole pixels, with lines (SVG paths) and points in pixels of the part.

    `names` are x, y, SVG anchor and text of names beside their points.
    """

    left: int
    top: int
    width: int
    height: int
    paths: tuple[str, ...]
    points: tuple[Point, ...]
    names: tuple[tuple[float, float, str, str], ...] = ()

    @property
    def box(self) -> tuple[int, int, int, int]:
        """Left, top, right, bottom."""
        return self.left, self.top, self.left + self.width, self.top + self.height

    @property
    def unit(self) -> float:
        """A hundredth of the longer side, for widths of strokes that look alike in every crop."""
        return max(self.width, self.height) / 100


def crop_of(
    marks: Mapping[str, Any],
    show: Callable[[float, float], Point],
    size: Point,
    *,
    named: bool = False,
    lines: Sequence[tuple[Point, Point]] = (),
) -> Crop | None:
    """The crop round marks in a picture shown in `size` (width, height); None without any, or when they lie outside it.

    `named`: their keys are names to stand beside them.  `lines` are drawn too, as far as they lie in the crop; it does
    not grow for them.
    Entries of another shape than a mark are passed over: evidence is frozen and outlives its program.
    """
    read = [(key, kind, [show(x, y) for x, y in places]) for key, kind, places in _read(marks)]
    drawn = [(kind, places) for _, kind, places in read]
    spots = [spot for _, places in drawn for spot in places]
    width, height = size
    if not spots or not all(0 <= x <= width and 0 <= y <= height for x, y in spots):
        return None
    left, right = _grown([x for x, _ in spots], max(size))
    top, bottom = _grown([y for _, y in spots], max(size))
    wide, high = right - left, bottom - top
    across = min(math.ceil(max(wide, high / SHAPE)), int(width))
    down = min(math.ceil(max(high, wide / SHAPE)), int(height))
    x0, y0 = _kept((left + right) / 2, across, width), _kept((top + bottom) / 2, down, height)
    moved = [(kind, [(x - x0, y - y0) for x, y in places]) for kind, places in drawn]
    return Crop(
        x0,
        y0,
        across,
        down,
        tuple(
            [_line(ends) for line in lines if (ends := _inside(line, show, (x0, y0), (across, down)))]
            + [path for kind, places in moved if (path := _path(kind, places))]
        ),
        tuple((round(x, 2), round(y, 2)) for _, places in moved for x, y in places),
        tuple(_name(key, places[0], (x0, y0), (across, down)) for key, _, places in read if named),
    )


def _name(key: str, place: Point, corner: Point, size: Point) -> tuple[float, float, str, str]:
    """A name up beside its point, on the side where the part has room for it."""
    beside, (x, y) = max(size) / 60, (place[0] - corner[0], place[1] - corner[1])
    left = x > size[0] * 0.85
    return round(x - beside if left else x + beside, 2), round(y - beside, 2), "end" if left else "start", key


def _read(marks: Mapping[str, Any]) -> list[tuple[str, str, list[Point]]]:
    found = []
    for key, mark in marks.items():
        if not isinstance(mark, Mapping) or mark.get("kind") not in KINDS:
            continue
        try:
            found.append((key, mark["kind"], [(float(at["x"]), float(at["y"])) for at in mark["places"]]))
        except (KeyError, TypeError, ValueError):
            continue
    return found


def _grown(values: Sequence[float], longest: float) -> tuple[float, float]:
    low, high = min(values), max(values)
    more = max((high - low) * MARGIN, (longest * LEAST_SIDE - (high - low)) / 2, longest * LEAST_SIDE / 4)
    return low - more, high + more


def _kept(middle: float, length: int, room: float) -> int:
    """Where a part of this length begins round a middle, inside the room."""
    return max(0, min(math.floor(middle - length / 2), int(room) - length))


def _path(kind: str, places: Sequence[Point]) -> str:
    if len(places) < 2:
        return ""
    if kind != "from_line" or len(places) < 3:
        return _line(places)
    (ax, ay), (bx, by), (x, y) = places
    along = (bx - ax, by - ay)
    square = along[0] ** 2 + along[1] ** 2
    if not square:
        return _line(places[1:])
    part = ((x - ax) * along[0] + (y - ay) * along[1]) / square
    foot = ax + part * along[0], ay + part * along[1]
    low, high = min(0.0, part), max(1.0, part)
    ends = [(ax + t * along[0], ay + t * along[1]) for t in (low, high)]
    return _line(ends) + _line([foot, (x, y)])


def _inside(
    line: tuple[Point, Point], show: Callable[[float, float], Point], corner: Point, size: Point
) -> list[Point]:
    """The part of a line that lies in the crop, in its pixels; empty where none does (Liang and Barsky's clipping)."""
    (ax, ay), (bx, by) = (show(x, y) for x, y in line)
    ax, ay, dx, dy = ax - corner[0], ay - corner[1], bx - ax, by - ay
    low, high = 0.0, 1.0
    for start, step, room in ((ax, dx, size[0]), (ay, dy, size[1])):
        if not step:
            if not 0 <= start <= room:
                return []
            continue
        first, last = sorted((-start / step, (room - start) / step))
        low, high = max(low, first), min(high, last)
    return [(ax + t * dx, ay + t * dy) for t in (low, high)] if low < high else []


def _line(points: Sequence[Point]) -> str:
    return "M" + "L".join(f"{x:.2f} {y:.2f}" for x, y in points)
