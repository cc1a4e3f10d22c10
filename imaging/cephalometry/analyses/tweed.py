"""Tweed's triangle: Frankfort to mandibular plane, lower incisor to both.  The three angles sum to 180 degrees.

Source: a note on Tweed's analysis that was read gives FMA; IMPA and FMIA are from memory.  Tweed drew the
tangent of the lower border; which plane was chosen stands with each value.
"""

from imaging.cephalometry.measure import Analysis, Measure, Norm
from imaging.cephalometry.planes import FH, LOWER_INCISOR, MANDIBULAR, back
from imaging.cephalometry.shapes import Turn

ANALYSIS = Analysis(
    key="tweed",
    label="Tweed",
    source="ceph_tweed",
    measures=(
        Measure(
            "fma",
            "Frankfort to mandibular plane",
            "deg",
            Turn(FH, MANDIBULAR, clockwise=True, middle=0),
            "steeper",
            takes_plane=True,
        ),
        Measure(
            "fmia", "Lower incisor to Frankfort", "deg", Turn(FH, LOWER_INCISOR), "upright", takes_plane=True
        ),
        Measure(
            "impa",
            "Lower incisor to mandibular plane",
            "deg",
            Turn(LOWER_INCISOR, back(MANDIBULAR)),
            "proclined",
            takes_plane=True,
        ),
    ),
    norms=(
        Norm("fma", "25", source="ceph_tweed", certainty="read"),
        Norm("impa", "90", source="ceph_memory"),
        Norm(
            "fmia",
            "65",
            source="ceph_memory",
            note="Tweed's rule, read: 68 wanted with FMA 21 to 29, 65 from 30; IMPA at most 92 up to FMA 20",
        ),
    ),
)
