"""Teeth as somebody types them in the notation of the portfolio: `14, 24 34;44`, `5 12`, `UR4, ul4`."""

import re

from portfolio import teeth

EXAMPLES = {
    "iso3950": ("14, 24", "ISO 3950: 11 to 48, primary 51 to 85"),
    "universal": ("5, 12", "Universal: 1 to 32, primary A to T"),
    "palmer": ("UR4, UL4", "Palmer with its quadrant: UR1 to LR8, primary URA to LRE"),
}
"""Notation → an example, and what is allowed."""


class TeethRefused(ValueError):
    """A typed text that names something else than teeth; the message says what and what is allowed."""


def read_teeth(text: str, notation: str) -> tuple[str, ...]:
    """ISO 3950 teeth in reading order, each once; refused with everything that is no tooth.

    Names are parted by commas, semicolons, spaces or `and`; small letters do.
    """
    names = [name for name in re.split(r"[,;\s]+", text.strip()) if name and name.lower() not in ("and", "+")]
    found, wrong = set(), []
    for name in names:
        try:
            found.add(_tooth(name.upper(), notation))
        except KeyError:
            wrong.append(name)
    if wrong:
        example, allowed = EXAMPLES[notation]
        verb = "is no tooth" if len(wrong) == 1 else "are no teeth"
        raise TeethRefused(f"{', '.join(wrong)} {verb} of {allowed}. Write for example {example}.")
    return teeth.in_order(found)


def teeth_shown(found: tuple[str, ...], notation: str) -> str:
    """Teeth as `read_teeth` takes them."""
    return ", ".join(teeth.shown(tooth, notation) for tooth in found)


def _tooth(name: str, notation: str) -> str:
    if notation == "universal":
        return teeth.from_universal(name)
    if notation == "palmer":
        return teeth.from_palmer(name)
    if not teeth.is_tooth(name):
        raise KeyError(name)
    return name
