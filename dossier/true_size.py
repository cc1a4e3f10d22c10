"""What fits on paper at its own size, and which way the sheet is turned for it.  Pure.

A true-size page has a margin of 8 mm.  Upright, words stand above what is shown and a line of 100 mm below it; lying,
both stand in a column on its left.  Millimetres throughout.
"""

import math
from collections.abc import Mapping
from dataclasses import dataclass

MARGIN_MM = 8.0
CHECK_MM = 100
HEAD_MM, FOOT_MM, COLUMN_MM = 26.0, 14.0, 40.0
"""Room for the words above, for the line of 100 mm below, and for the column of a lying sheet."""
SPARE_MM = 2.0
"""Left free on a lying sheet, so that rounding moves nothing to the next page."""
FIT, CUT = "fit", "cut"
"""Ways with what is larger than the paper: made smaller, or its edges left out."""
SHEETS: Mapping[str, tuple[float, float]] = {"a4": (210.0, 297.0), "letter": (215.9, 279.4)}


@dataclass(frozen=True, slots=True)
class Placed:
    """Something laid on a sheet: the size it is printed at, in which share of its own size, and the sheet's way.

    `left_out` is what is cut off at each side edge, and at top and foot each; the middle is kept.
    """

    width: float
    height: float
    share: float
    lying: bool
    left_out: tuple[float, float] = (0.0, 0.0)

    @property
    def true(self) -> bool:
        """Whether it is printed at its own size."""
        return self.share == 1

    @property
    def percent(self) -> int:
        """Its share in whole per cent, rounded down, so that what does not fit never says 100."""
        return int(100 * self.share)


def room(paper: str, *, lying: bool) -> tuple[float, float]:
    """Width and height that a true-size page leaves for what is shown."""
    short, long = SHEETS[paper]
    if lying:
        return long - 2 * MARGIN_MM - COLUMN_MM, short - 2 * MARGIN_MM - SPARE_MM
    return short - 2 * MARGIN_MM, long - 2 * MARGIN_MM - HEAD_MM - FOOT_MM


def placed(size: tuple[float, float], paper: str, *, cut: bool = False) -> Placed:
    """At its own size, upright where that fits, else lying; where neither does, as large as fits, and never larger.

    With `cut` it stays at its own size and what does not fit is left out at the edges, on the sheet that shows more.
    `size` is width and height, both greater than 0.
    """
    if cut:
        return _cut(size, paper)
    shares = {
        lying: min(1.0, *(r / s for r, s in zip(room(paper, lying=lying), size, strict=True)))
        for lying in (False, True)
    }
    lying = shares[True] > shares[False]
    share = shares[lying]
    return Placed(size[0] * share, size[1] * share, share, lying)


def _cut(size: tuple[float, float], paper: str) -> Placed:
    windows = {
        lying: (min(size[0], wide), min(size[1], high))
        for lying, (wide, high) in ((way, room(paper, lying=way)) for way in (False, True))
    }
    lying = math.prod(windows[True]) > math.prod(windows[False])
    width, height = windows[lying]
    return Placed(width, height, 1.0, lying, ((size[0] - width) / 2, (size[1] - height) / 2))
