"""Reference lines, and points that are means of others.  Each line is named with its direction.

Lines of the skull run forward or downwards, so that a positive distance lies anterior and a positive
inclination is steeper.  A constructed point is the mean of the first of its ways whose points are all placed.
"""

from collections.abc import Mapping
from dataclasses import dataclass

from imaging.cephalometry.shapes import Line

MANDIBULAR_PLANES: Mapping[str, Line] = {
    "go_me": ("Go", "Me"),
    "go_gn": ("Go", "Gn"),
    "tangent": ("MT", "Me"),
}
"""Back and front point of each: Go-Me (Björk, McNamara), Go-Gn (Steiner), lower border from menton (Downs, Tweed)."""
MP_BACK, MP_FRONT = "MP back", "MP front"
U1_FACE, L1_FACE, NOSE_S, NOSE_BASE = "U1 face", "L1 face", "nose S", "nose base"


@dataclass(frozen=True, slots=True)
class Constructed:
    """A point made of placed ones: the ways in order of preference, and the name told when none is whole."""

    ways: tuple[tuple[str, ...], ...]
    asks: str


CONSTRUCTED: Mapping[str, Constructed] = {
    "OPm": Constructed((("OPm",), ("U6", "L6")), "OPm"),
    "OPi": Constructed((("OPi",), ("U1", "L1")), "OPi"),
    # distances of Steiner's incisors are taken at the most labial point of the crown
    U1_FACE: Constructed((("U1F",), ("U1",)), "U1"),
    L1_FACE: Constructed((("L1F",), ("L1",)), "L1"),
    # middle of the S-shaped curve below the nose, halfway from its tip to the lip
    NOSE_S: Constructed((("Prn", "Sn"),), ""),
    NOSE_BASE: Constructed((("Cm",), ("Prn",)), "Cm"),
}


def constructed(mandibular_plane: str) -> Mapping[str, Constructed]:
    """All constructed points with the mandibular plane chosen; KeyError for a plane that is not known."""
    back, front = MANDIBULAR_PLANES[mandibular_plane]
    return {
        **CONSTRUCTED,
        MP_BACK: Constructed(((back,),), back),
        MP_FRONT: Constructed(((front,),), front),
    }


SN: Line = ("S", "N")
FH: Line = ("Po", "Or")
PALATAL: Line = ("PNS", "ANS")
FACIAL: Line = ("N", "Pog")
MANDIBULAR: Line = (MP_BACK, MP_FRONT)
OCCLUSAL: Line = ("OPm", "OPi")
FUNCTIONAL_OCCLUSAL: Line = ("OPm", "OPp")
UPPER_INCISOR: Line = ("U1A", "U1")
LOWER_INCISOR: Line = ("L1A", "L1")
A_POG: Line = ("A", "Pog")
E_LINE: Line = ("Prn", "Pog'")
S_LINE: Line = (NOSE_S, "Pog'")


def back(line: Line) -> Line:
    """The same line run the other way."""
    return (line[1], line[0])
