"""Teeth, their notations, and the order in which they stand round an arch.

A tooth is always an ISO 3950 text of two digits: permanent `11`..`48`, primary `51`..`85`.
Sides are the patient's.  Universal and Palmer names are for display only.

Source: ISO 3950:2016; the maps to Universal and Palmer are checked tooth by tooth in the tests.
"""

from collections.abc import Collection, Iterable
from typing import Literal

Arch = Literal["upper", "lower"]
Side = Literal["right", "left"]
NOTATIONS = ("iso3950", "universal", "palmer")

UPPER_ROUND = tuple(f"1{n}" for n in range(8, 0, -1)) + tuple(f"2{n}" for n in range(1, 9))
LOWER_ROUND = tuple(f"4{n}" for n in range(8, 0, -1)) + tuple(f"3{n}" for n in range(1, 9))
PERMANENT = UPPER_ROUND + LOWER_ROUND
PRIMARY = (
    tuple(f"5{n}" for n in range(5, 0, -1))
    + tuple(f"6{n}" for n in range(1, 6))
    + tuple(f"8{n}" for n in range(5, 0, -1))
    + tuple(f"7{n}" for n in range(1, 6))
)
ALL_TEETH = frozenset(PERMANENT + PRIMARY)
THIRD_MOLARS = frozenset(("18", "28", "38", "48"))
FIRST_MOLARS = {"right": ("16", "46"), "left": ("26", "36")}
"""The upper and lower first molar whose relation is read on each side."""
UPPER_INCISORS = ("12", "11", "21", "22")
UPPER_FRONT = ("13", "12", "11", "21", "22", "23")
UPPER_BUCCAL = ("18", "17", "16", "15", "14", "24", "25", "26", "27", "28")

DEFAULT_PERMANENT = tuple(t for t in PERMANENT if t not in THIRD_MOLARS)
DEFAULT_PRIMARY = PRIMARY

_ROUND: dict[Arch, tuple[str, ...]] = {"upper": UPPER_ROUND, "lower": LOWER_ROUND}
_ORDER = {tooth: index for round_ in (UPPER_ROUND, LOWER_ROUND) for index, tooth in enumerate(round_)}
_PLACE = {t: t for t in PERMANENT} | {t: f"{int(t[0]) - 4}{t[1]}" for t in PRIMARY}
_ARCH: dict[str, Arch] = {t: "upper" if t[0] in "1256" else "lower" for t in PERMANENT + PRIMARY}
_SIDE: dict[str, Side] = {t: "right" if t[0] in "1458" else "left" for t in PERMANENT + PRIMARY}
_MIRROR_QUADRANT = {"1": "2", "2": "1", "3": "4", "4": "3", "5": "6", "6": "5", "7": "8", "8": "7"}
_PALMER_QUADRANT = {"1": "UR", "2": "UL", "3": "LL", "4": "LR", "5": "UR", "6": "UL", "7": "LL", "8": "LR"}
_UNIVERSAL = {
    **{tooth: str(i) for i, tooth in enumerate(UPPER_ROUND, start=1)},
    **{tooth: str(i) for i, tooth in enumerate(reversed(LOWER_ROUND), start=17)},
    **{
        tooth: chr(ord("A") + i)
        for i, tooth in enumerate(
            [f"5{n}" for n in range(5, 0, -1)]
            + [f"6{n}" for n in range(1, 6)]
            + [f"7{n}" for n in range(5, 0, -1)]
            + [f"8{n}" for n in range(1, 6)]
        )
    },
}
_FROM_UNIVERSAL = {shown_as: tooth for tooth, shown_as in _UNIVERSAL.items()}


def is_tooth(text: str) -> bool:
    """Whether the text is an ISO 3950 tooth, permanent or primary."""
    return text in ALL_TEETH


def is_primary(tooth: str) -> bool:
    """Whether the tooth belongs to the primary dentition."""
    return tooth[0] in "5678"


def place(tooth: str) -> str:
    """The permanent tooth whose place a tooth holds: `55` → `15`; a permanent tooth holds its own."""
    return _PLACE[tooth]


def predecessor(tooth: str) -> str | None:
    """The primary tooth that stood at a permanent tooth's place, or None for the molars behind."""
    return f"{int(tooth[0]) + 4}{tooth[1]}" if tooth[1] in "12345" and not is_primary(tooth) else None


