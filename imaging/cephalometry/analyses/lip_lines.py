"""Lips against the aesthetic line from the tip of the nose to the chin, and the nasolabial angle.

Source: a review of lip reference lines that was read; the deviation and the nasolabial norm are from memory.
The nasolabial angle opens from Sn→Ls to the columella (Sn→Cm), or to Sn→Prn where no columella point is placed.
"""

from imaging.cephalometry.measure import Analysis, Measure, Norm
from imaging.cephalometry.planes import E_LINE, NOSE_BASE
from imaging.cephalometry.shapes import Ahead, Turn

SOURCE = "ceph_lips"

ANALYSIS = Analysis(
    key="lip_lines",
    label="E-line and nasolabial angle",
    source=SOURCE,
    measures=(
        Measure("eline_upper", "Upper lip to E-line", "mm", Ahead("Ls", E_LINE), "lip further forward"),
        Measure("eline_lower", "Lower lip to E-line", "mm", Ahead("Li", E_LINE), "lip further forward"),
        Measure("nasolabial", "Nasolabial angle", "deg", Turn(("Sn", "Ls"), ("Sn", NOSE_BASE)), "more open"),
    ),
    norms=(
        Norm("eline_upper", low="-4", high="-3", sd="2", source=SOURCE, certainty="read"),
        Norm("eline_lower", "-2", "2", source=SOURCE, certainty="read"),
        Norm("nasolabial", "102", "8", source="ceph_memory"),
    ),
)
