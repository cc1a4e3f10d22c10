"""The dental health component as one table a letter, in the order in which letters are searched.

Limits: Brook and Shaw, Eur J Orthod 1989;11:309-320, as reprinted (read); the words of full steps in
letter g are from memory.  On a limit the lower grade holds.  Open readings: `reading.md`.
"""

from decimal import Decimal

from portfolio.quantities.occlusion import MOLAR_LABELS
from scoring.indices.iotn.grades import GradeBands, GradeChoice
from scoring.measured_shapes import band
from scoring.shapes import Cited, Said

PRINTED = Cited("iotn_lists", "read")
GRADE_5 = Cited("iotn_grade_5", "read")
QUADRANTS = Cited("iotn_quadrants", "read")
ON_CASTS = Cited("iotn_on_casts", "read")
SUPPORT = Cited("iotn_support_zone", "read")
SETTLED = Cited("iotn_settled", "practice")

_NO = Decimal(0)
_TWO, _THREE, _FOUR, _FIVE = (Decimal(n) for n in (2, 3, 4, 5))

# i
IMPEDED = GradeChoice(
    "impeded eruption",
    (("none", _NO), ("yes", _FIVE), ("supernumerary", _FIVE), ("overdue", _FIVE)),
    (("none", "yes"),),
    GRADE_5,
    (
        ("yes", "impacted"),
        ("supernumerary", "an extra tooth at the place of an unerupted one"),
        ("overdue", "a primary tooth kept too long at the place of an unerupted one"),
    ),
)
ERUPTION_SPACE = GradeBands(
    "space for an unerupted tooth", "mm", (band("(..., 4]", 5), band("(4, ...)", 0)), SUPPORT
)
SUPPORT_ZONE = {
    "upper": GradeBands(
        "upper support zone of an unerupted tooth",
        "mm",
        (band("(..., 18]", 5), band("(18, ...)", 0)),
        SUPPORT,
    ),
    "lower": GradeBands(
        "lower support zone of an unerupted tooth",
        "mm",
        (band("(..., 17]", 5), band("(17, ...)", 0)),
        SUPPORT,
    ),
}
NOT_UNERUPTED = Said("counts for an unerupted tooth only", SETTLED)
THIRD_MOLAR = Said("third molars are not graded", PRINTED)

# h
NEVER_FORMED = GradeChoice(
    "teeth missing from one quadrant",
    (
        ("none", _NO),
        ("one", _FOUR),
        ("several", _FIVE),
        ("extracted", _NO),
        ("lost", _NO),
        ("unknown", _NO),
    ),
    (("none", "one", "several"),),
    QUADRANTS,
    (
        ("one", "one never formed"),
        ("several", "more than one never formed"),
        ("extracted", "extracted"),
        ("lost", "lost"),
        ("unknown", "gone, cause unknown, not counted"),
    ),
)
PRIMARY_MISSING = Said("missing primary teeth are not graded", SETTLED)
NO_SUCCESSOR = Said("counts when its successor is recorded as missing, never formed", SETTLED)

# p
CLEFT = GradeChoice("cleft or craniofacial anomaly", (("no", _NO), ("yes", _FIVE)), (("no", "yes"),), PRINTED)

# s
SUBMERGED = GradeChoice(
    "submerged primary tooth",
    (("none", _NO), ("yes", _NO), ("severe", _FIVE)),
    (("none", "yes", "severe"),),
    GRADE_5,
    (("yes", "more than two cusps show"), ("severe", "two cusps or fewer show, or neighbours tip over it")),
)

# t
TIPPED = GradeChoice(
    "partly erupted tooth", (("tipped", _FOUR),), (), PRINTED, (("tipped", "held against its neighbour"),)
)

# x
EXTRA = GradeChoice(
    "extra teeth", (("none", _NO), ("yes", _FOUR)), (("none", "yes"),), PRINTED, (("yes", "present"),)
)


# a
def _overjet(middle: int, aside: str) -> GradeBands:
    return GradeBands(
        "overjet",
        "mm",
        (
            band("(..., 3.5]", 0),
            band("(3.5, 6]", middle),
            band("(6, 9]", 4),
            band("(9, ...)", 5),
        ),
        PRINTED,
        asides=((middle, aside),),
    )


OVERJET = {
    "competent": _overjet(2, "lips competent"),
    "incompetent": _overjet(3, "lips incompetent"),
    "unknown": _overjet(3, "lips taken as incompetent"),
    "": _overjet(2, "at least, lips not recorded"),
}
LIPS_ALONE = Said("lips count with an overjet over 3.5 to 6 mm only", PRINTED)


# m, b
def _reverse(over_1: int, over_3_5: int, aside: str) -> GradeBands:
    return GradeBands(
        "reverse overjet",
        "mm",
        (
            band("(..., -3.5)", over_3_5),
            band("[-3.5, -1)", over_1),
            band("[-1, 0)", 2),
            band("[0, ...)", 0),
        ),
        PRINTED,
        by_size=True,
        asides=((over_1, aside), (over_3_5, aside)),
    )


