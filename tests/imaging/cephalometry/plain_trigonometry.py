"""The published formulas once more, in plain trigonometry on complex numbers, for faces of ordinary shape.

It shares no line of code with the product: unsigned angles of three points by the cosine rule, distances from a
line by its equation, and a sign only where the published measure has one, found by comparing coordinates.
"""

import cmath
import math
from collections.abc import Mapping

Points = Mapping[str, complex]


def corner(one: complex, at: complex, other: complex) -> float:
    """The angle of three points by the cosine rule, 0 to 180 degrees."""
    a, b, c = abs(one - at), abs(other - at), abs(one - other)
    return math.degrees(math.acos((a * a + b * b - c * c) / (2 * a * b)))


def slope(start: complex, end: complex) -> float:
    """The inclination of a line above the picture's horizontal."""
    return math.degrees(cmath.phase(end - start))


def ahead(point: complex, top: complex, bottom: complex) -> float:
    """How far a point lies to the right of the point of a steep line at right angles: by the line's equation."""
    dx, dy = bottom.real - top.real, bottom.imag - top.imag
    return (dx * (point.imag - top.imag) - dy * (point.real - top.real)) / math.hypot(dx, dy)


def shadow(point: complex, start: complex, end: complex) -> float:
    """Where the foot of a point lies on a line, counted from its start: by the cosine rule."""
    a, b, c = abs(point - start), abs(end - start), abs(point - end)
    return (a * a + b * b - c * c) / (2 * b)


def measures(p: Points, plane: tuple[str, str] = ("Go", "Me")) -> dict[str, float]:
    """Every measure of a complete tracing."""
    return {**_angles(p, plane), **_sums(p), **_lengths(p)}


def _angles(p: Points, plane: tuple[str, str]) -> dict[str, float]:
    sn, fh = slope(p["S"], p["N"]), slope(p["Po"], p["Or"])
    op, mp = slope(p["OPm"], p["OPi"]), slope(p[plane[0]], p[plane[1]])
    upper, lower = slope(p["U1"], p["U1A"]), slope(p["L1A"], p["L1"])
    return {
        "sna": corner(p["S"], p["N"], p["A"]),
        "snb": corner(p["S"], p["N"], p["B"]),
        "snd": corner(p["S"], p["N"], p["D"]),
        "sn_fh": sn - fh,
        "sn_go_gn": sn - slope(p["Go"], p["Gn"]),
        "sn_go_me": sn - slope(p["Go"], p["Me"]),
        "sn_mp": sn - mp,
        "fma": fh - mp,
        "fmia": lower - fh,
        "impa": 180 - (lower - mp),
        "op_sn": sn - op,
        "op_fh": fh - op,
        "u1_na": upper - slope(p["A"], p["N"]),
        "l1_nb": slope(p["B"], p["N"]) - lower,
        "u1_sn": upper - sn,
        "u1_fh": upper - fh,
        "interincisal": 180 - (upper - lower),
        "facial_angle": slope(p["Pog"], p["N"]) - fh,
        "facial_depth": slope(p["Pog"], p["N"]) - fh,
        "maxillary_depth": slope(p["A"], p["N"]) - fh,
        "convexity": slope(p["A"], p["N"]) - slope(p["Pog"], p["A"]),
        "ab_plane": slope(p["B"], p["A"]) - slope(p["Pog"], p["N"]),
        "y_axis": fh - slope(p["S"], p["Gn"]),
        "facial_axis": corner(p["Ba"] - p["N"], 0j, p["Gn"] - p["Pt"]),
        "lower_face_height": corner(p["ANS"], p["Xi"], p["PM"]),
        "mandibular_arc": 180 - corner(p["DC"], p["Xi"], p["PM"]),
        "l1_apog": slope(p["Pog"], p["A"]) - lower,
        "l1_op": 90 - (lower - op),
        "saddle": corner(p["N"], p["S"], p["Ar"]),
        "articular": corner(p["S"], p["Ar"], p["Go"]),
        "gonial": corner(p["Ar"], p["Go"], p["Me"]),
        "gonial_upper": corner(p["Ar"], p["Go"], p["N"]),
        "gonial_lower": corner(p["N"], p["Go"], p["Me"]),
        "pp_fh": fh - slope(p["PNS"], p["ANS"]),
        "h_angle": slope(p["Pog'"], p["N'"]) - slope(p["Pog'"], p["Ls"]),
        "h_angle_nb": slope(p["B"], p["N"]) - slope(p["Pog'"], p["Ls"]),
        "nasolabial": corner(p["Cm"], p["Sn"], p["Ls"]),
    }


