"""An invented face from a few parameters: every landmark of a lateral tracing, worked out so that angles come true.

Frame: millimetres, sella in the origin, x forward, y up, Frankfort horizontal level.  Proportions are ours, near
published means; nothing is measured on a person.
"""

import math
from collections.abc import Mapping
from dataclasses import dataclass

from imaging.geometry import Motion, Vector, motion

UPPER_TOOTH, LOWER_TOOTH = 23.5, 21.5
"""Lengths of central incisors, Wheeler's dental anatomy, from memory."""
USUAL_BASE = 71.0
BEHIND_CUSP, ABOVE_CUSP = 7.2, 2.8
"""From the mesiobuccal cusp of a first molar to the distal face of its crown."""

Points = Mapping[str, Vector]


@dataclass(frozen=True, slots=True)
class Skull:
    """What stays between the records of a case: S-N in mm, its tilt to Frankfort horizontal in degrees, the nose."""

    base: float = USUAL_BASE
    tilt: float = 7.5
    nose: float = 14.0
    """How far the tip of the nose lies in front of subnasale."""
    forehead: float = 1.0
    """How far the brow stands out, about 0 to 3 mm."""


@dataclass(frozen=True, slots=True)
class Jaws:
    """What a record shows: angles in degrees as in an analysis, the rest in mm.

    `sn_mp` and `impa` are told to Go-Me.  `midface` is N to A.  `occlusal` and `ramus` are inclinations to
    Frankfort horizontal.  `apex` is from A to the apex of the upper incisor.  `molars` is from A back to the
    upper first molar's cusp, `lead` how far the lower one's lies ahead of it, `overlap` of their cusps.
    """

    sna: float
    anb: float
    sn_mp: float
    impa: float
    overjet: float
    overbite: float
    midface: float = 57.0
    occlusal: float = 8.0
    ramus: float = 81.0
    chin: float = 1.0
    """Size of the symphysis, 1 for an adult."""
    apex: tuple[float, float] = (-6.0, -1.5)
    erupted: float = 0.0
    """How far the lower incisor stands out of its usual place in the bone, along its axis."""
    molars: float = 29.0
    lead: float = 4.0
    overlap: float = 2.4
    lips: tuple[float, float] = (12.0, 13.0)
    """Thickness of the upper lip before the incisor, and of the lower."""
    parted: float = 0.0
    """Gap between the lips."""


# The symphysis in its own frame: from menton, x along Go→Me, y square to it.
CHIN: Mapping[str, tuple[float, float]] = {
    "Gn": (3.9, 4.6), "Pog": (4.4, 10.8), "PM": (0.4, 16.2), "B": (-3.5, 21.6), "D": (-4.4, 9.8),
    "lingual": (-12.4, 12.0), "lingual_top": (-12.6, 27.0), "apex": (-8.4, 21.4),
}  # fmt: skip


def direction(degrees: float) -> Vector:
    """The step of length 1 in a direction, anticlockwise from forward."""
    return Vector(math.cos(math.radians(degrees)), math.sin(math.radians(degrees)))


def chin_motion(skull: Skull, jaws: Jaws, menton: Vector) -> Motion:
    """From the frame of the symphysis to that of the face."""
    return motion(skull.tilt - jaws.sn_mp, menton)


def in_chin(jaws: Jaws, name: str) -> Vector:
    """A point of the symphysis in its own frame."""
    x, y = CHIN[name]
    return Vector(x * jaws.chin, y * jaws.chin)


def landmarks(skull: Skull, jaws: Jaws) -> dict[str, Vector]:
    """All landmarks of `imaging.cephalometry.landmarks`; ValueError for parameters that give no face."""
    points = _skull(skull)
    points |= _upper_jaw(skull, jaws, points["N"])
    points |= _incisors_and_chin(skull, jaws, points)
    points |= _ramus(skull, jaws, points)
    points |= _molars(jaws, points)
    points |= _profile(skull, jaws, points)
    return points


def _skull(skull: Skull) -> dict[str, Vector]:
    size = skull.base / USUAL_BASE
    nasion = direction(skull.tilt).times(skull.base)
    fixed = {"Po": (-22, -20), "Ba": (-24.5, -38.5), "Pt": (19.4, -17.6), "Ar": (-14.6, -32.4)}
    fixed |= {"Co": (-12.4, -20.6), "Cd": (-14.3, -24.8), "Or": (57.6, -20)}
    points = {name: Vector(x * size, y * size) for name, (x, y) in fixed.items()}
    base = nasion - points["Ba"]
    neck = (-10.6 * size - points["Ba"].x) / base.x
    return points | {"S": Vector(0, 0), "N": nasion, "DC": points["Ba"] + base.times(neck)}


def _upper_jaw(skull: Skull, jaws: Jaws, nasion: Vector) -> dict[str, Vector]:
    a = nasion + direction(180 + skull.tilt + jaws.sna).times(jaws.midface)
    size = jaws.midface / 57
    spine = a + Vector(4.4, 4.6).times(size)
    return {"A": a, "ANS": spine, "PNS": Vector(21.5 * skull.base / USUAL_BASE, spine.y + 0.6)}


