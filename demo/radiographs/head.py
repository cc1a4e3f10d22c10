"""What rays meet in the head behind and above the jaws: skin, vault, base, sinuses, airway, spine."""

import math
from dataclasses import dataclass

import numpy

from demo.radiographs.face import Points, Skull
from demo.radiographs.outlines import drawn, sized
from demo.radiographs.plate import Plate
from imaging.cephalometry.outlines import Control, curve
from imaging.geometry import Vector

Places = tuple[tuple[float, float], ...]

VAULT: Places = (
    (73.4, 20.0), (73.6, 36.0), (67.0, 60.0), (48.0, 82.0), (18.0, 95.0), (-18.0, 96.0), (-52.0, 84.0),
    (-78.0, 60.0), (-91.0, 28.0), (-91.0, -2.0), (-80.0, -26.0), (-62.0, -40.0), (-46.0, -45.0), (-36.0, -45.0),
)  # fmt: skip
INNER: Places = (
    (62.0, 14.0), (66.4, 22.0), (68.0, 36.0), (62.3, 57.0), (45.0, 77.6), (17.0, 90.2), (-17.0, 90.6), (-48.9, 79.4),
    (-73.5, 57.4), (-86.2, 28.0), (-85.2, 0.6), (-74.0, -21.0), (-57.6, -35.0), (-42.0, -40.2),
)  # fmt: skip
FRONTAL_SINUS: Places = ((67.5, 13.0), (70.6, 17.0), (70.4, 26.0), (67.6, 30.0), (65.6, 22.0), (64.8, 15.0))
SPHENOID_SINUS: Places = ((7.0, -2.0), (15.0, 2.5), (21.0, -4.0), (19.0, -13.0), (9.0, -14.0), (2.5, -9.0))
ETHMOID: Places = ((24.0, 1.0), (40.0, 0.5), (55.0, 2.0), (56.0, -12.0), (40.0, -14.0), (24.0, -13.0))
PETROUS: Places = (
    (-8.0, -6.0), (-18.0, 3.0), (-34.0, 1.0), (-48.0, -8.0), (-50.0, -24.0), (-40.0, -40.0), (-30.0, -42.0),
    (-24.0, -30.0), (-12.0, -18.0),
)  # fmt: skip
MASTOID: Places = (
    (-26.0, -14.0),
    (-42.0, -10.0),
    (-48.0, -24.0),
    (-38.0, -46.0),
    (-31.0, -47.0),
    (-26.0, -32.0),
)
PYRAMID: Places = (
    (-7.0, -9.0), (-15.0, 0.5), (-26.0, 1.5), (-36.0, -4.0), (-36.0, -18.0), (-28.0, -27.0), (-17.0, -22.0),
)  # fmt: skip
RIDGE: Places = ((-6.5, -8.0), (-13.0, 0.0), (-24.0, 3.0), (-37.0, -1.0), (-50.0, -9.0), (-62.0, -14.0))
ROOFS: tuple[Places, ...] = (
    ((12.0, 8.0), (27.0, 14.5), (44.0, 17.5), (58.0, 15.5), (65.0, 12.5)),
    ((13.0, 7.0), (28.0, 12.0), (45.0, 14.6), (58.0, 13.0), (65.0, 10.5)),
)
WINGS: tuple[Places, ...] = (
    (
        (10.0, 8.5),
        (18.0, 7.0),
        (23.6, 0.0),
        (24.6, -9.0),
        (21.0, -17.0),
        (12.0, -21.0),
        (0.0, -20.5),
        (-10.0, -17.0),
    ),
    ((9.0, 7.5), (16.0, 6.0), (21.2, -1.0), (22.0, -10.0), (18.6, -18.0), (10.0, -22.5), (-1.0, -22.0)),
)
VESSELS: tuple[Places, ...] = (
    ((16.0, -2.0), (20.0, 18.0), (16.0, 38.0), (8.0, 62.0), (4.0, 84.0)),
    ((18.0, 24.0), (2.0, 44.0), (-16.0, 60.0), (-30.0, 78.0)),
    ((6.0, 12.0), (-18.0, 28.0), (-44.0, 40.0), (-66.0, 42.0)),
)
SUTURES: tuple[Places, ...] = (
    ((15.0, 92.0), (17.0, 76.0), (22.0, 58.0), (20.0, 42.0), (26.0, 26.0)),
    ((-86.0, 40.0), (-72.0, 26.0), (-62.0, 8.0), (-50.0, -6.0)),
)
BACK_OF_THROAT: Places = (
    (14.0, -23.0), (4.0, -26.5), (-4.0, -36.0), (-6.5, -50.0), (-7.5, -72.0), (-9.0, -96.0), (-11.0, -118.0),
    (-14.0, -150.0),
)  # fmt: skip
FRONT_OF_THROAT: Places = (
    (-3.0, -150.0), (3.0, -122.0), (5.0, -106.0), (4.0, -92.0), (1.5, -80.0), (0.5, -70.0), (0.0, -64.0),
    (5.0, -56.0), (12.0, -49.0), (18.0, -44.0), (19.5, -34.0),
)  # fmt: skip


