"""Downs's analysis: skeletal and dental pattern against Frankfort horizontal and the facial plane.

Source: Downs WB, Am J Orthod 1948;34:812-840, ten skeletal and dental measures, as taught in two lecture texts
and a textbook that were read; ranges marked `memory` were not confirmed.  Angles to FH run from Po→Or.
"""

from imaging.cephalometry.measure import Analysis, Measure, Norm
from imaging.cephalometry.planes import A_POG, FACIAL, FH, LOWER_INCISOR, OCCLUSAL, SN, UPPER_INCISOR, back
from imaging.cephalometry.shapes import Ahead, Turn

FACIAL_ANGLE = Turn(back(FH), FACIAL)
AB_PLANE = Turn(FACIAL, ("A", "B"), middle=0)
SOURCE = "ceph_downs"

ANALYSIS = Analysis(
    key="downs",
    label="Downs",
    source=SOURCE,
    measures=(
        Measure("sn_fh", "SN to Frankfort", "deg", Turn(SN, FH, clockwise=True, middle=0), "SN rises more"),
        Measure("facial_angle", "Facial angle", "deg", FACIAL_ANGLE, "chin further forward"),
        Measure(
            "convexity",
            "Angle of convexity",
            "deg",
            Turn(("N", "A"), A_POG, clockwise=True, middle=0),
            "more convex: A ahead of N-Pog",
        ),
        Measure("ab_plane", "A-B plane", "deg", AB_PLANE, "B further ahead of A"),
        Measure(
            "y_axis",
            "Y axis to Frankfort",
            "deg",
            Turn(FH, ("S", "Gn"), clockwise=True, middle=0),
            "chin further down and back",
        ),
        Measure(
            "op_fh",
            "Occlusal plane to Frankfort",
            "deg",
            Turn(FH, OCCLUSAL, clockwise=True, middle=0),
            "front lower",
        ),
        Measure("u1_fh", "Upper incisor to Frankfort", "deg", Turn(back(FH), UPPER_INCISOR), "proclined"),
        Measure(
            "l1_op",
            "Lower incisor to occlusal plane, off 90",
            "deg",
            Turn(OCCLUSAL, LOWER_INCISOR, clockwise=True, middle=0, plus=90),
            "proclined",
        ),
        Measure("u1_apog_mm", "Upper incisor to A-Pog", "mm", Ahead("U1", A_POG), "further forward"),
    ),
    norms=(
        Norm("facial_angle", "87.8", "3.6", "82", "95", source=SOURCE, certainty="read"),
        Norm("convexity", "0", "5.1", "-8.5", "10", source=SOURCE, certainty="read"),
        Norm("ab_plane", "-4.6", low="-9", high="0", source="ceph_memory"),
        Norm("fma", "21.9", low="17", high="28", source="ceph_memory", note="tangent of the lower border"),
        Norm("y_axis", "59.4", low="53", high="66", source="ceph_memory"),
        Norm(
            "op_fh",
            "9.3",
            low="1.5",
            high="14",
            source="ceph_downs_plane",
            certainty="read",
            note="the page misprints the upper limit; 14 is what Downs gives, from memory",
        ),
        Norm("interincisal", "135.4", low="130", high="150.5", source="ceph_memory"),
        Norm(
            "l1_op",
            "14.5",
            low="3.5",
            high="20",
            source="ceph_textbook",
            certainty="read",
            note="range from memory",
        ),
        Norm(
            "impa",
            "91.4",
            low="81.5",
            high="97",
            source="ceph_textbook",
            certainty="read",
            note="printed as 1.4 off 90, range −8.5 to +7 from memory; one book has +5",
        ),
        Norm("u1_apog_mm", "2.7", low="-1", high="5", source="ceph_textbook", certainty="read"),
        Norm("sna", "81", low="78", high="84", source="ceph_sna", certainty="read", note="Downs's sample"),
        Norm("snb", "78", low="75", high="81", source="ceph_sna", certainty="read", note="Downs's sample"),
    ),
)