def _incisors_and_chin(skull: Skull, jaws: Jaws, points: Points) -> dict[str, Vector]:
    """Chin and incisors: the height of the lower face is the one at which the upper incisor reaches its apex."""
    turned = chin_motion(skull, jaws, Vector(0, 0))
    axis = turned.turned(direction(180 - jaws.impa))
    from_b = turned(in_chin(jaws, "apex") - in_chin(jaws, "B"))
    lower_edge = from_b + axis.times((LOWER_TOOTH - 2.5) * jaws.chin + jaws.erupted)
    forward = direction(-jaws.occlusal)
    upper_edge = lower_edge + forward.times(jaws.overjet) - forward.left.times(jaws.overbite)
    apex = points["A"] + Vector(*jaws.apex)
    down = direction(180 + skull.tilt + jaws.sna - jaws.anb)
    offset = points["N"] + upper_edge - apex
    length = UPPER_TOOTH * jaws.chin
    under_root = down.dot(offset) ** 2 - offset.dot(offset) + length**2
    if under_root < 0:
        raise ValueError("the upper incisor does not reach from its apex to the lower one")
    b = points["N"] + down.times(math.sqrt(under_root) - down.dot(offset))
    menton = b - turned(in_chin(jaws, "B"))
    chin = {name: menton + turned(in_chin(jaws, name)) for name in ("Gn", "Pog", "PM", "D")}
    upper, lower = b + upper_edge, b + lower_edge
    upper_axis = (upper - apex).unit()
    return {
        **chin,
        "B": b,
        "Me": menton,
        "U1": upper,
        "U1A": apex,
        "U1F": upper - upper_axis.times(6.4) + upper_axis.left.times(2.2),
        "L1": lower,
        "L1A": lower - axis.times(LOWER_TOOTH * jaws.chin),
        "L1F": lower - axis.times(5.6) - axis.left.times(1.8),
        "OPi": (upper + lower).times(0.5),
    }


def _ramus(skull: Skull, jaws: Jaws, points: Points) -> dict[str, Vector]:
    """Gonion where the ramus line through articulare meets the lower border, and what lies on the ramus."""
    forward = direction(skull.tilt - jaws.sn_mp)
    downwards = direction(-jaws.ramus)
    gap = points["Me"] - points["Ar"]
    height = forward.cross(gap) / forward.cross(downwards)
    go = points["Ar"] + downwards.times(height)
    width = 31.0 * skull.base / USUAL_BASE
    middle = points["Ar"] + downwards.times(height * 0.58)
    return {
        "Go": go,
        "MT": go + forward.times(17),
        "Xi": Vector(middle.x + width / 2, (points["Co"].y - 14 + go.y - 3) / 2),
    }


def _molars(jaws: Jaws, points: Points) -> dict[str, Vector]:
    forward = direction(-jaws.occlusal)
    on_plane = points["OPi"]

    def at(behind_a: float) -> Vector:
        return on_plane + forward.times(forward.dot(points["A"] - on_plane) - behind_a)

    upper = at(jaws.molars) - forward.left.times(jaws.overlap / 2)
    lower = at(jaws.molars - jaws.lead) + forward.left.times(jaws.overlap / 2)
    return {
        "U6": upper,
        "L6": lower,
        "U6D": upper - forward.times(BEHIND_CUSP) + forward.left.times(ABOVE_CUSP),
        "OPm": (upper + lower).times(0.5),
        "OPp": at(jaws.molars - 13) + forward.left.times(0.7),
    }


def _profile(skull: Skull, jaws: Jaws, points: Points) -> dict[str, Vector]:
    n, a, b, pog = (points[name] for name in ("N", "A", "B", "Pog"))
    upper_lip, lower_lip = jaws.lips
    base = a + Vector(15.0, 0.2)
    mouth_y = base.y - 20.5 * jaws.midface / 57
    front = max(points["U1F"].x, points["L1F"].x - 1)
    upper_x = max(front + upper_lip, base.x - 1.5)
    lower_x = max(points["L1F"].x + lower_lip, min(front + lower_lip - 3.5, pog.x + 18))
    fold = Vector(b.x + 11.8, b.y + 1.0)
    return {
        "G'": n + Vector(7.2 + skull.forehead, 15.0),
        "N'": n + Vector(5.6, -1.6),
        "Prn": base + Vector(skull.nose, 12.0),
        "Cm": base + Vector(skull.nose * 0.7, skull.nose * 0.22),
        "Sn": base,
        "Ls": Vector(upper_x, mouth_y + 5.6 + jaws.parted / 2),
        "Stm": Vector(min(upper_x, lower_x) - 3.8, mouth_y),
        "Li": Vector(lower_x, mouth_y - 6.4 - jaws.parted / 2),
        "Sl": Vector(min(fold.x, lower_x - 3), (fold.y + mouth_y - 14) / 2),
        "Pog'": pog + Vector(11.4, 0.6),
        "Me'": points["Me"] + Vector(0.5, -7.4),
    }
