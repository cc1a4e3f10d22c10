"""Rules of ICON, in the order of the published form.

Limits from memory of Daniels and Richmond, J Orthod 2000;27:149-162; that an impacted tooth gives the top
score of the upper arch, and what counts as one, was read in an annex that explains the index.  Open
readings: `reading.md`.
"""

from decimal import Decimal
from functools import lru_cache

from scoring.front_and_sides import INTERDIGITATION_LABELS, Interdigitation, OverbitePart
from scoring.hits import Component
from scoring.indices.icon.rows import AnyCrossbite, Look, UpperSpace
from scoring.measured_shapes import Band, Bands, band
from scoring.named_bands import NamedBands
from scoring.shapes import Choice, Cited, Said

READ = Cited("icon_annex", "read")
REMEMBERED = Cited("icon_2000_rules", "memory")
SETTLED = Cited("icon_settled", "practice")

_ZERO, _ONE, _TWO, _FIVE = Decimal(0), Decimal(1), Decimal(2), Decimal(5)
_THIRD, _TWO_THIRDS = Decimal(100) / 3, Decimal(200) / 3

_GRADES = tuple(str(n) for n in range(1, 11))
AESTHETIC = Choice(
    "aesthetic component", tuple((grade, Decimal(grade)) for grade in _GRADES), (_GRADES,), READ
)
UPPER_SPACE = NamedBands(
    "upper arch,",
    "mm",
    (
        band("(..., -9)", 3),
        band("[-9, -5)", 2),
        band("[-5, -2)", 1),
        band("[-2, 2]", 0),
        band("(2, 5]", 1),
        band("(5, 9]", 2),
        band("(9, 13]", 3),
        band("(13, 17]", 4),
        band("(17, ...)", 5),
    ),
    REMEMBERED,
    names=(
        "spaced by over 9 mm",
        "spaced by over 5 to 9 mm",
        "spaced by over 2 to 5 mm",
        "neither crowded nor spaced by over 2 mm",
        "crowded by over 2 to 5 mm",
        "crowded by over 5 to 9 mm",
        "crowded by over 9 to 13 mm",
        "crowded by over 13 to 17 mm",
        "crowded by over 17 mm",
    ),
)
IMPACTION = Choice(
    "impacted tooth of either arch",
    (("none", _ZERO), ("yes", _FIVE), ("tipped", _FIVE), ("supernumerary", _FIVE)),
    (("none", "yes"), ("none", "tipped"), ("none", "supernumerary")),
    READ,
    (
        ("yes", "impacted"),
        ("tipped", "held against its neighbour"),
        ("supernumerary", "an impacted extra tooth"),
    ),
)
ROOM = Bands("room for an unerupted tooth", "mm", (band("(..., 4)", 5), band("[4, ...)", 0)), READ)
THIRD_MOLAR = Said("third molars are not scored", READ)
EXTRA_TEETH = Said("extra teeth score where they are recorded as impacted", SETTLED)
CROSSBITE_BEHIND = Choice(
    "crossbite behind, cusp to cusp or worse",
    (("none", _ZERO), ("edge", _ONE), ("upper_inside", _ONE), ("upper_outside", _ONE)),
    (("none", "edge", "upper_inside"), ("none", "upper_outside")),
    REMEMBERED,
    (
        ("edge", "cusp to cusp"),
        ("upper_inside", "upper tooth inside"),
        ("upper_outside", "upper tooth outside"),
    ),
)
CROSSBITE_IN_FRONT = NamedBands(
    "crossbite in front,",
    "mm",
    (band("(..., 0]", 1), band("(0, ...)", 0)),
    REMEMBERED,
    names=("edge to edge or in reverse", "none"),
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
    REMEMBERED,
    names=("up to a third", "over a third to two thirds", "over two thirds", "full or more"),
)
OPENING = NamedBands(
    "open bite in front,",
    "mm",
    (
        band("(..., -4)", 4),
        band("[-4, -2)", 3),
        band("[-2, -1)", 2),
        band("[-1, 0)", 1),
        band("[0, ...)", 0),
    ),
    REMEMBERED,
    names=("over 4 mm", "over 2 to 4 mm", "over 1 to 2 mm", "up to 1 mm", "none"),
)
INTERDIGITATION = Choice(
    "buccal occlusion front to back",
    (("fitted", _ZERO), ("off", _ONE), ("cusp_to_cusp", _TWO)),
    (("fitted", "off", "cusp_to_cusp"),),
    REMEMBERED,
    INTERDIGITATION_LABELS,
)


@lru_cache(maxsize=8)
def components(choices: tuple[tuple[str, str], ...], edition: str) -> tuple[Component, ...]:
    """The rows of the form; there is one edition and no choice."""
    return (
        Look("aesthetic", AESTHETIC),
        UpperSpace("upper_space", UPPER_SPACE, IMPACTION, ROOM, THIRD_MOLAR, EXTRA_TEETH),
        AnyCrossbite("crossbite", CROSSBITE_BEHIND, CROSSBITE_IN_FRONT),
        OverbitePart("vertical", COVER, OPENING),
        Interdigitation("buccal_ap", INTERDIGITATION),
    )
