"""The outlines a reader traces, on an invented face: rows of landmarks and points between them, in millimetres."""

from collections.abc import Mapping

from demo.radiographs.face import USUAL_BASE, Jaws, Points, Skull, chin_motion
from imaging.cephalometry.outlines import STEPS, STRUCTURES, Control, controls_at, curve
from imaging.geometry import Vector

SELLA = (
    (4.6, 5.6), (5.6, 2.4), (5.0, -1.4), (3.0, -4.6), (-0.4, -5.6), (-3.8, -4.4), (-5.6, -1.0), (-5.9, 2.6),
    (-4.8, 5.0),
)  # fmt: skip
CLIVUS = ((-19.6, -26.0), (-13.4, -10.0), (-9.6, 0.2), (-8.2, 4.6))
PLANUM = ((6.6, 6.4), (14.0, 7.2), (24.0, 5.6), (36.0, 4.0), (48.0, 6.4), (58.0, 11.0), (64.6, 13.6))
ORBIT = (
    (24.0, 4.0), (36.0, 9.6), (47.0, 9.0), (54.0, 4.0), (53.6, -5.0), (52.2, -12.0), (54.2, -18.0),
)  # fmt: skip
ORBIT_FLOOR = ((48.0, -19.2), (38.0, -16.8), (29.0, -13.6))


def sized(skull: Skull, *spots: tuple[float, float]) -> list[Vector]:
    """Places of the skull of usual size, on this skull."""
    size = skull.base / USUAL_BASE
    return [Vector(x * size, y * size) for x, y in spots]


def lower_crest(jaws: Jaws, points: Points) -> Vector:
    """The alveolar crest before the lower incisor."""
    axis = (points["L1"] - points["L1A"]).unit()
    return points["L1"] - axis.times(10.6 * jaws.chin) - axis.left.times(2.9)


def upper_crest(points: Points) -> Vector:
    """The alveolar crest before the upper incisor."""
    axis = (points["U1"] - points["U1A"]).unit()
    return points["U1"] - axis.times(11.6) + axis.left.times(3.2)


def rows(skull: Skull, jaws: Jaws, points: Points) -> dict[str, tuple[Control, ...]]:
    """Control points of every structure that is traced, by its key."""
    n = points["N"]
    return {
        "sella": tuple(sized(skull, *SELLA)),
        "cranial_base": (
            "Ba",
            *sized(skull, *CLIVUS),
            *sized(skull, *reversed(SELLA)),
            *sized(skull, *PLANUM),
            n + Vector(-1.6, 1.2),
            "N",
        ),
        "orbit": (*sized(skull, *ORBIT), "Or", *sized(skull, *ORBIT_FLOOR)),
        **_upper_rows(points),
        **_lower_rows(skull, jaws, points),
        "profile": _profile(points),
    }


def _upper_rows(points: Points) -> dict[str, tuple[Control, ...]]:
    spine, a, crest = points["ANS"], points["A"], upper_crest(points)
    middle = a + (crest - a).times(0.5) + Vector(0.5, 0)
    return {
        "maxilla": ("ANS", spine + Vector(-2.4, -1.8), "A", middle, crest),
        "palate": ("PNS", *(_between(points["PNS"], spine, t, rise) for t, rise in PALATE), "ANS"),
    }


def _lower_rows(skull: Skull, jaws: Jaws, points: Points) -> dict[str, tuple[Control, ...]]:
    go, me, ar = points["Go"], points["Me"], points["Ar"]
    up, along = (ar - go).unit(), (me - go).unit()
    back_border = go + up.times((ar - go).length * 0.55) + along.times(1.1)
    corner = go + (up + along).unit().times(4.2)
    notch = go + along.times((me - go).length * 0.52) + along.left.times(1.5)
    before_me = me - along.times(7) + along.left.times(0.35)
    at = chin_motion(skull, jaws, me)
    crest = lower_crest(jaws, points)
    below_crest = (crest + points["B"]).times(0.5) + at.turned(Vector(-0.7, 0))
    return {
        "mandible": (
            *("Co", points["Cd"], "Ar", back_border, go + up.times(13) + along.times(0.4)),
            *(corner, "MT", notch, before_me, "Me"),
        ),
        "symphysis": (crest, below_crest, "B", "PM", "Pog", "Gn", at(Vector(2.3, 1.6)), "Me"),
    }


def _profile(points: Points) -> tuple[Control, ...]:
    forehead, root, tip = points["G'"], points["N'"], points["Prn"]
    base, lip, chin, under = points["Sn"], points["Ls"], points["Pog'"], points["Me'"]
    return (
        *(forehead + Vector(-0.8, 15), "G'", "N'", root + (tip - root).times(0.55) + Vector(0.6, 0.4)),
        *(tip + Vector(-3.4, 5.4), "Prn", tip + Vector(-0.9, -3.6), "Cm", "Sn"),
        *(base + (lip - base).times(0.55) + Vector(-0.9, 0), "Ls", "Stm", "Li", "Sl", "Pog'"),
        *(chin + Vector(-3.0, -9.0), "Me'", under + Vector(-12.0, 0), under + Vector(-23.0, -0.6)),
    )


PALATE = ((0.25, -0.5), (0.5, -0.9), (0.75, -0.6), (0.92, 0.3))


def _between(start: Vector, end: Vector, t: float, rise: float) -> Vector:
    return start + (end - start).times(t) + (end - start).unit().left.times(rise)


CLOSED = {structure.key: structure.closed for structure in STRUCTURES}


def drawn(
    points: Points, outlines: Mapping[str, tuple[Control, ...]], key: str, steps: int = STEPS
) -> list[Vector]:
    """The curve of one structure as a polyline."""
    return list(curve(controls_at(outlines[key], points.__getitem__), CLOSED[key], steps))
