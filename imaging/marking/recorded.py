"""What a sheet holds of a result that is taken over: rounded once, with the sign of its direction."""

from decimal import Decimal

from imaging.marking.measures import Result
from portfolio.typed import rounded_to_step


def sign_of(sense: str) -> int:
    """-1 for the direction of minus, else 1."""
    return -1 if sense == "-" else 1


def as_recorded(result: Result, sense: str, step: Decimal) -> tuple[str, str]:
    """Value and standard deviation as decimal texts: the value rounded from all its digits to the sheet's step."""
    rounded = rounded_to_step(Decimal(f"{sign_of(sense) * result.value:.9f}"), step)
    return format(rounded or abs(rounded), "f"), f"{result.sd:.2f}"
