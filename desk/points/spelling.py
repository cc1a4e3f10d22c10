"""How a value is typed for a line of the sheet, told beside its box."""

from desk.measuring.layout import DIRECTIONS, SENSES
from portfolio.finding_sheet import Finding
from portfolio.quantity import UNIT_WORDS
from portfolio.vocabulary import QUANTITIES

EXAMPLES = {"o": "o 4", "x": "x 2", "e": "e"}


def spelling(finding: Finding) -> str:
    """`3.5 mm; o 4 open, x 2 reverse`; for codes all that are taken, for directions the sign of each."""
    quantity = QUANTITIES[finding.quantity]
    if quantity.kind != "number":
        taken = quantity.allowed_words()
        return f"One of {', '.join(taken)}." if taken else ""
    unit = UNIT_WORDS[quantity.unit]
    example = "3" if quantity.whole else "3.5"
    said = [f"{example}{'' if unit in ('°', '') else ' '}{unit}"]
    said += [f"{EXAMPLES[sense]} {SENSES[sense]}" for sense in quantity.senses]
    said += [
        f"{'−2' if sign == '-' else '2'} {words}"
        for sign, words in DIRECTIONS.get(finding.quantity, ())
        if sign
    ]
    return f"Typed as {', '.join(said)}."