@dataclass(frozen=True, slots=True)
class Exposure:
    """What has been met so far: soft parts and wide bones in coarse plates, everything with an edge in a fine one.

    `skin` is 1 inside the skin and 0 in the air.
    """

    soft: Plate
    wide: Plate
    fine: Plate
    skin: Plate


def draw_head(
    on: Exposure, skull: Skull, points: Points, outlines: dict[str, tuple[Control, ...]], seed: int
) -> None:
    """All of it; `seed` sets where small cells lie."""
    random = numpy.random.default_rng(seed)
    _skin(on, skull, points, outlines)
    _vault(on, skull, points)
    _base(on, skull, points, outlines)
    _cells(on, skull, random)
    _throat(on, skull, points)
    _spine(on, skull)


def smooth(skull: Skull, places: Places, closed: bool = False, steps: int = 5) -> list[Vector]:
    """A curve through places of the skull of usual size."""
    return list(curve(sized(skull, *places), closed, steps))


def _skin(on: Exposure, skull: Skull, points: Points, outlines: dict[str, tuple[Control, ...]]) -> None:
    profile = drawn(points, outlines, "profile", 6)
    middle = Vector(-10, 20)
    crown = [
        p + (p - middle).unit().times(5.4) for p in smooth(skull, VAULT) if p.y > profile[0].y + 6 or p.x < 0
    ]
    crown = [p for p in crown if p.y > -20]
    throat = profile[-1]
    neck = [throat + Vector(x, y) for x, y in ((-7, -3.5), (-11, -13), (-12, -30), (-12, -70))]
    nape = [Vector(x, y) for x, y in ((-70, -160), (-69, -110), (-74, -76), (-86, -46))]
    lower = curve([throat, *neck], steps=6)[1:]
    skin = [*reversed(crown), *profile, *lower, *nape]
    on.soft.body(skin, 0.74, 24.0)
    on.skin.area(skin, 1.0, 0.22)
    on.fine.line(profile[2:], 0.05, 2.4, 0.9)


def _vault(on: Exposure, skull: Skull, points: Points) -> None:
    outer, inner = smooth(skull, VAULT), smooth(skull, INNER)
    on.wide.body([*outer, *sized(skull, (-24, -34), (20, -10), (58, 4))], 0.24, 26.0)
    on.wide.area([*outer, *reversed(inner)], 0.26, 1.3)
    on.fine.line(outer, 0.16, 1.0, 0.4)
    on.fine.line(inner, 0.30, 1.6, 0.6)
    vessels = [smooth(skull, places) for places in VESSELS]
    on.wide.lines(vessels, -0.05, 1.6, 0.8)
    on.wide.lines([[p + Vector(1.3, 0.4) for p in row] for row in vessels], 0.035, 0.7, 0.5)
    for places in SUTURES:
        on.fine.line(_wavy(smooth(skull, places, steps=8)), -0.08, 0.5, 0.3)
    n = points["N"]
    front = [n, n + Vector(2.6, 5.5), *sized(skull, (73.4, 20.0), (73.7, 30.0))]
    on.fine.line(curve(front, steps=5), 0.24, 1.6, 0.45)
    sinus = smooth(skull, FRONTAL_SINUS, closed=True)
    on.fine.area(sinus, -0.22, 0.7)
    on.fine.line(sinus, 0.14, 0.8, 0.35)
    nasal = [n, n + Vector(3.6, -4.6), n + Vector(7.2, -11.5), n + Vector(11.6, -19.4)]
    back = [n + Vector(10.2, -17.6), n + Vector(3.6, -9.0), n + Vector(-2.4, -5.0), n + Vector(-2.6, 0)]
    on.fine.area([*curve(nasal, steps=4), *back], 0.24, 0.55)
    on.fine.line(curve(nasal, steps=4), 0.14, 1.0, 0.35)
    on.fine.line([n + Vector(0.4, 0.2), n + Vector(-3.2, -1.6)], -0.22, 0.6, 0.25)


