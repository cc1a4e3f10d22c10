"""What is assumed about errors, and which of two questions is asked.  Pure."""

from collections.abc import Hashable, Mapping
from dataclasses import dataclass, field
from decimal import Decimal
from enum import StrEnum

from portfolio.errors import MISSED, OFFSET_MM, OwnError


class Question(StrEnum):
    """Whose score is meant; the two have different answers and are never mixed."""

    TRUE_SCORE = "true_score"
    ANOTHER_EXAMINER = "another_examiner"

    @property
    def words(self) -> str:
        if self is Question.TRUE_SCORE:
            return "the score without errors of measurement"
        return "the score that another examiner, as careful, would get"


Place = tuple[str, str]
"""Quantity and site of a finding."""


@dataclass(frozen=True)
class ErrorModel:
    """Errors beyond what the findings themselves say.

    `own`: the reader's errors from repeats.  `readings`: place → all readings of it in its unit, the recorded one
    among them; their mean counts, with the random part of the error by √readings.  `step`: the step to which the
    sheet was read, in the quantities' units; None leaves rounding out.  `offset_mm`: deviation of what all lengths of
    one examiner are off together.  `missed`: chance that something small is there where none was recorded.
    """

    own: tuple[OwnError, ...] = ()
    readings: Mapping[Place, tuple[Decimal, ...]] = field(default_factory=dict)
    step: Decimal | None = None
    offset_mm: float = OFFSET_MM
    missed: float = MISSED

    def __post_init__(self) -> None:
        if self.offset_mm < 0 or not 0 <= self.missed < 1 or (self.step is not None and self.step < 0):
            raise ValueError("offset and step are 0 or more, missed is a chance from 0 to under 1")
        if any(not values for values in self.readings.values()):
            raise ValueError("a place with readings needs at least one")

    def digestible(self, question: Question) -> tuple[Hashable, ...]:
        """Everything that the law of a single finding hangs on, but for several readings of one place."""
        return self.own, self.step, self.offset_mm, self.missed, question


BY_FINDING = ErrorModel(offset_mm=0.0)
"""Each finding's own deviation and nothing shared: what the command line tells."""


class CannotBeTold(Exception):
    """A distribution that cannot be told; the reason in words is the message."""
