"""Which way a paragraph of the owner's words runs, so that print and browser set mixed scripts in the same order."""

import unicodedata
from dataclasses import dataclass


@dataclass(frozen=True, slots=True)
class Paragraph:
    """Words with their direction, "ltr" or "rtl"."""

    text: str
    direction: str


def direction(text: str) -> str:
    """ "rtl" if the first letter of known direction runs from right to left, else "ltr".

    Unicode Standard Annex 9, rules P2 and P3: digits and signs decide nothing, and isolated parts are passed over.
    """
    isolated = 0
    for one in text:
        kind = unicodedata.bidirectional(one)
        if kind in ("LRI", "RLI", "FSI"):
            isolated += 1
        elif kind == "PDI":
            isolated = max(0, isolated - 1)
        elif not isolated and kind in ("L", "R", "AL"):
            return "ltr" if kind == "L" else "rtl"
    return "ltr"


def paragraphs(text: str) -> tuple[Paragraph, ...]:
    """The lines of a text that have words, each with its own direction."""
    return tuple(Paragraph(line, direction(line)) for line in text.splitlines() if line.strip())
