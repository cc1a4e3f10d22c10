"""Rules of the discrepancy index, in the order of the published form.

Points: training slides on the index (table read); signs at the limits, the last three items and
the measuring conventions: later worksheet, from memory.  Open readings: `choices.py`, `reading.md`.
"""

from collections.abc import Mapping
from decimal import Decimal
from functools import lru_cache

from portfolio import teeth
from portfolio.quantities.occlusion import MOLAR_LABELS
from scoring.components import EachTooth, Exclusion, Marked, SingleCode, SingleNumber, WorstSite, WorstTooth
from scoring.hits import Component
from scoring.indices.discrepancy.conditions import (
    AddedComplexity,
    BlockedCanines,
    ExtraToothOnce,
    Gaps,
    MolarRelation,
    SuccessorOnce,
    closing_missing,
)
from scoring.measured_shapes import Bands, Limbs, PerUnit, Rounding, band
from scoring.shapes import Choice, Cited, Count, Said

PRINTED = Cited("di_slides", "read")
REMEMBERED = Cited("di_worksheet", "memory")
PRACTICE = Cited("practice", "practice")
SETTLED = Cited("di_settled", "practice")

NOT_FULLY_ERUPTED = Exclusion("not_fully_erupted", Said("left out: not fully erupted", REMEMBERED))
BLOCKED_OUT = Exclusion("blocked_out", Said("left out: blocked out of the arch", REMEMBERED))
NO_THIRD_MOLARS = Exclusion("third_molars", Said("left out: third molar", SETTLED))
UNSCORED_THIRD = ("third_molars", Said("third molars are not scored", REMEMBERED))
UNSCORED_PRIMARY = ("primary", Said("only permanent teeth are scored", PRINTED))
WHOLE_TEETH = (NOT_FULLY_ERUPTED, BLOCKED_OUT)

_ZERO, _ONE, _TWO, _FOUR = (Decimal(points) for points in (0, 1, 2, 4))
Chosen = Mapping[str, str]


def overjet(chosen: Chosen) -> Bands:
    under_1 = (
        (band("[0, 1)", 1),) if chosen["overjet_under_1"] == "1" else (band("[0, 0]", 1), band("(0, 1)", 0))
    )
    return Bands(
        "overjet",
        "mm",
        (
            band("(..., 0)", 0),
            *under_1,
            band("[1, 3]", 0),
            band("(3, 5]", 2),
            band("(5, 7]", 3),
            band("(7, 9]", 4),
            band("(9, ...)", 5),
        ),
        PRINTED,
    )


def negative_overjet(rounding: Rounding) -> PerUnit:
    return PerUnit(
        "reverse overjet",
        "mm",
        start=_ZERO,
        worse="down",
        first=_ZERO,
        each=_ONE,
        rounding=rounding,
        cited=PRINTED,
        least=_ONE,
        after_start=True,
    )


def overbite(chosen: Chosen) -> Bands:
    return Bands(
        "overbite",
        "mm",
        (
            band("(..., 3]", 0),
            band("(3, 5]", 2),
            band("(5, 7]", 3),
            band("(7, ...)", chosen["overbite_over_7"]),
        ),
        PRINTED,
    )


FULL_COVER = Bands(
    "cover of the lower incisors", "%", (band("(..., 100)", 0), band("[100, ...)", 5)), PRINTED
)
PALATAL_CONTACT = Choice(
    "lower incisors against the palate",
    (("none", _ZERO), ("contact", Decimal(5)), ("trauma", Decimal(5))),
    (("none", "contact", "trauma"),),
    PRINTED,
    (("none", "no contact"), ("trauma", "contact with injury")),
)


def anterior_open_bite(chosen: Chosen, rounding: Rounding) -> PerUnit:
    plus = chosen["open_bite_start"] == "edge_point_plus"
    return PerUnit(
        "open bite in front, from edge to edge on",
        "mm",
        start=_ZERO,
        worse="down",
        first=_ONE if plus else _ZERO,
        each=_ONE,
        rounding=rounding,
        cited=PRINTED if plus else PRACTICE,
        least=_ZERO if plus else _ONE,
    )


def lateral_open_bite(rounding: Rounding) -> PerUnit:
    return PerUnit(
        "open bite behind, from 1 mm on",
        "mm",
        start=_ONE,
        worse="up",
        first=_TWO,
        each=_TWO,
        rounding=rounding,
        cited=PRINTED,
        limit_certainty="practice",
    )


def crowding(chosen: Chosen) -> Bands:
    printed = chosen["crowding_1"] == "1"
    return Bands(
        "crowding",
        "mm",
        (
            band("(..., 1)" if printed else "(..., 1]", 0),
            band("[1, 3]" if printed else "(1, 3]", 1),
            band("(3, 5]", 2),
            band("(5, 7]", 4),
            band("(7, ...)", 7),
        ),
        PRINTED,
    )


