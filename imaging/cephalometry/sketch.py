"""A line drawing of a head from the side that shows where each landmark lies.

The head is ours, built on published ideals (Steiner's angles, Björk's polygon, the E-line); it is a drawing to find
one's way by, and nothing is measured on it.  Millimetres, profile facing +x, y up, sella in the origin.
"""

from imaging.cephalometry.outlines import DISTAL_SHARE, curve, incisor, molar
from imaging.geometry import Vector

TYPICAL: dict[str, tuple[float, float]] = {
    "S": (0, 0), "N": (70.5, 8.7), "Po": (-24, -21), "Or": (57, -20.5), "Ba": (-24, -42), "Pt": (18, -20),
    "ANS": (74, -43.5), "PNS": (20, -43), "A": (69.5, -48.3), "B": (65.4, -88.2), "D": (59.5, -95),
    "Pog": (66, -97), "Gn": (61.5, -103.3), "Me": (56.5, -106.4), "MT": (6, -82), "Go": (-5.6, -72),
    "Ar": (-14.5, -30), "Co": (-14, -20), "Cd": (-19, -24), "DC": (-15, -28), "Xi": (1, -56), "PM": (64.6, -92.5),
    "U1": (73, -75), "U1A": (64.8, -53.5), "U1F": (73.6, -70), "L1": (70.2, -72.5), "L1A": (60.4, -91),
    "L1F": (71, -75.5), "U6": (40.5, -70.4), "L6": (39.5, -69.4), "U6D": (34, -65), "OPm": (40.2, -70.1),
    "OPi": (71.4, -74), "OPp": (52, -71.6), "G'": (80, 18), "N'": (77, 6), "Prn": (98.2, -39), "Cm": (93.5, -47),
    "Sn": (87, -50), "Ls": (87, -63.5), "Stm": (82.5, -70.5), "Li": (83.5, -78), "Sl": (78, -88),
    "Pog'": (79.5, -98), "Me'": (60, -113),
}  # fmt: skip
"""Where each landmark of the list lies on the drawing."""

_OPEN: tuple[tuple[str | tuple[float, float], ...], ...] = (
    ((62, 52), (76, 36), "G'", "N'", (87, -20), "Prn", "Cm", "Sn", (86.5, -56), "Ls", "Stm", "Li", "Sl", "Pog'",
     (72, -110), "Me'", (40, -118), (30, -140)),
    ("Ba", (-14, -15), (-6.5, 2.5), (-5.5, -3), (0, -5.5), (5.5, -3), (6, 4.5), (30, 5), (56, 3)),
    ((60, 42), (69, 24), "N", (77, -4), (80, -12)),
    ((52, 4), (62, -1), (46, -10), (48, -18), "Or", (64, -17)),
    ("PNS", (45, -42), "ANS", "A", (71.5, -59)),
    ("PNS", (30, -47), (50, -50), (63, -60)),
    ("Co", "Cd", "Ar", (-11, -48), (-7, -66), (0, -77), "MT", (30, -93), "Me"),
    ("Co", (-7, -24), (-4, -36), (8, -38), (16, -28), (21, -36), (24, -56), (30, -68)),
    ((66.5, -79), "B", "PM", "Pog", "Gn", "Me", (53, -99), (57, -86), (62, -78)),
)  # fmt: skip
_CLOSED: tuple[tuple[str | tuple[float, float], ...], ...] = (
    ((-24, -21), (-21.5, -24), (-24, -27), (-26.5, -24)),
    ("Pt", (21, -23), (19.5, -34), "PNS", (17.5, -34), (16, -23)),
)
MARGIN_MM = 8.0
DECIMALS = 1


def _spot(control: str | tuple[float, float]) -> Vector:
    return Vector(*(TYPICAL[control] if isinstance(control, str) else control))


def _path(points: tuple[Vector, ...], closed: bool) -> str:
    told = " ".join(f"{point.x:.{DECIMALS}f} {-point.y:.{DECIMALS}f}" for point in points)
    return f"M{told}{'Z' if closed else ''}"


def paths() -> tuple[str, ...]:
    """The lines of the drawing as SVG paths in millimetres, y down."""
    forward = _spot("OPi") - _spot("OPm")
    width = abs(TYPICAL["U6"][0] - TYPICAL["U6D"][0]) / DISTAL_SHARE
    teeth = (
        incisor("upper", _spot("U1"), _spot("U1A"), steps=4),
        incisor("lower", _spot("L1"), _spot("L1A"), steps=4),
        molar("upper", _spot("U6"), forward, width, steps=4),
        molar("lower", _spot("L6"), forward, width, steps=4),
    )
    return (
        *(_path(curve([_spot(one) for one in row], steps=6), closed=False) for row in _OPEN),
        *(_path(curve([_spot(one) for one in row], closed=True, steps=6), closed=True) for row in _CLOSED),
        *(_path(tooth, closed=True) for tooth in teeth),
    )


def window() -> tuple[float, float, float, float]:
    """Left, top, width and height of the whole drawing in millimetres, y down."""
    left, right = -34.0, TYPICAL["Prn"][0] + MARGIN_MM
    top, bottom = 50.0, TYPICAL["Me'"][1] - 2 * MARGIN_MM
    return left, -top, right - left, top - bottom
