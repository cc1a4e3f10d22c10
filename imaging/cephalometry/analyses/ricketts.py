"""The main measures of Ricketts: chin, convexity, teeth and profile, with norms that move with age.

Source: notes on the twelve factors and a table of definitions, both read; standard deviations and changes with
age are from memory.
"""

from imaging.cephalometry.measure import Analysis, Measure, Norm
from imaging.cephalometry.planes import A_POG, FACIAL, FH, LOWER_INCISOR, back
from imaging.cephalometry.shapes import Ahead, Along, Turn

SOURCE = "ceph_ricketts"

ANALYSIS = Analysis(
    key="ricketts",
    label="Ricketts, main measures",
    source=SOURCE,
    measures=(
        Measure("facial_axis", "Facial axis", "deg", Turn(("N", "Ba"), ("Pt", "Gn")), "chin further forward"),
        Measure("facial_depth", "Facial depth", "deg", Turn(back(FH), FACIAL), "chin further forward"),
        Measure("maxillary_depth", "Maxillary depth", "deg", Turn(back(FH), ("N", "A")), "A further forward"),
        Measure(
            "lower_face_height",
            "Lower face height",
            "deg",
            Turn(("Xi", "PM"), ("Xi", "ANS"), middle=0),
            "longer lower face",
        ),
        Measure(
            "mandibular_arc",
            "Mandibular arc",
            "deg",
            Turn(("DC", "Xi"), ("Xi", "PM"), middle=0),
            "squarer mandible",
        ),
        Measure("convexity_mm", "Convexity of A", "mm", Ahead("A", FACIAL), "more convex"),
        Measure("l1_apog_mm", "Lower incisor to A-Pog", "mm", Ahead("L1", A_POG), "further forward"),
        Measure(
            "l1_apog",
            "Lower incisor to A-Pog",
            "deg",
            Turn(back(A_POG), LOWER_INCISOR, clockwise=True, middle=0),
            "proclined",
        ),
        Measure(
            "u6_ptv_mm",
            "Upper molar to pterygoid vertical",
            "mm",
            Along(("Pt", "U6D"), FH),
            "molar further forward",
        ),
    ),
    norms=(
        Norm("facial_axis", "90", "3.5", source=SOURCE, certainty="read"),
        Norm("facial_depth", "87", "3", age_years=9, per_year="0.33", source=SOURCE, certainty="read"),
        Norm("fma", "26", "4.5", age_years=9, per_year="-0.3", source=SOURCE, certainty="read"),
        Norm(
            "lower_face_height",
            "45",
            "4",
            source=SOURCE,
            certainty="read",
            note="47 from memory; texts disagree",
        ),
        Norm("mandibular_arc", "26", "4", age_years=9, per_year="0.5", source=SOURCE, certainty="read"),
        Norm("convexity_mm", "2", "2", age_years=9, per_year="-0.2", source=SOURCE, certainty="read"),
        Norm("l1_apog_mm", "1", "2.3", source=SOURCE, certainty="read"),
        Norm("l1_apog", "22", "4", source=SOURCE, certainty="read"),
        Norm(
            "u6_ptv_mm",
            "12",
            "3",
            age_years=9,
            per_year="1",
            source=SOURCE,
            certainty="read",
            note="age in years plus 3",
        ),
        Norm("interincisal", "130", source=SOURCE, certainty="read"),
        Norm("maxillary_depth", "90", source=SOURCE, certainty="read"),
    ),
)
