"""The Wits appraisal: A and B projected on the functional occlusal plane, which no other plane replaces.

Source: Jacobson A, Am J Orthod 1975;67:125-138 (abstract read: means, 25 women and 21 men); standard deviations
from memory.
"""

from imaging.cephalometry.measure import Analysis, Measure, Norm
from imaging.cephalometry.planes import FUNCTIONAL_OCCLUSAL
from imaging.cephalometry.shapes import Along

SOURCE = "ceph_wits"

ANALYSIS = Analysis(
    key="wits",
    label="Wits",
    source=SOURCE,
    measures=(
        Measure(
            "wits", "Wits appraisal", "mm", Along(("B", "A"), FUNCTIONAL_OCCLUSAL), "A further ahead of B"
        ),
    ),
    norms=(
        Norm("wits", "0", "1.77", group="female", source=SOURCE, certainty="read"),
        Norm("wits", "-1", "1.9", group="male", source=SOURCE, certainty="read"),
    ),
)