MOLARS = Choice(
    "first molars",
    (
        ("class1", _ZERO),
        ("toward2", _ZERO),
        ("end2", _TWO),
        ("full2", _FOUR),
        ("beyond2", _FOUR),
        ("toward3", _ZERO),
        ("end3", _TWO),
        ("full3", _FOUR),
        ("beyond3", _FOUR),
    ),
    (
        ("class1", "toward2", "end2", "full2", "beyond2"),
        ("class1", "toward3", "end3", "full3", "beyond3"),
    ),
    PRINTED,
    tuple(MOLAR_LABELS.items()),
)


def molar_beyond(rounding: Rounding) -> PerUnit:
    return PerUnit(
        "first molars beyond a full step",
        "mm",
        start=_ZERO,
        worse="up",
        first=_FOUR,
        each=_ONE,
        rounding=rounding,
        cited=PRINTED,
    )


_ACROSS = (("upper_outside", "none", "edge", "upper_inside"),)
_ACROSS_LABELS = (
    ("edge", "cusp to cusp"),
    ("upper_inside", "upper tooth inside"),
    ("upper_outside", "upper tooth outside"),
)
LINGUAL_CROSSBITE = Choice(
    "lingual crossbite",
    (("none", _ZERO), ("edge", _ZERO), ("upper_inside", _ONE), ("upper_outside", _ZERO)),
    _ACROSS,
    PRINTED,
    _ACROSS_LABELS,
)
BUCCAL_CROSSBITE = Choice(
    "buccal crossbite",
    (("none", _ZERO), ("edge", _ZERO), ("upper_inside", _ZERO), ("upper_outside", _TWO)),
    _ACROSS,
    PRINTED,
    _ACROSS_LABELS,
)


def _degrees(label: str, start: str, worse: str, first: int, each: int, rounding: Rounding) -> PerUnit:
    return PerUnit(
        label,
        "°",
        start=Decimal(start),
        worse="up" if worse == "up" else "down",
        first=Decimal(first),
        each=Decimal(each),
        rounding=rounding,
        cited=PRINTED,
        limit_certainty="memory",
    )


def anb(rounding: Rounding) -> Limbs:
    return Limbs(_degrees("ANB", "6", "up", 4, 1, rounding), _degrees("ANB", "-2", "down", 4, 1, rounding))


def sn_mp(rounding: Rounding) -> Limbs:
    return Limbs(
        _degrees("SN–MP", "38", "up", 2, 2, rounding), _degrees("SN–MP", "26", "down", 1, 1, rounding)
    )


def impa(rounding: Rounding) -> PerUnit:
    return _degrees("IMPA", "99", "up", 1, 1, rounding)


SUPERNUMERARY = Count("extra teeth", _ONE, PRINTED)


def _present(label: str, points: Decimal, cited: Cited = PRINTED) -> Choice:
    return Choice(label, (("none", _ZERO), ("yes", points)), (("none", "yes"),), cited)


ANKYLOSED = _present("ankylosed permanent tooth", _TWO)
ANOMALOUS = _present("unusual size or shape", _TWO)
TRANSPOSED = _present("transposition", _TWO, REMEMBERED)
IMPACTED = Choice(
    "impaction",
    (
        ("none", _ZERO),
        ("yes", _TWO),
        ("tipped", _TWO),
        ("supernumerary", Decimal(3)),
        ("supernumerary_counted", _TWO),
    ),
    (("none", "yes"), ("none", "tipped"), ("none", "supernumerary"), ("none", "supernumerary_counted")),
    PRINTED,
    (
        ("yes", "impacted"),
        ("tipped", "held against its neighbour"),
        ("supernumerary", "an impacted extra tooth: 1 for the extra tooth, 2 for the impaction"),
        ("supernumerary_counted", "an impacted extra tooth, itself counted with the extra teeth"),
    ),
)
MISSING = Choice(
    "missing tooth",
    (
        *((code, _ZERO) for code in ("none", "closed", "gap_not_recorded", "replaced")),
        ("extracted", _ONE),
        ("lost", _ONE),
        ("unknown", _ONE),
        ("congenital", _TWO),
    ),
    (("none", "extracted", "congenital"), ("none", "lost"), ("none", "unknown"), ("closed", "extracted")),
    PRINTED,
    (
        ("closed", "its space is closed"),
        ("gap_not_recorded", "counts only if its space is open, which nobody recorded"),
        ("replaced", "its successor stands"),
        ("unknown", "gone, cause unknown"),
        ("congenital", "never formed"),
    ),
)
RETAINED_PRIMARY = Choice(
    "primary tooth kept",
    (
        ("none", _ZERO),
        ("overdue", _ZERO),
        ("counted_once", _ZERO),
        ("not_scored", _ZERO),
        ("no_successor", _TWO),
    ),
    (("none", "no_successor"), ("overdue", "no_successor")),
    SETTLED,
    (
        ("overdue", "its successor is late"),
        ("counted_once", "counted with its missing successor"),
        ("not_scored", "not scored by choice"),
        ("no_successor", "its successor never formed"),
    ),
)
MIDLINE = Bands(
    "midline",
    "mm",
    (band("(..., -3]", 2), band("(-3, 3)", 0), band("[3, ...)", 2)),
    PRINTED,
    limit_certainty="memory",
    either_way=True,
)
SPACING = Bands("spaced teeth in the arch", "teeth", (band("(..., 4)", 0), band("[4, ...)", 2)), PRINTED)