def arch(tooth: str) -> Arch:
    """`upper` or `lower`."""
    return _ARCH[tooth]


def side(tooth: str) -> Side:
    """The patient's `right` or `left`."""
    return _SIDE[tooth]


def number(tooth: str) -> int:
    """Place counted from the midline, 1 to 8."""
    return int(tooth[1])


def mirror(tooth: str) -> str:
    """The same tooth of the other side."""
    return _MIRROR_QUADRANT[tooth[0]] + tooth[1]


def is_posterior(tooth: str) -> bool:
    """Whether the tooth stands behind the canine."""
    return tooth[1] in "45678"


def order(tooth: str) -> int:
    """Position of a tooth's place, counted from the patient's right to left within its arch."""
    return _ORDER[_PLACE[tooth]]


def nearest_midline_first(tooth: str) -> tuple[int, int]:
    """Sort key for ties: the tooth nearer the midline, then the patient's right."""
    return number(tooth), 0 if side(tooth) == "right" else 1


def in_order(teeth: Iterable[str]) -> tuple[str, ...]:
    """Teeth in reading order: upper from the patient's right to left, then lower the same way.

    Where a primary tooth and its successor both stand, the permanent tooth comes first.
    """
    return tuple(sorted(teeth, key=lambda t: (_ARCH[t] == "lower", order(t), is_primary(t))))


def round_the_arch(
    which: Arch, standing: Collection[str], transposed: Collection[str] = ()
) -> tuple[str, ...]:
    """Standing teeth of one arch from the patient's right to left.

    `transposed` names, once per exchanged pair, the more mesial place; that tooth changes places
    with the next one distally, pairs nearer the midline first, in whatever order they are named.  Where a primary tooth and its successor both stand, the permanent
    tooth holds the place and the primary one is left out.
    """
    held: dict[str, str] = {}
    for tooth in standing:
        if _ARCH[tooth] == which and (_PLACE[tooth] not in held or not is_primary(tooth)):
            held[_PLACE[tooth]] = tooth
    places = list(_ROUND[which])
    for here in sorted({_PLACE[tooth] for tooth in transposed}, key=nearest_midline_first):
        if _ARCH[here] != which or here[1] == "8":
            continue
        behind = f"{here[0]}{int(here[1]) + 1}"
        i, j = places.index(here), places.index(behind)
        places[i], places[j] = places[j], places[i]
    return tuple(held[p] for p in places if p in held)


def shown(tooth: str, notation: str) -> str:
    """A tooth in the reader's notation; primary teeth are letters in Universal and in Palmer (`URE`).

    Raises ValueError for an unknown notation.
    """
    if notation == "iso3950":
        return tooth
    if notation == "universal":
        return _UNIVERSAL[tooth]
    if notation == "palmer":
        n = number(tooth)
        return _PALMER_QUADRANT[tooth[0]] + ("ABCDE"[n - 1] if is_primary(tooth) else str(n))
    raise ValueError(f"unknown notation {notation!r}; allowed: {', '.join(NOTATIONS)}")


def from_universal(name: str) -> str:
    """The ISO 3950 tooth of a Universal name (`1`..`32`, `A`..`T`); KeyError for anything else."""
    return _FROM_UNIVERSAL[name]


def from_palmer(name: str) -> str:
    """The ISO 3950 tooth of a Palmer name written with its quadrant (`UR6`, `LLE`); KeyError otherwise."""
    quadrant, last = name[:2], name[2:]
    if last in "ABCDE" and len(last) == 1:
        return {"UR": "5", "UL": "6", "LL": "7", "LR": "8"}[quadrant] + str("ABCDE".index(last) + 1)
    if last not in {str(n) for n in range(1, 9)}:
        raise KeyError(name)
    return {"UR": "1", "UL": "2", "LL": "3", "LR": "4"}[quadrant] + last


def shown_site(site: str, notation: str) -> str:
    """A site in the reader's notation: tooth, contact, cusp; wider sites in plain words."""
    if is_tooth(site):
        return shown(site, notation)
    if "-" in site and all(is_tooth(part) for part in site.split("-")):
        return "–".join(shown(part, notation) for part in site.split("-"))
    if "." in site and is_tooth(site.split(".")[0]):
        tooth, cusp = site.split(".", 1)
        return f"{shown(tooth, notation)} {cusp}"
    return site.replace("-", " ")
