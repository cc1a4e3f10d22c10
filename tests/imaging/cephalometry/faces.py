"""An ordinary face in millimetres, and tracing files made of it.

The face is ours, constructed on published ideals: Steiner's angles and incisors, Björk's polygon, the E-line.
"""

import json
import math
from typing import Any

from hypothesis import strategies as st

from imaging.cephalometry.face import Face
from imaging.cephalometry.measuring import measure_face
from imaging.cephalometry.reading import read_tracing

Points = dict[str, list[float]]
# y up, profile facing right, sella in the origin
ORDINARY: Points = {
    "S": [0, 0],
    "N": [70.5, 8.7],
    "Po": [-24, -21],
    "Or": [57, -20.5],
    "Ba": [-24, -42],
    "Pt": [18, -20],
    "ANS": [74, -43.5],
    "PNS": [20, -43],
    "A": [69.5, -48.3],
    "B": [65.4, -88.2],
    "D": [59.5, -95],
    "Pog": [66, -97],
    "Gn": [61.5, -103.3],
    "Me": [56.5, -106.4],
    "MT": [6, -82],
    "Go": [-5.6, -72],
    "Ar": [-14.5, -30],
    "Co": [-14, -20],
    "Cd": [-19, -24],
    "DC": [-15, -28],
    "Xi": [1, -56],
    "PM": [64, -92.5],
    "U1": [73, -75],
    "U1A": [64.8, -53.5],
    "U1F": [73.6, -70],
    "L1": [70.2, -72.5],
    "L1A": [60.4, -91],
    "L1F": [71, -75.5],
    "U6": [40.5, -70.4],
    "L6": [39.5, -69.4],
    "U6D": [34, -65],
    "OPm": [40.2, -70.1],
    "OPi": [71.4, -74],
    "OPp": [52, -71.6],
    "G'": [80, 18],
    "N'": [77, 6],
    "Prn": [98.2, -39],
    "Cm": [93.5, -47],
    "Sn": [87, -50],
    "Ls": [87, -63.5],
    "Stm": [82.5, -70.5],
    "Li": [83.5, -78],
    "Sl": [78, -88],
    "Pog'": [79.5, -98],
    "Me'": [60, -113],
}


def tracing(points: Points | None = None, **entries: Any) -> dict[str, Any]:
    """A tracing as the file holds it; entries of None are left out."""
    whole: dict[str, Any] = {
        "tracing": 1,
        "y": "up",
        "faces": "right",
        "mm_per_unit": "1",
        "points": ORDINARY if points is None else points,
    }
    return {key: value for key, value in {**whole, **entries}.items() if value is not None}


def face(points: Points | None = None, **entries: Any) -> Face:
    """The face that such a file gives."""
    return read_tracing(json.dumps(tracing(points, **entries)))


def values(of: Face) -> dict[str, float]:
    """Every measure that is told, unrounded."""
    return {found.measure.key: found.value for found in measure_face(of)[0]}


def without(*names: str) -> Points:
    return {name: at for name, at in ORDINARY.items() if name not in names}


def moved(points: Points, degrees: float = 0, x: float = 0, y: float = 0, scale: float = 1) -> Points:
    """Every point turned about the origin, scaled and shifted."""
    turn = scale * complex(math.cos(math.radians(degrees)), math.sin(math.radians(degrees)))
    found = {name: complex(*at) * turn + complex(x, y) for name, at in points.items()}
    return {name: [at.real, at.imag] for name, at in found.items()}


def flipped(points: Points, x: float = 1, y: float = 1) -> Points:
    return {name: [at[0] * x, at[1] * y] for name, at in points.items()}


_SHIFT = st.floats(-2, 2, allow_nan=False).map(lambda shift: round(shift, 3))
some_faces = st.fixed_dictionaries({name: st.tuples(_SHIFT, _SHIFT) for name in ORDINARY}).map(
    lambda shifts: {n: [at[0] + shifts[n][0], at[1] + shifts[n][1]] for n, at in ORDINARY.items()}
)
"""Faces like the ordinary one, every point up to 2 mm off."""
