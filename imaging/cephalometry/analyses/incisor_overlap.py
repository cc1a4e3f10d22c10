"""Overjet and overbite read on the film, along and square to the occlusal plane.

Source: definition read in PMC5734880, figure 1; norms from memory.  On a film the edges are projected on one
another; casts, where the teeth can be seen singly, come first.
"""

from imaging.cephalometry.measure import Analysis, Measure, Norm
from imaging.cephalometry.planes import OCCLUSAL
from imaging.cephalometry.shapes import Across, Along

ANALYSIS = Analysis(
    key="incisor_overlap",
    label="Overjet and overbite on the film",
    source="ceph_points",
    measures=(
        Measure(
            "overjet_mm", "Overjet on the film", "mm", Along(("L1", "U1"), OCCLUSAL), "upper further ahead"
        ),
        Measure("overbite_mm", "Overbite on the film", "mm", Across(("U1", "L1"), OCCLUSAL), "deeper bite"),
    ),
    norms=(
        Norm("overjet_mm", "2.5", source="ceph_memory"),
        Norm("overbite_mm", "2.5", source="ceph_memory"),
    ),
)
