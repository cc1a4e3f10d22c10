"""Hints at the sides: molars against interdigitation, canines and the midlines."""

from collections.abc import Iterator
from decimal import Decimal

from portfolio import sites, teeth
from portfolio.finding_sheet import Sheet
from portfolio.wording import value_words
from scoring.hints.hint import PRACTICE, Hint, hint, single

STEP = {
    "class1": Decimal(0),
    "toward2": Decimal("0.25"),
    "end2": Decimal("0.5"),
    "full2": Decimal(1),
    "beyond2": Decimal(1),
    "toward3": Decimal("-0.25"),
    "end3": Decimal("-0.5"),
    "full3": Decimal(-1),
    "beyond3": Decimal(-1),
}
"""Place on the scale from full Class II (1) to full Class III (-1), in steps of a whole cusp."""
MESHING = frozenset(("class1", "full2", "full3"))
ON_CUSPS = frozenset(("end2", "end3"))
ASYMMETRY = Decimal(1)
"""From this difference between right and left on, one side is a full step apart from the other."""
MIDLINE_AGAINST = Decimal(1)
MIDLINE_ALONE = Decimal(4)


def interdigitation_against_molars(sheet: Sheet, notation: str) -> Iterator[Hint]:
    """Molars in a groove or embrasure with cusps on cusps behind, or the other way round."""
    for side in sites.SIDES:
        molars = sheet.at("molar_relation", side)
        meshed = sheet.at("buccal_interdigitation", side)
        if molars is None or meshed is None or sheet.at("molar_substitute", side) is not None:
            continue
        if (molars.value in MESHING and meshed.value == "cusp_to_cusp") or (
            molars.value in ON_CUSPS and meshed.value == "fitted"
        ):
            yield hint(
                "interdigitation_against_molars",
                ("molar_relation", "buccal_interdigitation"),
                (side,),
                f"{side.capitalize()}: first molars {value_words('molar_relation', molars.value)}, interdigitation "
                f"{value_words('buccal_interdigitation', meshed.value)}.",
                "Molars in a groove or embrasure mostly bring the teeth before them into mesh, whatever their class, "
                "and end to end they do not. Look again at both on this side.",
                PRACTICE,
            )


def canines_against_molars(sheet: Sheet, notation: str) -> Iterator[Hint]:
    """Canines and molars of one side a full step apart although no tooth between them is missing."""
    for side in sites.SIDES:
        molars, canines = sheet.at("molar_relation", side), sheet.at("canine_relation", side)
        if molars is None or canines is None or _lacks_teeth(sheet, side):
            continue
        if abs(STEP[molars.value] - STEP[canines.value]) >= 1:
            yield hint(
                "canines_against_molars",
                ("molar_relation", "canine_relation"),
                (side,),
                f"{side.capitalize()}: first molars {value_words('molar_relation', molars.value)}, canines "
                f"{value_words('canine_relation', canines.value)}, and no tooth before the molars is missing.",
                "With all teeth there, canines and molars of a side seldom lie a whole step apart. Look again at the "
                "class of both, or at a missing tooth that is not recorded.",
            )


def _lacks_teeth(sheet: Sheet, side: str) -> bool:
    """Whether something between midline and first molar of a side is not there in its permanent form."""
    places = [t for t in teeth.PERMANENT if teeth.side(t) == side and teeth.number(t) <= 6]
    return any(t not in sheet.standing for t in places)


def midline_against_molars(sheet: Sheet, notation: str) -> Iterator[Hint]:
    """The lower midline lies away from the side that is more Class II, or far off with both sides alike."""
    right, left = (sheet.at("molar_relation", side) for side in sites.SIDES)
    offset = single(sheet, "midline_offset", "mouth")
    if right is None or left is None or offset is None or _one_sided(sheet):
        return
    lean = STEP[left.value] - STEP[right.value]
    where = value_words("midline_offset", str(offset))
    if abs(lean) >= ASYMMETRY and lean * offset < 0 and abs(offset) >= MIDLINE_AGAINST:
        more = "left" if lean > 0 else "right"
        words = (
            f"First molars: right {value_words('molar_relation', right.value)}, left "
            f"{value_words('molar_relation', left.value)}. Midlines: {where}."
        )
        why = (
            f"With the {more} side a full step further toward Class II, the lower midline mostly lies to the {more}. "
            "Look again at its direction, the patient's, and at the class of both sides."
        )
    elif right.value == left.value and abs(offset) >= MIDLINE_ALONE:
        words = (
            f"Midlines: {where}, with both sides {value_words('molar_relation', right.value)} and no tooth missing "
            "on one side only."
        )
        why = "A midline this far off mostly goes with unlike sides. Look again at the midlines and at both sides."
    else:
        return
    yield hint(
        "midline_against_molars", ("midline_offset", "molar_relation"), ("mouth", *sites.SIDES), words, why
    )


def _one_sided(sheet: Sheet) -> bool:
    """Whether teeth before the second molars are missing, buried or kept on one side alone."""
    places = [t for t in teeth.PERMANENT if teeth.number(t) <= 6]
    away = {t for t in places if t not in sheet.standing}
    return any(teeth.mirror(t) not in away for t in away)


CHECKS = (interdigitation_against_molars, canines_against_molars, midline_against_molars)