def diastema(chosen: Chosen) -> Bands:
    from_2 = chosen["diastema"] == "from_2"
    return Bands(
        "gap between the upper central incisors",
        "mm",
        (band("(..., 2)" if from_2 else "(..., 2]", 0), band("[2, ...)" if from_2 else "(2, ...)", 2)),
        REMEMBERED if from_2 else PRINTED,
    )


ASYMMETRY = Choice(
    "skeletal asymmetry",
    (("none", _ZERO), ("nonsurgical", Decimal(3)), ("surgical", _ZERO)),
    (("none", "nonsurgical", "surgical"),),
    REMEMBERED,
    (("nonsurgical", "treated without surgery"), ("surgical", "treated with surgery")),
)
ADDED = Count("added complexity, named", _TWO, REMEMBERED)


@lru_cache(maxsize=256)
def components(choices: tuple[tuple[str, str], ...], edition: str) -> tuple[Component, ...]:
    """The rows of the form under the given choices; there is one edition."""
    chosen = dict(choices)
    part_mm: Rounding = chosen["part_millimetre"]  # type: ignore[assignment]
    part_deg: Rounding = chosen["part_degree"]  # type: ignore[assignment]
    behind = () if chosen["third_molars_behind"] == "counted" else (NO_THIRD_MOLARS,)
    front, incisors, buccal = teeth.UPPER_FRONT, teeth.UPPER_INCISORS, teeth.UPPER_BUCCAL
    plane = chosen["mandibular_plane"]
    return (
        WorstTooth("overjet", "overjet", incisors, overjet(chosen), WHOLE_TEETH),
        EachTooth("negative_overjet", "overjet", front, negative_overjet(part_mm), None, WHOLE_TEETH),
        WorstTooth(
            "overbite",
            "overbite",
            incisors,
            overbite(chosen),
            WHOLE_TEETH,
            rivals=(("palatal_contact", PALATAL_CONTACT), ("overbite_cover", FULL_COVER)),
            rivals_from=Decimal(3),
        ),
        EachTooth(
            "anterior_open_bite", "overbite", front, anterior_open_bite(chosen, part_mm), None, WHOLE_TEETH
        ),
        EachTooth(
            "lateral_open_bite",
            "posterior_open_bite",
            buccal,
            lateral_open_bite(part_mm),
            _ZERO,
            (*WHOLE_TEETH, *behind),
        ),
        WorstSite("crowding", (("crowding", "upper"), ("crowding", "lower")), crowding(chosen)),
        MolarRelation("molar_relation", MOLARS, molar_beyond(part_mm)),
        EachTooth("lingual_crossbite", "crossbite", buccal, LINGUAL_CROSSBITE, "none", behind),
        EachTooth("buccal_crossbite", "crossbite", buccal, BUCCAL_CROSSBITE, "none", behind),
        SingleNumber("anb", "anb", anb(part_deg)),
        SingleNumber("sn_mp", "sn_mp", sn_mp(part_deg), plane),
        SingleNumber("impa", "impa", impa(part_deg), plane),
        *_other(chosen),
    )


def _other(chosen: Chosen) -> tuple[Component, ...]:
    midline: tuple[tuple[str, str], ...] = (("midline_offset", "mouth"),)
    if chosen["midline_against"] == "face":
        midline = (("upper_midline_face", "mouth"), ("lower_midline_face", "mouth"))
    rows: tuple[Component, ...] = (
        Marked("other", "supernumerary", SUPERNUMERARY, (UNSCORED_THIRD,)),
        Marked("other", "ankylosed", ANKYLOSED, (UNSCORED_THIRD, UNSCORED_PRIMARY)),
        Marked("other", "anomalous", ANOMALOUS, (UNSCORED_THIRD,)),
        Marked("other", "impacted", IMPACTED, (UNSCORED_THIRD,), read_as=ExtraToothOnce()),
        WorstSite("other", midline, MIDLINE, by_absolute=True),
        closing_missing("other", MISSING, UNSCORED_THIRD, chosen["missing_closed"] == "0"),
        Marked(
            "other",
            "retained_primary",
            RETAINED_PRIMARY,
            needed=False,
            read_as=SuccessorOnce(chosen["retained_primary"] == "not_scored"),
        ),
        Gaps("other", SPACING, diastema(chosen), chosen["spaced_teeth"] == "both_contacts"),
        Marked("other", "transposed", TRANSPOSED, (UNSCORED_THIRD,)),
        SingleCode("other", "skeletal_asymmetry", ASYMMETRY),
        AddedComplexity("other", ADDED),
    )
    if chosen["blocked_canine"] == "also_impaction":
        rows += (BlockedCanines("other", _present("blocked-out canine as an impaction", _TWO, SETTLED)),)
    return rows
