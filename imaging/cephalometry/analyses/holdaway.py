"""The H angle, in its two versions that give different numbers: to the soft facial plane, and to NB.

Source: Holdaway RA, Am J Orthod 1983;84:1-28 (abstract read); the norm is from memory and belongs to the
original version.  The mean of Saudi adults was read and is a norm of its own group.
"""

from imaging.cephalometry.measure import Analysis, Measure, Norm
from imaging.cephalometry.shapes import Turn

H_LINE = ("Pog'", "Ls")

ANALYSIS = Analysis(
    key="holdaway",
    label="H angle",
    source="ceph_holdaway",
    measures=(
        Measure(
            "h_angle",
            "H angle to the soft facial plane",
            "deg",
            Turn(("Pog'", "N'"), H_LINE, clockwise=True, middle=0),
            "fuller lip",
        ),
        Measure(
            "h_angle_nb",
            "H angle to NB",
            "deg",
            Turn(("B", "N"), H_LINE, clockwise=True, middle=0),
            "fuller lip",
        ),
    ),
    norms=(
        Norm("h_angle", "10", low="7", high="15", source="ceph_memory", note="rises with convexity"),
        Norm(
            "h_angle",
            "15.2",
            "3.2",
            group="Saudi adults",
            source="ceph_holdaway_saudi",
            certainty="read",
            sd_certainty="read",
        ),
    ),
)
