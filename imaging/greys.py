"""From greys of up to 16 bits to those of 8: counting, the range that is shown, and looking up, strip by strip.

Strips, because the tools underneath take eight bytes for each pixel they count or look up at once.
"""

from collections.abc import Iterable
from typing import Any

import numpy as np
import numpy.typing as npt

Values = npt.NDArray[Any]
Counts = npt.NDArray[np.int64]
STRIP = 128
"""Rows that are worked on at once."""
CUT_OFF = (0.5, 99.5)
"""Percentiles that become black and white where no window is stated (choice, no source)."""
NO_WINDOW = "no window is stated"
BY_RANGE = "from the darkest to the brightest, half a per cent cut off each"
WHITE = 255


def strips(values: Values) -> Iterable[Values]:
    """Pieces of a picture, a hundred rows or so each."""
    return (values[top : top + STRIP] for top in range(0, len(values), STRIP))


def counted(pieces: Iterable[Values], patterns: int) -> Counts:
    """How many pixels hold each of so many patterns; pieces of unsigned whole numbers below that."""
    counts = np.zeros(patterns, np.int64)
    for piece in pieces:
        counts += np.bincount(piece.ravel(), minlength=patterns)
    return counts


def looked_up(values: Values, table: Values) -> npt.NDArray[np.uint8]:
    """The picture of 8 bits that a table of greys makes of values."""
    shown = np.empty(values.shape, np.uint8)
    for piece, to in zip(strips(values), strips(shown), strict=True):
        to[...] = table[piece]
    return shown


def ends_of(meant: Values, counts: Counts) -> tuple[float, float]:
    """The values that become black and white: at the cut-offs; the whole range where these coincide.

    `meant`: what each pattern means; `counts`: how many pixels hold it. Both ends are equal where only one grey is used.
    """
    order: Values = np.argsort(meant, kind="stable")
    order = order[counts[order] > 0]
    share = np.cumsum(counts[order]) / counts.sum() * 100
    low, high = (float(meant[order[min(int(np.searchsorted(share, at)), len(order) - 1)]]) for at in CUT_OFF)
    return (low, high) if low < high else (float(meant[order[0]]), float(meant[order[-1]]))


def stretched(values: Values, low: float, high: float) -> npt.NDArray[np.uint8]:
    """Greys of 8 bits of which `low` is black and `high` is white, rounded; raises ZeroDivisionError where both are equal."""
    if low == high:
        raise ZeroDivisionError
    return np.clip((values - low) / (high - low) * WHITE + 0.5, 0, WHITE).astype(np.uint8)


def table_of(counts: Counts) -> npt.NDArray[np.uint8]:
    """The table for a picture whose patterns mean themselves; a plain one is scaled by the bits its grey needs."""
    meant = np.arange(len(counts))
    low, high = ends_of(meant, counts)
    if low == high:
        low, high = 0.0, float(2 ** max(8, int(high).bit_length()) - 1)
    return stretched(meant, low, high)
