"""McNamara's analysis: jaws against the perpendicular to Frankfort through nasion, and effective lengths.

Source: McNamara JA, Am J Orthod 1984;86:449-469, all norms from memory; lengths are of films enlarged by about
8 per cent, so true-size lengths come out smaller.
"""

from imaging.cephalometry.measure import Analysis, Measure, Norm
from imaging.cephalometry.planes import FH
from imaging.cephalometry.shapes import Along, Length

SOURCE = "ceph_mcnamara"
ENLARGED = "film size, about 8 per cent enlarged"

ANALYSIS = Analysis(
    key="mcnamara",
    label="McNamara",
    source=SOURCE,
    measures=(
        Measure("a_nperp_mm", "A to nasion perpendicular", "mm", Along(("N", "A"), FH), "A further ahead"),
        Measure(
            "pog_nperp_mm",
            "Pogonion to nasion perpendicular",
            "mm",
            Along(("N", "Pog"), FH),
            "chin further ahead",
        ),
        Measure(
            "u1_a_vert_mm", "Upper incisor ahead of A", "mm", Along(("A", "U1"), FH), "incisor further ahead"
        ),
        Measure("co_a", "Effective midface length", "mm", Length(("Co", "A")), "longer"),
        Measure("co_gn", "Effective mandibular length", "mm", Length(("Co", "Gn")), "longer"),
        Measure("ans_me", "Lower anterior face height", "mm", Length(("ANS", "Me")), "longer"),
    ),
    norms=(
        Norm("a_nperp_mm", "0", group="mixed dentition", source=SOURCE),
        Norm("a_nperp_mm", "1", group="adult", source=SOURCE),
        Norm("pog_nperp_mm", low="-8", high="-6", group="mixed dentition", source=SOURCE),
        Norm("pog_nperp_mm", low="-4", high="0", group="adult female", source=SOURCE),
        Norm("pog_nperp_mm", low="-2", high="2", group="adult male", source=SOURCE),
        Norm("u1_a_vert_mm", low="4", high="6", source=SOURCE),
        Norm("l1_apog_mm", low="1", high="3", source=SOURCE),
        Norm("co_a", "91.0", "4.3", group="adult female", source=SOURCE, note=ENLARGED),
        Norm("co_a", "99.8", "6.0", group="adult male", source=SOURCE, note=ENLARGED),
        Norm("co_gn", "120.2", "5.3", group="adult female", source=SOURCE, note=ENLARGED),
        Norm("co_gn", "134.3", "6.8", group="adult male", source=SOURCE, note=ENLARGED),
        Norm("ans_me", "66.7", "4.1", group="adult female", source=SOURCE, note=ENLARGED),
        Norm("ans_me", "74.6", "5.0", group="adult male", source=SOURCE, note=ENLARGED),
    ),
)
