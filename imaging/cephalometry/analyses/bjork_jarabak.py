"""The polygon of Björk and Jarabak: saddle, articular and gonial angle, and the two face heights.

The three angles are inside the polygon N-S-Ar-Go-Me, each turned clockwise from the side before to the side
after; their sum is 360 degrees plus the inclination of Go-Me to S-N, exactly.

Source: Jarabak JR, Fizzell JA, 1972; norms from memory.
"""

from imaging.cephalometry.measure import Analysis, Measure, Norm
from imaging.cephalometry.planes import SN
from imaging.cephalometry.shapes import Length, Ratio, Sum, Turn

SADDLE = Turn(SN, ("S", "Ar"), clockwise=True)
ARTICULAR = Turn(("Ar", "S"), ("Ar", "Go"), clockwise=True)
GONIAL = Turn(("Go", "Ar"), ("Go", "Me"), clockwise=True)
S_GO, N_ME = Length(("S", "Go")), Length(("N", "Me"))
SOURCE = "ceph_bjork"

ANALYSIS = Analysis(
    key="bjork_jarabak",
    label="Björk-Jarabak",
    source=SOURCE,
    measures=(
        Measure("saddle", "Saddle angle", "deg", SADDLE, "joint further back"),
        Measure("articular", "Articular angle", "deg", ARTICULAR, "mandible further back"),
        Measure("gonial", "Gonial angle", "deg", GONIAL, "more open"),
        Measure(
            "gonial_upper",
            "Upper gonial angle",
            "deg",
            Turn(("Go", "Ar"), ("Go", "N"), clockwise=True),
            "more open",
        ),
        Measure(
            "gonial_lower",
            "Lower gonial angle",
            "deg",
            Turn(("Go", "N"), ("Go", "Me"), clockwise=True),
            "more open",
        ),
        Measure(
            "bjork_sum", "Sum of Björk", "deg", Sum((SADDLE, ARTICULAR, GONIAL)), "mandible opens backwards"
        ),
        Measure(
            "sn_go_me", "SN to Go-Me", "deg", Turn(SN, ("Go", "Me"), clockwise=True, middle=0), "steeper"
        ),
        Measure("s_go", "Posterior face height", "mm", S_GO, "longer"),
        Measure("n_me", "Anterior face height", "mm", N_ME, "longer"),
        Measure(
            "height_ratio",
            "Posterior to anterior face height",
            "%",
            Ratio(S_GO, N_ME, 100),
            "more horizontal",
        ),
    ),
    norms=(
        Norm("saddle", "123", "5", source=SOURCE),
        Norm("articular", "143", "6", source=SOURCE),
        Norm("gonial", "130", "7", source=SOURCE),
        Norm("gonial_upper", low="52", high="55", source=SOURCE),
        Norm("gonial_lower", low="70", high="75", source=SOURCE),
        Norm("bjork_sum", "396", "6", source=SOURCE),
        Norm("height_ratio", low="62", high="65", source=SOURCE),
    ),
)
