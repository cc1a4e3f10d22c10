"""Rules of PAR, in the order of the published form.

Points: form and instructions for PAR evaluation (table read, its overbite row and its signs of open
bite garbled).  The first third of overbite, open bite from 3 mm on, the centreline and what is added
to what are from memory of Richmond et al., Eur J Orthod 1992;14:125-139.  Open readings: `choices.py`,
`reading.md`.
"""

from dataclasses import replace
from decimal import Decimal
from functools import lru_cache

from scoring.front_and_sides import INTERDIGITATION_LABELS, Interdigitation, OverbitePart
from scoring.hits import Component
from scoring.indices.par.anterior_segment import AnteriorSegment
from scoring.indices.par.buccal_and_overjet import AcrossBehind, Centreline, OpenBehind, OverjetPart
from scoring.measured_shapes import Band, Bands, band
from scoring.named_bands import DerivedBands, NamedBands
from scoring.shapes import Choice, Cited, Said

READ = Cited("par_form", "read")
REMEMBERED = Cited("par_1992_rules", "memory")
SETTLED = Cited("par_settled", "practice")

_ZERO, _ONE, _TWO, _THREE, _FOUR, _FIVE = (Decimal(n) for n in range(6))
_THIRD, _TWO_THIRDS = Decimal(100) / 3, Decimal(200) / 3

DISPLACEMENT = DerivedBands(
    "displacement of the contact",
    "mm",
    (
        band("(..., 1]", 0),
        band("(1, 2]", 1),
        band("(2, 4]", 2),
        band("(4, 8]", 3),
        band("(8, ...)", 4),
    ),
    READ,
)
IMPACTION = Choice(
    "impacted front tooth",
    (("none", _ZERO), ("yes", _FIVE), ("tipped", _FIVE), ("supernumerary", _ZERO)),
    (("none", "yes"), ("none", "tipped"), ("supernumerary", "yes")),
    READ,
    (
        ("none", "none"),
        ("yes", "impacted"),
        ("tipped", "held against its neighbour"),
        ("supernumerary", "an impacted extra tooth beside it, not scored"),
    ),
)
ROOM = Bands("room for an unerupted tooth", "mm", (band("(..., 4]", 5), band("(4, ...)", 0)), READ)
UPPER_ZONE = Bands(
    "support zone of an unerupted upper canine", "mm", (band("(..., 18]", 5), band("(18, ...)", 0)), READ
)
LOWER_ZONE = Bands(
    "support zone of an unerupted lower canine", "mm", (band("(..., 17]", 5), band("(17, ...)", 0)), READ
)
WITH_PRIMARY = Said("contacts with a primary tooth are not scored", READ)

INTERDIGITATION = Choice(
    "buccal occlusion front to back",
    (("fitted", _ZERO), ("off", _ONE), ("cusp_to_cusp", _TWO)),
    (("fitted", "off", "cusp_to_cusp"),),
    READ,
    INTERDIGITATION_LABELS,
)
OPEN_BEHIND = NamedBands(
    "teeth of a side open by more than 2 mm behind the canine,",
    "teeth",
    (band("(..., 2)", 0), band("[2, ...)", 1)),
    READ,
    names=("fewer than two", "two or more"),
)
ERUPTING = Said("left out: not fully erupted", READ)
SUBMERGED = Said("left out: submerged primary tooth", READ)


def across(single_outside_scores: bool) -> Choice:
    """Crossbite of one side; one tooth in scissor bite scores on the form and not in the papers."""
    return Choice(
        "buccal occlusion across",
        (
            ("none", _ZERO),
            ("edge", _ONE),
            ("one_tooth_inside", _TWO),
            ("more_teeth_inside", _THREE),
            ("one_tooth_outside", _TWO if single_outside_scores else _ZERO),
            ("more_teeth_outside", _FOUR),
        ),
        (
            ("none", "edge", "one_tooth_inside", "more_teeth_inside"),
            ("none", "one_tooth_outside", "more_teeth_outside"),
        ),
        READ if single_outside_scores else REMEMBERED,
        (
            ("none", "no crossbite"),
            ("edge", "cusp to cusp"),
            ("one_tooth_inside", "one upper tooth inside"),
            ("more_teeth_inside", "more than one upper tooth inside"),
            ("one_tooth_outside", "one upper tooth outside"),
            ("more_teeth_outside", "more than one upper tooth outside"),
        ),
    )