def _sums(p: Points) -> dict[str, float]:
    fh = slope(p["Po"], p["Or"])
    tip = fh - slope(p["PNS"], p["ANS"])
    facial = slope(p["Pog"], p["N"]) - fh
    a_b = slope(p["B"], p["A"]) - slope(p["Pog"], p["N"])
    return {
        "anb": corner(p["S"], p["N"], p["A"]) - corner(p["S"], p["N"], p["B"]),
        "bjork_sum": corner(p["N"], p["S"], p["Ar"])
        + corner(p["S"], p["Ar"], p["Go"])
        + corner(p["Ar"], p["Go"], p["Me"]),
        "odi": corner(p["B"] - p["A"], 0j, p["Me"] - p["Go"]) + tip,
        "apdi": facial + a_b + tip,
        "height_ratio": 100 * abs(p["S"] - p["Go"]) / abs(p["N"] - p["Me"]),
    }


def _lengths(p: Points) -> dict[str, float]:
    forward = (p["Or"] - p["Po"]) / abs(p["Or"] - p["Po"])
    incisor = ahead(p["L1F"], p["N"], p["B"])
    chin = ahead(p["Pog"], p["N"], p["B"])
    middle = (p["Prn"] + p["Sn"]) / 2
    op = (p["OPi"] - p["OPm"]) / abs(p["OPi"] - p["OPm"])
    bite = (p["U1"] - p["L1"]) / op
    return {
        "u1_na_mm": ahead(p["U1F"], p["N"], p["A"]),
        "l1_nb_mm": incisor,
        "pog_nb_mm": chin,
        "holdaway_ratio": incisor / chin,
        "s_l": shadow(p["Pog"], p["S"], p["N"]),
        "s_e": -shadow(p["Cd"], p["S"], p["N"]),
        "convexity_mm": ahead(p["A"], p["N"], p["Pog"]),
        "u6_ptv_mm": ((p["U6D"] - p["Pt"]) / forward).real,
        "wits": shadow(p["A"], p["OPm"], p["OPp"]) - shadow(p["B"], p["OPm"], p["OPp"]),
        "u1_apog_mm": ahead(p["U1"], p["A"], p["Pog"]),
        "l1_apog_mm": ahead(p["L1"], p["A"], p["Pog"]),
        "s_go": abs(p["S"] - p["Go"]),
        "n_me": abs(p["N"] - p["Me"]),
        "a_nperp_mm": ((p["A"] - p["N"]) / forward).real,
        "pog_nperp_mm": ((p["Pog"] - p["N"]) / forward).real,
        "u1_a_vert_mm": ((p["U1"] - p["A"]) / forward).real,
        "co_a": abs(p["Co"] - p["A"]),
        "co_gn": abs(p["Co"] - p["Gn"]),
        "ans_me": abs(p["ANS"] - p["Me"]),
        "eline_upper": ahead(p["Ls"], p["Prn"], p["Pog'"]),
        "eline_lower": ahead(p["Li"], p["Prn"], p["Pog'"]),
        "s_line_upper": ahead(p["Ls"], middle, p["Pog'"]),
        "s_line_lower": ahead(p["Li"], middle, p["Pog'"]),
        "overjet_mm": bite.real,
        "overbite_mm": -bite.imag,
    }