REVERSE = {
    "yes": _reverse(4, 5, "speech or chewing problems"),
    "unknown": _reverse(4, 5, "speech or chewing problems taken as present"),
    "no": _reverse(3, 4, "no speech or chewing problems"),
    "": _reverse(3, 4, "at least, speech and chewing not recorded"),
}
FUNCTION_ALONE = Said("speech and chewing count with a reverse overjet over 1 mm only", PRINTED)

CANINE_WITH_INCISORS = Said("a canine in reverse goes with the reverse overjet of the incisors", SETTLED)

# c
CROSSED = GradeBands(
    "crossbite, shift on closing",
    "mm",
    (band("(..., 1]", 2), band("(1, 2]", 3), band("(2, ...)", 4)),
    PRINTED,
)


def _across(grade: int, shift: str) -> GradeChoice:
    crossed = Decimal(grade)
    return GradeChoice(
        "crossbite",
        (("none", _NO), ("edge", _NO), ("upper_inside", crossed), ("upper_outside", crossed)),
        (("upper_outside", "none", "edge", "upper_inside"),),
        PRINTED,
        (
            ("edge", "cusp to cusp"),
            ("upper_inside", f"upper tooth inside, {shift}"),
            ("upper_outside", f"upper tooth outside, {shift}"),
        ),
    )


ACROSS_BY_SHIFT = {
    2: _across(2, "shift up to 1 mm"),
    3: _across(3, "shift over 1 to 2 mm"),
    4: _across(4, "shift over 2 mm"),
}
ACROSS_UNKNOWN = _across(4, "shift taken as over 2 mm")
ACROSS_NOT_RECORDED = _across(2, "at least, shift not recorded")


def _front(grade: int) -> GradeBands:
    return GradeBands(
        "front tooth in reverse", "mm", (band("(..., 0)", grade), band("[0, ...)", 0)), PRINTED, by_size=True
    )


FRONT_ACROSS = {grade: _front(grade) for grade in (2, 3, 4)}
SHIFT_ALONE = Said("a shift counts with a crossbite only", PRINTED)

# l
SCISSORS = GradeChoice(
    "scissor bite, functional contact on its side",
    (("yes", _NO), ("no", _FOUR)),
    (("yes", "no"),),
    PRINTED,
)
CONTACT_ALONE = Said("contact behind counts with an upper tooth outside only", PRINTED)

# d
DISPLACEMENT = GradeBands(
    "displacement of contact points",
    "mm",
    (band("(..., 1]", 0), band("(1, 2]", 2), band("(2, 4]", 3), band("(4, ...)", 4)),
    PRINTED,
)
PRIMARY_CONTACT = Said("contacts of primary teeth are not graded", Cited("iotn_memory", "memory"))

# e
OPEN_FRONT = GradeBands(
    "open bite in front",
    "mm",
    (band("(..., -4)", 4), band("[-4, -2)", 3), band("[-2, -1)", 2), band("[-1, ...)", 0)),
    PRINTED,
    by_size=True,
)
OPEN_BEHIND = GradeBands(
    "open bite behind",
    "mm",
    (band("(..., 1]", 0), band("(1, 2]", 2), band("(2, 4]", 3), band("(4, ...)", 4)),
    PRINTED,
)

# f
PALATAL_CONTACT = GradeChoice(
    "lower incisors against gingiva or palate",
    (("none", _NO), ("contact", _THREE), ("trauma", _FOUR)),
    (("none", "contact", "trauma"),),
    PRINTED,
    (("none", "no contact"), ("contact", "contact without injury"), ("trauma", "contact with injury")),
)
DEEP_FROM = Decimal("3.5")
OVERBITE = GradeBands(
    "overbite",
    "mm",
    (band("(..., 3.5)", 0), band("[3.5, ...)", 2)),
    PRINTED,
)

# g
_FULL_STEPS = ("full2", "beyond2", "full3", "beyond3")
MOLARS = GradeChoice(
    "first molars",
    tuple((code, _NO if code == "class1" else _TWO) for code in MOLAR_LABELS),
    (
        ("class1", "toward2", "end2", "full2", "beyond2"),
        ("class1", "toward3", "end3", "full3", "beyond3"),
    ),
    PRINTED,
    tuple(MOLAR_LABELS.items()),
    from_memory=_FULL_STEPS,
)
OFF_CLASS_I_BESIDE = Said("molars off Class I count only where nothing else fires", PRINTED)

CANNOT_BE_TOLD = Said("looked for and cannot be told: counts like not recorded", SETTLED)
REST_LOOKED_AT = Said(
    "the teeth not listed were looked at: none in reverse, open or worse than those listed", SETTLED
)
