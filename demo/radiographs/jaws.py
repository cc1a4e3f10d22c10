"""What rays meet in the face and the jaws: orbit, maxilla, palate, mandible, teeth."""

from demo.radiographs.face import Jaws, Points, Skull, chin_motion, in_chin
from demo.radiographs.head import Exposure
from demo.radiographs.outlines import drawn, lower_crest, sized, upper_crest
from demo.radiographs.teeth import Dentition, teeth
from imaging.cephalometry.outlines import Control, curve
from imaging.geometry import Vector

Outlines = dict[str, tuple[Control, ...]]
ZYGOMATIC = ((-19.2, 23.0), (-23.6, 15.0), (-28.6, 4.8), (-33.4, 8.2), (-36.0, 17.4))
"""The front contour of the zygomatic process and its turn back, from point A."""
CANAL_END = (-24.0, 14.0)
"""The front end of the mandibular canal in the frame of the symphysis."""
FAR_SIDE = Vector(-1.7, 1.3)
"""How far the shadow of the side that lies further from the film is shifted."""


def draw_jaws(
    on: Exposure, skull: Skull, jaws: Jaws, dentition: Dentition, points: Points, outlines: Outlines
) -> None:
    """All of it."""
    _midface(on, skull, points, outlines)
    _palate(on, points, outlines)
    _mandible(on, skull, jaws, points, outlines)
    _teeth(on, points, dentition)


def _midface(on: Exposure, skull: Skull, points: Points, outlines: Outlines) -> None:
    spine, pns, rim = points["ANS"], points["PNS"], points["Or"]
    orbit = drawn(points, outlines, "orbit", 6)
    far = [p + FAR_SIDE.times(0.8) for p in orbit]
    on.fine.line(orbit, 0.16, 1.5, 0.5)
    on.fine.line(far[4:-4], 0.11, 1.4, 0.55)
    face = [rim + Vector(-4, 26), rim + Vector(2, 2), spine + Vector(-8, 3), spine + Vector(-8, -14)]
    face += [pns + Vector(4, -12), pns + Vector(-2, 4), *sized(skull, (22.0, -12.0), (30.0, 0.0))]
    on.wide.area(face, 0.20, 3.0)
    cheek = [
        rim + Vector(-2, 1),
        rim + Vector(-8, -10),
        Vector(rim.x - 16, pns.y + 1),
        Vector(rim.x - 21, pns.y + 6),
    ]
    cheek += [rim + Vector(-24, -10), rim + Vector(-30, -2), rim + Vector(-12, 6)]
    on.wide.area(curve(cheek, closed=True, steps=5), 0.22, 1.4)
    for step, weight in ((Vector(0, 0), 0.20), (FAR_SIDE, 0.13)):
        key = [rim + Vector(-3.4, 7), *(points["A"] + Vector(x, y) for x, y in ZYGOMATIC)]
        on.fine.line([p + step for p in curve(key, steps=6)], weight, 1.9, 0.55)
    arch = [rim + Vector(-10, -3), rim + Vector(-30, -5), rim + Vector(-50, -4), rim + Vector(-66, -3)]
    for step in (Vector(0, 0), Vector(0, -4.2)):
        on.fine.line([p + step for p in curve(arch, steps=5)], 0.10, 1.1, 0.5)
    sinus = [Vector(rim.x - 4, rim.y - 5), Vector(rim.x - 10, rim.y - 3), Vector(pns.x + 5, rim.y + 1)]
    sinus += [Vector(pns.x + 4, pns.y + 4), Vector(pns.x + 10, pns.y - 3), Vector(rim.x - 14, pns.y - 5)]
    sinus += [Vector(rim.x - 5, pns.y + 2)]
    on.wide.area(curve(sinus, closed=True, steps=5), -0.20, 1.0)
    on.fine.line(curve(sinus, closed=True, steps=5), 0.11, 0.7, 0.3)
    concha = [Vector(pns.x + 1, pns.y + 9), Vector(pns.x + 18, pns.y + 12), Vector(spine.x - 15, pns.y + 9)]
    concha += [Vector(pns.x + 18, pns.y + 4.5)]
    on.wide.area(curve(concha, closed=True, steps=5), 0.13, 1.1)
    _fissure(on, points)


