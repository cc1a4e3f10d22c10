"""Steiner's analysis: jaws to S-N, incisors to NA and NB, lips to the S-line.

Source: Steiner CC, Am J Orthod 1953;39:729-755, as taught in two lecture texts that were read; standard
deviations are from memory.  ANB is the difference SNA − SNB and keeps its sign, which the plain angle would not.
"""

from imaging.cephalometry.measure import Analysis, Measure, Norm
from imaging.cephalometry.planes import (
    L1_FACE,
    LOWER_INCISOR,
    MANDIBULAR,
    OCCLUSAL,
    S_LINE,
    SN,
    U1_FACE,
    UPPER_INCISOR,
    back,
)
from imaging.cephalometry.shapes import Ahead, Along, Ratio, Sum, Turn

SNA = Turn(back(SN), ("N", "A"))
SNB = Turn(back(SN), ("N", "B"))
L1_NB_MM = Ahead(L1_FACE, ("N", "B"))
POG_NB_MM = Ahead("Pog", ("N", "B"))
SOURCE = "ceph_steiner"

ANALYSIS = Analysis(
    key="steiner",
    label="Steiner",
    source=SOURCE,
    measures=(
        Measure("sna", "SNA", "deg", SNA, "upper jaw further forward"),
        Measure("snb", "SNB", "deg", SNB, "lower jaw further forward"),
        Measure("anb", "ANB", "deg", Sum((SNA,), (SNB,)), "A further ahead of B"),
        Measure("snd", "SND", "deg", Turn(back(SN), ("N", "D")), "symphysis further forward"),
        Measure(
            "sn_go_gn", "SN to Go-Gn", "deg", Turn(SN, ("Go", "Gn"), clockwise=True, middle=0), "steeper"
        ),
        Measure(
            "sn_mp",
            "SN to mandibular plane",
            "deg",
            Turn(SN, MANDIBULAR, clockwise=True, middle=0),
            "steeper",
            takes_plane=True,
        ),
        Measure(
            "op_sn", "Occlusal plane to SN", "deg", Turn(SN, OCCLUSAL, clockwise=True, middle=0), "steeper"
        ),
        Measure(
            "u1_na", "Upper incisor to NA", "deg", Turn(("N", "A"), UPPER_INCISOR, middle=0), "proclined"
        ),
        Measure("u1_na_mm", "Upper incisor to NA", "mm", Ahead(U1_FACE, ("N", "A")), "further forward"),
        Measure(
            "l1_nb",
            "Lower incisor to NB",
            "deg",
            Turn(("B", "N"), LOWER_INCISOR, clockwise=True, middle=0),
            "proclined",
        ),
        Measure("l1_nb_mm", "Lower incisor to NB", "mm", L1_NB_MM, "further forward"),
        Measure("u1_sn", "Upper incisor to SN", "deg", Turn(back(SN), UPPER_INCISOR), "proclined"),
        Measure(
            "interincisal",
            "Interincisal angle",
            "deg",
            Turn(back(UPPER_INCISOR), back(LOWER_INCISOR)),
            "more upright",
        ),
        Measure("pog_nb_mm", "Pogonion to NB", "mm", POG_NB_MM, "chin further ahead"),
        Measure(
            "holdaway_ratio",
            "Lower incisor to chin ratio",
            "",
            Ratio(L1_NB_MM, POG_NB_MM),
            "incisor further ahead of the chin",
        ),
        Measure("s_l", "S-L", "mm", Along(("S", "Pog"), SN), "chin further forward"),
        Measure("s_e", "S-E", "mm", Along(("S", "Cd"), back(SN)), "condyle further back"),
        Measure("s_line_upper", "Upper lip to S-line", "mm", Ahead("Ls", S_LINE), "lip further forward"),
        Measure("s_line_lower", "Lower lip to S-line", "mm", Ahead("Li", S_LINE), "lip further forward"),
    ),
    norms=(
        Norm("sna", "82", "3.5", source=SOURCE, certainty="read"),
        Norm("snb", "80", "3.5", source=SOURCE, certainty="read"),
        Norm("anb", "2", "2.4", source=SOURCE, certainty="read"),
        Norm("snd", low="76", high="77", source="ceph_memory"),
        Norm("op_sn", "14", source=SOURCE, certainty="read"),
        Norm("sn_go_gn", "32", "5", source=SOURCE, certainty="read"),
        Norm("u1_na", "22", source=SOURCE, certainty="read"),
        Norm("u1_na_mm", "4", source=SOURCE, certainty="read"),
        Norm(
            "l1_nb",
            "25",
            "7",
            source="ceph_incisors",
            certainty="read",
            sd_certainty="read",
            note="25 in Steiner's lecture texts too; the ± of the other text is taken as a standard deviation",
        ),
        Norm("l1_nb_mm", "4", source=SOURCE, certainty="read", note="another text gives 3 ± 2"),
        Norm("interincisal", low="130", high="131", source=SOURCE, certainty="read", note="131 from memory"),
        Norm("holdaway_ratio", "1", source=SOURCE, certainty="read"),
        Norm("s_l", "51", source="ceph_memory"),
        Norm("s_e", "22", source="ceph_memory"),
        Norm("s_line_upper", "0", source=SOURCE, certainty="read"),
        Norm("s_line_lower", "0", source=SOURCE, certainty="read"),
    ),
)
