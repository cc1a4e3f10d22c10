"""The contacts of the front teeth as they stand now: the five from canine to canine, closed up."""

from functools import lru_cache

from portfolio import teeth
from portfolio.finding_sheet import Sheet

RIGHT_CANINE, LEFT_CANINE = 5, 10
"""Places of the canines counted round an arch from the patient's right third molar, which is 0."""


def front_contacts(sheet: Sheet, arch: str) -> tuple[str, ...]:
    """Contacts that take the places of the five from canine to canine, from the patient's right to left.

    Missing and unerupted teeth close up: without a canine the contact of its neighbours takes the place
    of 13-12.  After a transposition places count, not names, and contacts follow the new order.
    """
    return tuple(
        contact
        for contact in sheet.contacts[arch]
        if place_round(sheet, contact[:2]) < LEFT_CANINE and place_round(sheet, contact[3:]) > RIGHT_CANINE
    )


def place_round(sheet: Sheet, tooth: str) -> int:
    """The place of a tooth round its arch, 0 to 15 from the patient's right, transpositions followed.

    A primary tooth has the place of its successor.
    """
    return _places(teeth.arch(tooth), sheet.transposed)[teeth.place(tooth)]


@lru_cache(maxsize=64)
def _places(arch: teeth.Arch, transposed: frozenset[str]) -> dict[str, int]:
    whole = teeth.round_the_arch(arch, teeth.PERMANENT, transposed)
    return {tooth: place for place, tooth in enumerate(whole)}
