"""The overbite depth indicator and the anteroposterior dysplasia indicator, both with the palatal plane's tip.

Source: formulas read in Prog Orthod 2016, s40510-016-0147-8, table 2; means and deviations from memory.  The
palatal plane counts positive when it is tipped down in front.
"""

from imaging.cephalometry.analyses.downs import AB_PLANE, FACIAL_ANGLE
from imaging.cephalometry.measure import Analysis, Measure, Norm
from imaging.cephalometry.planes import FH, PALATAL
from imaging.cephalometry.shapes import Sum, Turn

PP_FH = Turn(FH, PALATAL, clockwise=True, middle=0)
SOURCE = "ceph_indicators"

ANALYSIS = Analysis(
    key="vertical_indicators",
    label="Overbite depth and dysplasia indicators",
    source=SOURCE,
    measures=(
        Measure("pp_fh", "Palatal plane to Frankfort", "deg", PP_FH, "front lower"),
        Measure(
            "odi",
            "Overbite depth indicator",
            "deg",
            Sum((Turn(("A", "B"), ("Go", "Me")), PP_FH)),
            "deeper bite",
        ),
        Measure(
            "apdi",
            "Anteroposterior dysplasia indicator",
            "deg",
            Sum((FACIAL_ANGLE, AB_PLANE, PP_FH)),
            "toward Class III",
        ),
    ),
    norms=(
        Norm("odi", "74.5", "6.1", source=SOURCE, certainty="memory"),
        Norm("apdi", "81.4", "3.8", source=SOURCE, certainty="memory"),
    ),
)