def _wavy(row: list[Vector]) -> list[Vector]:
    """A suture: to and fro across its course."""
    return [p + Vector(0.8 if i % 2 else -0.8, 0.5 if i % 3 else -0.5) for i, p in enumerate(row)]


def _base(on: Exposure, skull: Skull, points: Points, outlines: dict[str, tuple[Control, ...]]) -> None:
    on.wide.area(smooth(skull, PETROUS, closed=True), 0.22, 4.0)
    on.wide.area(smooth(skull, PYRAMID, closed=True), 0.34, 1.8)
    on.wide.area(smooth(skull, MASTOID, closed=True), 0.16, 2.2)
    on.fine.line(smooth(skull, RIDGE), 0.12, 1.4, 0.6)
    on.fine.line([p + Vector(-1.4, -2.2) for p in smooth(skull, RIDGE)], 0.09, 1.2, 0.6)
    clivus = sized(
        skull, (-6.0, 4.5), (6.0, 4.0), (12.0, -12.0), (0.0, -24.0), (-22.0, -40.0), (-25.0, -38.0)
    )
    on.wide.area([*clivus, *sized(skull, (-14.0, -12.0))], 0.26, 1.2)
    on.fine.lines([smooth(skull, places) for places in (*ROOFS, *WINGS)], 0.15, 1.2, 0.42)
    base = drawn(points, outlines, "cranial_base", 5)
    on.fine.line(base, 0.20, 0.9, 0.28)
    on.fine.line(base, 0.12, 2.4, 0.7)
    on.fine.line(drawn(points, outlines, "sella", 6), 0.18, 1.0, 0.25)
    on.fine.area(sized(skull, (7.4, 5.4), (3.4, 7.6), (1.6, 7.0), (3.8, 4.4), (6.0, 3.2)), 0.34, 0.35)
    on.fine.area(sized(skull, (-4.4, 6.0), (-7.8, 6.2), (-9.8, 0.0), (-7.6, -4.0), (-5.4, 0.0)), 0.26, 0.4)
    under = sized(skull, (20.0, -18.0), (9.0, -21.0), (-4.0, -29.5), (-15.0, -36.5))
    on.fine.line(curve([*under, points["Ba"]], steps=5), 0.30, 1.2, 0.3)
    occiput = [points["Ba"], *sized(skull, (-25.6, -41.0), (-24.0, -42.5))]
    on.fine.line(occiput, 0.26, 1.4, 0.35)
    sinus = smooth(skull, SPHENOID_SINUS, closed=True)
    on.fine.area(sinus, -0.30, 0.8)
    on.fine.line(sinus, 0.12, 0.7)
    ear = points["Po"] - Vector(0, 4.6)
    ring = curve([ear + Vector(x, y) for x, y in ((0, 4.6), (4.2, 0), (0, -4.6), (-4.2, 0))], closed=True)
    on.fine.area(ring, -0.34, 0.5)
    on.fine.line(ring, 0.30, 1.0, 0.3)


def _cells(on: Exposure, skull: Skull, random: numpy.random.Generator) -> None:
    """Air cells of the mastoid and the ethmoid: small dark rounds with light walls."""
    for places, count, size, air in ((MASTOID, 150, 1.9, -0.075), (ETHMOID, 22, 3.6, -0.07)):
        inside = sized(skull, *places)
        low_x, high_x = min(p.x for p in inside), max(p.x for p in inside)
        low_y, high_y = min(p.y for p in inside), max(p.y for p in inside)
        cells = []
        for u, v, share in random.random((count, 3)):
            middle = Vector(low_x + u * (high_x - low_x), low_y + v * (high_y - low_y))
            if _holds(inside, middle):
                r = size * (0.6 + 0.6 * share)
                cells.append([middle + Vector(x * r, y * r * 0.8) for x, y in ROUND])
        on.fine.areas(cells, air, 0.5)
        on.fine.lines([[*cell, cell[0]] for cell in cells], 0.05, 0.6, 0.35)


ROUND = tuple((math.cos(turn / 5 * math.pi), math.sin(turn / 5 * math.pi)) for turn in range(10))


