"""A number between limits: state, distance, chance.  Pure.

A floor (an incomplete total) can show that a least is reached and that a most is passed, nothing else.
"""

import math
from collections.abc import Iterator, Mapping
from dataclasses import dataclass
from decimal import Decimal
from typing import Any

from plans.answers import State
from plans.requirements.requirement import Field


@dataclass(frozen=True, slots=True)
class Limits:
    """Least and most, both included; None where there is none."""

    least: Decimal | None = None
    most: Decimal | None = None

    def state(self, value: Decimal | None, *, floor: bool = False) -> State:
        """Where a value stands; `floor`: the truth is this or more."""
        if value is None:
            return "unknown"
        if self.most is not None and value > self.most:
            return "not_met"
        if self.least is not None and value < self.least:
            return "unknown" if floor else "not_met"
        return "unknown" if floor and self.most is not None else "met"

    def margin(self, value: Decimal) -> Decimal:
        """The distance to the nearer limit, below 0 outside."""
        distances = []
        if self.least is not None:
            distances.append(value - self.least)
        if self.most is not None:
            distances.append(self.most - value)
        return min(distances)

    def chance_by_tails(self, tails: Mapping[Any, float]) -> float:
        """P(least ≤ truth ≤ most) from P(truth ≥ n) at every value the truth can have."""
        above = 0.0 if self.most is None else _tail(tails, self.most, beyond=True)
        reached = 1.0 if self.least is None else _tail(tails, self.least, beyond=False)
        return min(max(reached - above, 0.0), 1.0)

    def chance_by_sd(self, value: Decimal, sd: float) -> float:
        """P(least ≤ truth ≤ most) for a truth spread normally round the value; a value without error is certain."""
        if sd <= 0:
            return 1.0 if self.state(value) == "met" else 0.0
        below = 0.0 if self.least is None else _normal(float(self.least - value) / sd)
        up_to = 1.0 if self.most is None else _normal(float(self.most - value) / sd)
        return max(up_to - below, 0.0)


def _tail(tails: Mapping[Any, float], limit: Decimal, *, beyond: bool) -> float:
    """P(truth ≥ limit), or P(truth > limit): the tail at the first value there; 0 behind the last one."""
    for value in sorted(tails):
        if value > limit if beyond else value >= limit:
            return tails[value]
    return 0.0


def _normal(z: float) -> float:
    return 0.5 * math.erfc(-z / math.sqrt(2))


def limit_fields(unit: str, least: int, most: int, takes: Any = "number") -> tuple[Field, ...]:
    """The two fields `at_least` and `at_most`, of which one at least is given."""
    return tuple(
        Field(key, label, takes, required=False, unit=unit, least=Decimal(least), most=Decimal(most))
        for key, label in (("at_least", "At least"), ("at_most", "At most"))
    )


def limit_faults(values: Mapping[str, Any]) -> Iterator[tuple[str, str]]:
    """No limit at all, or a least above the most."""
    least, most = values["at_least"], values["at_most"]
    if least is None and most is None:
        yield "at_least", "a least or a most is required"
    elif least is not None and most is not None and least > most:
        yield "at_least", f"{least} is more than the most of {most}"
