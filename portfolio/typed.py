"""What a screen takes where a file is strict: commas, units, sense keys; and the one rounding.

A value typed is rounded once, on entry, to the sheet's step, half away from zero; the rounded text
is the finding's value.
"""

import re
from dataclasses import dataclass
from decimal import ROUND_HALF_UP, Decimal

from portfolio import sites
from portfolio.quantity import UNIT_WORDS, Quantity
from portfolio.vocabulary import QUANTITIES, STEPS

_SHAPE = re.compile(r"(?P<minus>-?) ?(?P<number>[0-9]+(?:[.,][0-9]+)?)\Z", re.ASCII)
_MINUS_SIGNS = str.maketrans({"−": "-", "–": "-", "‒": "-", "﹣": "-", "-": "-"})
_UNITS = {
    "mm": "mm",
    "millimetres": "mm",
    "millimetre": "mm",
    "deg": "deg",
    "degrees": "deg",
    "degree": "deg",
    "°": "deg",
    "%": "%",
}
MOST_DECIMALS = 2


@dataclass(frozen=True, slots=True)
class Typed:
    """A value as it is stored, the text as it was typed, and whether rounding changed it."""

    value: str
    text: str
    was_rounded: bool = False


class TypedRefused(ValueError):
    """The text was not taken; the message says what was met and what is allowed."""


def typed(quantity_key: str, site: str, text: str, step: str = "0.1") -> Typed:
    """The stored value of a text typed for a quantity at a site.

    Numbers take `3,5`, `3.5`, `3.5 mm`, `−3`; where the quantity has senses, `o` before or after
    means open (minus), `x` reverse (minus), `e` alone edge to edge (0).  Raises TypedRefused, and
    KeyError for an unknown quantity.
    """
    quantity = QUANTITIES[quantity_key]
    plain = " ".join(text.split())
    if not plain:
        raise TypedRefused("nothing was typed")
    lowered = plain.lower()
    if quantity.takes_region(site, lowered) or (
        sites.kind(site) == "mouth" and lowered in quantity.mouth_codes
    ):
        return Typed(lowered, text)
    if quantity.kind == "number" and lowered != "unknown":
        return _number(quantity, plain, text, Decimal(step))
    value = plain if quantity.kind == "words" else _matching(quantity, plain)
    fault = quantity.fault(value)
    if fault:
        raise TypedRefused(fault)
    return Typed(quantity.canonical(value), text)


def _matching(quantity: Quantity, plain: str) -> str:
    for code in (*quantity.allowed_words(), *quantity.aliases):
        if plain.lower() == code.lower():
            return code
    return plain


def _number(quantity: Quantity, plain: str, text: str, step: Decimal) -> Typed:
    if step not in STEPS:
        raise ValueError(f"step {step} is not one of {', '.join(map(str, STEPS))}")
    number = _sensed(quantity, plain)
    assert quantity.minimum is not None
    assert quantity.maximum is not None
    if not quantity.minimum <= number <= quantity.maximum:
        unit = f" {UNIT_WORDS[quantity.unit]}" if quantity.unit else ""
        raise TypedRefused(
            f"{_shown(number)} is out of range; {quantity.label.lower()} takes {_shown(quantity.minimum)} to "
            f"{_shown(quantity.maximum)}{unit}"
        )
    if quantity.whole:
        if number != number.to_integral_value():
            raise TypedRefused(f"{_shown(number)} is not a whole number")
        return Typed(_text(number), text)
    rounded = rounded_to_step(number, step)
    if number == number.to_integral_value() and "." not in str(number):
        return Typed(_text(rounded), text, was_rounded=rounded != number)
    return Typed(format(rounded or abs(rounded), "f"), text, was_rounded=rounded != number)


def rounded_to_step(number: Decimal, step: Decimal) -> Decimal:
    """The nearest multiple of the step, half away from zero."""
    return (number / step).quantize(Decimal(1), rounding=ROUND_HALF_UP) * step


def _sensed(quantity: Quantity, plain: str) -> Decimal:
    bare, unit = _split_unit(plain.lower().translate(_MINUS_SIGNS))
    bare, sense = _split_sense(bare)
    if sense and not unit:
        bare, unit = _split_unit(bare)
    if unit and _UNITS[unit] != quantity.unit:
        raise TypedRefused(f'"{plain[:40]}": {quantity.label.lower()} is not taken in {unit}')
    if sense == "e" and not bare:
        _require_sense(quantity, "e")
        return Decimal(0)
    match = _SHAPE.match(bare)
    if match is None or sense == "e":
        raise TypedRefused(f'"{plain[:40]}" is not a number; write 3.5 or 3,5')
    number = match["number"].replace(",", ".")
    decimals = len(number.partition(".")[2])
    if decimals > MOST_DECIMALS:
        raise TypedRefused(
            f'"{plain[:40]}" has {decimals} decimals; at most {MOST_DECIMALS} are taken, and no sign between thousands'
        )
    if len(number) > 8:
        raise TypedRefused(f'"{plain[:40]}" has too many digits')
    value = Decimal(number)
    if sense:
        _require_sense(quantity, sense)
        if match["minus"]:
            raise TypedRefused(f'"{plain[:40]}" says minus and {sense} at once; write one of them')
        return -value
    return -value if match["minus"] else value


def _split_unit(bare: str) -> tuple[str, str]:
    unit = next((unit for unit in _UNITS if bare.endswith(unit)), "")
    return bare.removesuffix(unit).rstrip(), unit


def _split_sense(bare: str) -> tuple[str, str]:
    if bare[:1] in ("o", "x", "e"):
        return bare[1:].strip(), bare[0]
    if bare[-1:] in ("o", "x", "e"):
        return bare[:-1].strip(), bare[-1]
    return bare, ""


def _require_sense(quantity: Quantity, sense: str) -> None:
    if sense not in quantity.senses:
        allowed = " and ".join(quantity.senses)
        raise TypedRefused(
            f"{quantity.label.lower()} does not take {sense}" + (f"; it takes {allowed}" if allowed else "")
        )


def _text(number: Decimal) -> str:
    text = format(number, "f")
    if "." in text:
        text = text.rstrip("0").rstrip(".")
    return "0" if text in ("-0", "") else text


def _shown(number: Decimal) -> str:
    return _text(number).replace("-", "−")