def _fissure(on: Exposure, points: Points) -> None:
    """The pterygopalatine fossa: a dark drop between two light walls that run together above the posterior spine."""
    pt, pns = points["Pt"], points["PNS"]
    end = pns + Vector(0.2, 2.0)
    back = curve([pt + Vector(0.4, 0.6), pt + Vector(0.2, -6), pt + Vector(0.9, -14), end], steps=5)
    front = curve(
        [pt + Vector(0.4, 0.6), pt + Vector(4.4, 0.4), pt + Vector(5.4, -6), pt + Vector(3.8, -14), end],
        steps=5,
    )
    on.fine.area([*back, *reversed(front)], -0.22, 0.4)
    on.fine.line(back, 0.24, 0.9, 0.25)
    on.fine.line(front, 0.22, 0.8, 0.25)
    plate = [
        pt + Vector(-2, -4),
        pt + Vector(-3.4, -14),
        pns + Vector(-5.4, -6),
        pns + Vector(-1.4, -9),
        pns + Vector(0, 2),
    ]
    on.fine.area(curve([*plate, pt + Vector(0, -6)], closed=True, steps=4), 0.12, 0.7)


def _palate(on: Exposure, points: Points, outlines: Outlines) -> None:
    spine, pns, apex = points["ANS"], points["PNS"], points["U1A"]
    roof = drawn(points, outlines, "palate", 5)
    crest = upper_crest(points)
    axis = (points["U1"] - apex).unit()
    inner = points["U1"] - axis.times(11.0) - axis.left.times(4.6)
    vault = [
        inner,
        inner + Vector(-3.6, 6.0),
        *palate_curve(points),
    ]
    under = curve([*vault, Vector(pns.x + 4, pns.y - 1.8), pns], steps=5)
    front = drawn(points, outlines, "maxilla", 5)
    on.fine.area([*roof, *front, crest, *under], 0.22, 0.35)
    on.fine.line(roof, 0.24, 1.3, 0.35)
    on.fine.line(under, 0.17, 1.2, 0.4)
    on.fine.line(front, 0.14, 0.8, 0.3)
    on.fine.area(
        [spine, spine + Vector(-6, 1.4), spine + Vector(-7, -3), spine + Vector(-2.5, -2)], 0.12, 0.4
    )
    cusp = points["U6"]
    alveolus = [
        Vector(pns.x + 4, pns.y - 2),
        Vector(pns.x + 1, cusp.y + 13),
        cusp + Vector(-20, 9),
        cusp + Vector(8, 8.4),
    ]
    alveolus += [inner, Vector(apex.x - 6, pns.y - 2)]
    on.wide.area(alveolus, 0.17, 1.0)


def palate_curve(points: Points) -> tuple[Vector, Vector]:
    """Where the oral outline of the palate turns flat behind the incisors, and above the first molar."""
    a, pns = points["A"], points["PNS"]
    return Vector(a.x - 14.5, pns.y - 4.4), Vector(a.x - 31.0, pns.y - 3.2)