def _holds(outline: list[Vector], point: Vector) -> bool:
    """Whether a closed outline goes round a point."""
    inside = False
    for a, b in zip(outline, [*outline[1:], outline[0]], strict=True):
        if (a.y > point.y) != (b.y > point.y) and point.x < a.x + (b.x - a.x) * (point.y - a.y) / (b.y - a.y):
            inside = not inside
    return inside


def _throat(on: Exposure, skull: Skull, points: Points) -> None:
    air = [*smooth(skull, BACK_OF_THROAT), *smooth(skull, FRONT_OF_THROAT)]
    on.wide.area(air, -0.27, 1.5)
    on.fine.line(smooth(skull, BACK_OF_THROAT), 0.05, 1.0, 0.5)
    pns = points["PNS"]
    palate = [
        pns + Vector(x, y)
        for x, y in ((2, 0.5), (-8, -6), (-17, -18), (-20.5, -29), (-18, -30), (-11, -20), (-2, -7))
    ]
    on.wide.area(curve(palate, closed=True, steps=5), 0.20, 0.9)
    tongue = [
        pns + Vector(x, y) for x, y in ((-14, -27), (-4, -14), (10, -9.5), (28, -9.0), (40, -13), (46, -20))
    ]
    on.wide.area(
        [*curve(tongue, steps=6), *(p - Vector(0, 2.2) for p in reversed(curve(tongue, steps=6)))], -0.12, 0.8
    )
    chin = points["Me"]
    horn = ((-58, 1), (-50, -2.5), (-42, -5.5), (-37, -5.5), (-36, -10), (-41, -11), (-50, -6.5), (-57, -2))
    hyoid = [chin + Vector(x, y) for x, y in horn]
    on.fine.area(curve(hyoid, closed=True, steps=4), 0.17, 0.6)
    epiglottis = [Vector(4, -102), Vector(0, -96), Vector(-2.5, -92), Vector(-1, -98), Vector(2, -106)]
    on.fine.area(curve(epiglottis, closed=True, steps=4), 0.16, 0.6)


DENS: Places = (
    (-24.6, -43.0), (-19.0, -42.0), (-16.2, -46.0), (-15.8, -56.0), (-11.6, -63.0), (-9.6, -75.0), (-14.0, -77.0),
    (-25.0, -75.6), (-27.0, -66.0), (-25.4, -58.0),
)  # fmt: skip
BODIES = ((-18.2, -84.6), (-20.0, -99.6), (-22.4, -114.6), (-25.6, -129.6), (-29.4, -144.6))


def _spine(on: Exposure, skull: Skull) -> None:
    bones = [smooth(skull, DENS, closed=True)]
    atlas = ((-12.6, -45.6), (-9.4, -49.0), (-10.0, -53.6), (-13.4, -53.0))
    bones.append(smooth(skull, atlas, closed=True))
    arch = (
        (-26.0, -51.0),
        (-40.0, -49.5),
        (-52.0, -47.0),
        (-60.0, -49.0),
        (-60.0, -54.0),
        (-50.0, -53.0),
        (-38.0, -55.0),
    )
    bones.append(smooth(skull, arch, closed=True))
    for number, (x, y) in enumerate(BODIES):
        body = ((8.2, 5.6), (0.0, 4.6), (-7.8, 5.8), (-7.4, -5.0), (0.0, -4.4), (8.8, -6.2))
        bones.append(smooth(skull, tuple((x + u, y + v) for u, v in body), closed=True, steps=3))
        back = (
            *((-8.6, 4.6), (-16.0, 5.2), (-22.0, 0.6), (-40.0 + number, -6.0)),
            *((-41.0 + number, -10.5), (-24.0, -6.4), (-16.0, -6.8), (-8.8, -4.4)),
        )
        bones.append(smooth(skull, tuple((x + u, y + v) for u, v in back), closed=True, steps=3))
    spinous = ((-28.0, -62.0), (-40.0, -60.0), (-58.0, -66.0), (-59.0, -74.0), (-46.0, -72.0), (-30.0, -74.0))
    bones.append(smooth(skull, spinous, closed=True))
    for bone in bones:
        on.fine.area(bone, 0.13, 0.8)
        on.fine.line(bone, 0.15, 1.5, 0.6)
        on.fine.line(bone, 0.07, 0.7, 0.3)