OVERJET = Bands(
    "overjet",
    "mm",
    (
        band("(..., 3]", 0),
        band("(3, 5]", 1),
        band("(5, 7]", 2),
        band("(7, 9]", 3),
        band("(9, ...)", 4),
    ),
    READ,
)
FRONT_CROSSBITE = Choice(
    "crossbite of the front teeth",
    (
        ("none", _ZERO),
        ("edge_to_edge", _ONE),
        ("one_tooth_reverse", _TWO),
        ("two_teeth_reverse", _THREE),
        ("more_teeth_reverse", _FOUR),
    ),
    (("none", "edge_to_edge", "one_tooth_reverse", "two_teeth_reverse", "more_teeth_reverse"),),
    READ,
    (
        ("edge_to_edge", "edge to edge"),
        ("one_tooth_reverse", "one tooth in reverse"),
        ("two_teeth_reverse", "two teeth in reverse"),
        ("more_teeth_reverse", "more than two teeth in reverse"),
    ),
)
COVER = NamedBands(
    "cover of the lower incisors",
    "%",
    (
        Band(None, False, _THIRD, True, _ZERO),
        Band(_THIRD, False, _TWO_THIRDS, True, _ONE),
        Band(_TWO_THIRDS, False, Decimal(100), False, _TWO),
        band("[100, ...)", 3),
    ),
    READ,
    names=("up to a third", "over a third to two thirds", "over two thirds", "full or more"),
    marks=("memory", "read", "read", "read"),
)
OPENING = NamedBands(
    "open bite in front,",
    "mm",
    (
        band("(..., -4]", 4),
        band("(-4, -3)", 4),
        band("[-3, -2)", 3),
        band("[-2, -1)", 2),
        band("[-1, 0)", 1),
        band("[0, ...)", 0),
    ),
    READ,
    names=(
        "4 mm or more",
        "over 3 to under 4 mm, for which no band is printed",
        "over 2 to 3 mm",
        "over 1 to 2 mm",
        "up to 1 mm",
        "none",
    ),
    marks=("memory", "practice", "memory", "read", "read", "read"),
)
OPENING_UNPRINTED = replace(OPENING, cited=SETTLED)
_SHARES = (band("(..., 25]", 0), band("(25, 50]", 1), band("(50, ...)", 2))
SHARE_SEEN = Bands("midlines apart as a share of a lower incisor,", "%", _SHARES, REMEMBERED)
SHARE_DERIVED = DerivedBands(
    "midlines apart as a share of the mean width of 31 and 41,", "%", _SHARES, REMEMBERED
)
WITHOUT_WIDTHS = Said("midlines apart: the share is worked out with the widths of 31 and 41", SETTLED)


@lru_cache(maxsize=64)
def components(choices: tuple[tuple[str, str], ...], edition: str) -> tuple[Component, ...]:
    """The rows of the form under the given choices; editions differ in their weights only."""
    chosen = dict(choices)
    larger = chosen["space_and_offset"] == "larger"
    return (
        AnteriorSegment(
            "upper_anterior", "upper", DISPLACEMENT, IMPACTION, ROOM, UPPER_ZONE, WITH_PRIMARY, larger
        ),
        AnteriorSegment(
            "lower_anterior", "lower", DISPLACEMENT, IMPACTION, ROOM, LOWER_ZONE, WITH_PRIMARY, larger
        ),
        Interdigitation("buccal", INTERDIGITATION),
        OpenBehind("buccal", OPEN_BEHIND, ERUPTING, SUBMERGED),
        AcrossBehind("buccal", across(chosen["transverse_single"] == "form"), ERUPTING, SUBMERGED),
        OverjetPart("overjet", OVERJET, FRONT_CROSSBITE),
        OverbitePart("overbite", COVER, OPENING, OPENING_UNPRINTED),
        Centreline("centreline", SHARE_SEEN, SHARE_DERIVED, WITHOUT_WIDTHS),
    )