def _mandible(on: Exposure, skull: Skull, jaws: Jaws, points: Points, outlines: Outlines) -> None:
    border = drawn(points, outlines, "mandible", 8)
    symphysis = drawn(points, outlines, "symphysis", 6)
    at = chin_motion(skull, jaws, points["Me"])
    inside = [at(in_chin(jaws, "lingual_top")), at(in_chin(jaws, "lingual"))]
    crest = lower_crest(jaws, points)
    ramus = _front_of_ramus(points)
    arch = [
        ramus[0],
        points["L6"] + Vector(-21, -7.5),
        points["L6"] + Vector(2, -8.6),
        inside[0] + Vector(0, 1.5),
    ]
    whole = [*border, *reversed(symphysis), crest, *reversed(arch), *ramus[1:]]
    inwards = (points["Go"] - points["Me"]).unit().left.times(-1) + Vector(0.5, 0)
    for step, weight in ((FAR_SIDE, 0.11), (Vector(0, 0), 0.15)):
        on.fine.area([p + step for p in whole], weight, 0.7)
        edge = [p + step for p in border[:-3]]
        on.fine.line([p + inwards for p in edge], weight * 0.8, 3.2, 0.9)
        on.fine.line([p + inwards.times(0.4) for p in edge], weight * 0.9, 1.3, 0.4)
        on.fine.line([p + step for p in ramus], weight * 1.1, 1.0, 0.35)
        _canal(on, points, at(Vector(*CANAL_END).times(jaws.chin)), step, weight)
    _condyle(on, points)
    lingual = curve(
        [inside[0], inside[1], at(in_chin(jaws, "Gn") + Vector(-16.5, 0.4)), points["Me"]], steps=6
    )
    on.fine.area([*symphysis, *reversed(lingual)], 0.20, 0.4)
    on.fine.line([p + Vector(-0.6, 0.3) for p in symphysis[8:]], 0.30, 2.0, 0.55)
    on.fine.line(symphysis[4:], 0.16, 0.8, 0.28)
    on.fine.line(symphysis[:8], 0.16, 0.8, 0.35)
    on.fine.line(lingual, 0.28, 1.9, 0.55)


def _front_of_ramus(points: Points) -> list[Vector]:
    """From the crest behind the molars up to the coronoid, over the notch and along the front of the condyle."""
    co, xi, l6 = points["Co"], points["Xi"], points["L6"]
    tip = Vector(xi.x + 15.5, co.y - 6.5)
    spots = [
        l6 + Vector(-17, -5.0), Vector(xi.x + 14.8, xi.y + 1), Vector(xi.x + 17.0, co.y - 18), tip,
        tip + Vector(-3.4, 0.6), Vector(xi.x + 7, co.y - 13.6), Vector(xi.x + 1.0, co.y - 15.6),
        Vector(co.x + 9.4, co.y - 10.6), Vector(co.x + 8.2, co.y - 4.6), Vector(co.x + 5.6, co.y + 0.4),
        Vector(co.x + 2.4, co.y + 1.1), co,
    ]  # fmt: skip
    return list(curve(spots, steps=5))


def _condyle(on: Exposure, points: Points) -> None:
    co = points["Co"]
    head = [co, co + Vector(2.6, 1.1), co + Vector(5.8, 0.2), co + Vector(8.2, -4.4), co + Vector(6, -8.6)]
    head += [co + Vector(0, -8.8), points["Cd"]]
    on.fine.area(curve(head, closed=True, steps=5), 0.08, 0.8)
    on.fine.line(curve(head, closed=True, steps=5), 0.12, 1.1, 0.45)


def _canal(on: Exposure, points: Points, end: Vector, step: Vector, weight: float) -> None:
    xi, go = points["Xi"], points["Go"]
    body = points["Me"] - go
    row = [xi + Vector(-1, 1.5), xi + Vector(4, -9), go + body.times(0.28) + body.unit().left.times(9.5)]
    row.append(end)
    course = [p + step for p in curve(row, steps=6)]
    on.fine.line(course, -weight * 0.55, 2.6, 0.6)
    for side in (1.6, -1.6):
        on.fine.line([p + Vector(0.4, side) for p in course], weight * 0.4, 0.5, 0.3)


def _teeth(on: Exposure, points: Points, dentition: Dentition) -> None:
    for tooth in teeth(points, dentition):
        share = 0.62 if tooth.far else 1.0
        on.fine.line(tooth.whole, -0.07 * share, 0.8, 0.25)
        on.fine.area(tooth.whole, 0.25 * share, 0.22)
        on.fine.area(tooth.enamel, 0.26 * share, 0.25)
        on.fine.line(tooth.pulp, -0.13 * share, 0.8, 0.35)
