"""Chances of reaching whole totals, small enough to be kept, and a digest of the errors they were worked out under.  Pure."""

import hashlib
import math
from collections.abc import Mapping
from dataclasses import dataclass
from functools import cache

import numpy as np

from portfolio.code_errors import truths
from portfolio.errors import default_error
from portfolio.vocabulary import METHODS, QUANTITIES
from scoring.uncertainty.law import Distribution
from scoring.uncertainty.model import ErrorModel, Question

REVISION = "1"
"""Moves when the same findings under the same errors get another law."""


@dataclass(frozen=True, slots=True)
class Tails:
    """P(total >= first + k) for k from 0 on, and the deviation of the total in its unit.

    A total under `first` cannot be, one beyond the last entry neither.
    """

    first: int
    chances: tuple[float, ...]
    sd: float

    def at_least(self, total: int) -> float:
        """The chance of a whole total or more."""
        place = total - self.first
        if place <= 0:
            return 1.0
        return self.chances[place] if place < len(self.chances) else 0.0

    @property
    def by_total(self) -> Mapping[int, float]:
        """Whole total → chance of it or more, from the last that is certain to the last that can be."""
        return {self.first + k: chance for k, chance in enumerate(self.chances)}

    def as_json(self) -> dict[str, object]:
        return {"first": self.first, "tails": list(self.chances), "sd": self.sd}


def tails(total: Distribution) -> Tails:
    """The tails of a distribution at every whole number from the smallest value that can be, rounded down."""
    first = math.floor(total.values[0])
    reached = np.cumsum(total.chances[::-1])[::-1]
    wanted = range(first, math.floor(total.values[-1]) + 1)
    # the first value at or over each whole number, in units from the smallest one
    at = [max(0, math.ceil(n / total.unit) - total.first) for n in wanted]
    chances = (1.0 if k == 0 else min(float(reached[k]), 1.0) for k in at)
    return Tails(first, tuple(chances), total.sd)


def read_tails(stored: Mapping[str, object]) -> Tails:
    """Tails as `as_json` wrote them; KeyError or TypeError for anything else."""
    first, chances, sd = stored["first"], stored["tails"], stored["sd"]
    if not isinstance(first, int) or not isinstance(chances, list) or not isinstance(sd, float | int):
        raise TypeError("no tails")
    return Tails(first, tuple(map(float, chances)), float(sd))


@cache
def _tables() -> str:
    """A digest over the default errors of all quantities and methods, and over how often codes are mistaken."""
    told: list[object] = [REVISION]
    for key, known in QUANTITIES.items():
        if known.kind == "number":
            told += [(key, method, default_error(key, method).sd) for method in METHODS]
        told += [truths(key, code) for code in known.codes]
    return _digest(told)


def errors_digest(errors: ErrorModel, question: Question) -> str:
    """Moves when anything that a law hangs on beside sheet and rules does."""
    used = sorted((one.quantity, one.method, one.sd) for one in errors.own if one.used)
    several = sorted((place, tuple(map(str, values))) for place, values in errors.readings.items())
    step = None if errors.step is None else str(errors.step.normalize())
    return _digest([_tables(), used, several, step, errors.offset_mm, errors.missed, question.value])


def _digest(told: object) -> str:
    return hashlib.sha256(repr(told).encode()).hexdigest()[:16]
