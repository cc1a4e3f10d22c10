"""Words for answers, weights and choices on the pages of slots.  Pure."""

import math
from decimal import Decimal

from plans.answers import Answer
from plans.requirements.words import shown, with_unit
from plans.selection import Weight
from scoring.uncertainty.law import percent

SINGULAR = {"points": "point", "months": "month", "grade": "grade"}


def margin_words(answer: Answer) -> str:
    """`4 points to spare`, `short by 2 points`, `at the limit`; empty where there is no distance."""
    if answer.margin is None:
        return ""
    if answer.margin == 0:
        return "at the limit"
    size = amount(abs(answer.margin), answer.unit)
    return f"{size} to spare" if answer.margin > 0 else f"short by {size}"


def amount(size: Decimal, unit: str) -> str:
    """A distance with its unit: `1 point`, `2 grades`, `3.5 mm`."""
    if unit in SINGULAR:
        one = SINGULAR[unit]
        return f"{shown(size)} {one if size == 1 else one + 's'}"
    return with_unit(size, unit)


def chance_words(chance: float | None) -> str:
    """`P 92 %`, and `P > 99 %` for certainty; empty where it cannot be told."""
    return "" if chance is None else f"P {percent(chance)}"


def cell_margin(answer: Answer) -> str:
    """The distance where it is what decides: of a slot that is met, or that fails by it."""
    if answer.margin is None or answer.state == "unknown":
        return ""
    decides = answer.met or answer.state == "depends" or answer.margin < 0
    return margin_words(answer) if decides else ""


def cell_chance(answer: Answer) -> str:
    """The chance where it says more than the state: by how much a number is uncertain."""
    open_still = answer.chance is not None and 0 < answer.chance < 1
    return chance_words(answer.chance) if open_still and cell_margin(answer) else ""


def sure(answer: Answer) -> bool:
    """Whether a chance says nothing that the state has not said: a recorded fact."""
    return answer.margin is None and answer.chance in (None, 0.0, 1.0)


def weight_words(weight: Weight, answer: Answer) -> str:
    """How firmly a case holds a slot: distance and chance, or that it is a recorded fact."""
    if sure(answer):
        return "a recorded fact"
    told = [margin_words(answer), "" if math.isinf(weight.margin_sd) else chance_words(answer.chance)]
    return ", ".join(part for part in told if part) or "met"
