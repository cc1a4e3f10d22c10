"""The small drawing of where on the casts something was taken: two plain rows of crowns, spots and lines.  Pure.

The patient's right is at the left, the upper row above; the outer side of the upper row is up, of the lower row down.
Sizes are in units of the drawing.
"""

from collections.abc import Iterable, Sequence
from dataclasses import dataclass

from portfolio import teeth
from portfolio.cast_places import Spot, Surface, Taken, taken_at
from portfolio.finding_sheet import Finding

CROWN, GAP, MIDLINE, BETWEEN, EDGE = 6.0, 0.7, 1.4, 3.6, 0.6
TALL = 7.0
WIDTH = round(2 * EDGE + 16 * CROWN + 14 * GAP + MIDLINE, 2)
HEIGHT = 2 * EDGE + 2 * TALL + BETWEEN
AT: dict[Surface, tuple[float, float]] = {
    "middle": (0.5, 0.5),
    "mesial": (0.0, 0.5),
    "distal": (1.0, 0.5),
    "outer": (0.5, 0.12),
    "inner": (0.5, 0.88),
    "mb": (0.25, 0.22),
    "db": (0.75, 0.22),
    "ml": (0.25, 0.78),
    "dl": (0.75, 0.78),
    "dc": (0.92, 0.4),
}
"""Share of a crown's width from its mesial side, and of its height from its outer side."""


@dataclass(frozen=True, slots=True)
class Chart:
    """Paths of all crowns, of those filled and of the joining lines, and the spots; empty paths draw nothing."""

    crowns: str
    filled: str
    lines: str
    spots: tuple[tuple[float, float], ...]
    width: float = WIDTH
    height: float = HEIGHT


@dataclass(frozen=True, slots=True)
class CastPlace:
    """Where the findings of a line were taken: a phrase for each place that goes on after "taken", and the drawing."""

    words: tuple[str, ...]
    chart: Chart


MOST_PHRASES = 3
"""More places are told by their number; the drawing shows all."""


def cast_place(findings: Sequence[Finding], notation: str) -> CastPlace | None:
    """Where on the casts a line's findings were taken; None where no place of the casts shows any of them."""
    taken = [one for finding in findings if (one := taken_at(finding, notation)) is not None]
    if not taken:
        return None
    words = tuple(dict.fromkeys(one.words for one in taken))
    if len(words) > MOST_PHRASES:
        words = (*words[: MOST_PHRASES - 1], f"at {len(words) - MOST_PHRASES + 1} more places")
    return CastPlace(words, chart(taken))


def chart(taken: Sequence[Taken]) -> Chart:
    """One drawing of everything that was taken for a line."""
    filled = dict.fromkeys(teeth.place(tooth) for one in taken for tooth in one.teeth)
    spots = dict.fromkeys(_place(spot) for one in taken for spot in one.spots)
    joins = dict.fromkeys((_place(a), _place(b)) for one in taken for a, b in one.joins)
    return Chart(
        _boxes(teeth.PERMANENT),
        _boxes(filled),
        "".join(f"M{a[0]:g} {a[1]:g}L{b[0]:g} {b[1]:g}" for a, b in joins),
        tuple(spots),
    )


def _corner(place: str) -> tuple[float, float]:
    """Left and top of the crown at a permanent tooth's place."""
    from_right = teeth.order(place)
    left = EDGE + from_right * CROWN + (from_right - (from_right > 7)) * GAP + (from_right > 7) * MIDLINE
    return round(left, 2), EDGE if teeth.arch(place) == "upper" else EDGE + TALL + BETWEEN


def _place(spot: Spot) -> tuple[float, float]:
    tooth, surface = spot
    left, top = _corner(teeth.place(tooth))
    across, down = AT[surface]
    if teeth.side(tooth) == "right":
        across = 1 - across
    if teeth.arch(tooth) == "lower":
        down = 1 - down
    return round(left + across * CROWN, 2), round(top + down * TALL, 2)


def _boxes(places: Iterable[str]) -> str:
    return "".join(f"M{x:g} {y:g}h{CROWN:g}v{TALL:g}h{-CROWN:g}z" for x, y in map(_corner, places))
