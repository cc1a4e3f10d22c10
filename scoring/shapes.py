"""The shapes a published rule can have; codes, counts and words here, numbers in `measured_shapes`.

A rule turns one value into points and knows the limits at which the points change.  It cannot be
built without a source.
"""

from dataclasses import dataclass, field
from decimal import ROUND_HALF_UP, Decimal
from typing import NamedTuple, Protocol

from portfolio.sources import CERTAINTIES, SOURCES

Value = Decimal | str
ZERO = Decimal(0)


class Step(NamedTuple):
    """A change of a line's points: the limit, the points beyond it, and how far it is.

    For codes, `at` is the code and `distance` counts steps along the published scale.  `side` tells on
    which side of a numeric limit the points begin: `over` or `under` it, empty when at the limit itself.
    """

    at: str
    points: Decimal
    distance: str
    side: str = ""


class Steps(NamedTuple):
    """The nearest change toward more and toward fewer points, None where there is none."""

    more: Step | None
    fewer: Step | None


class RuleFault(ValueError):
    """A rule that cannot be: no source, a gap or an overlap between bands."""


@dataclass(frozen=True, slots=True)
class Cited:
    """Where a rule stands and how surely it was read there."""

    source: str
    certainty: str

    def __post_init__(self) -> None:
        if self.source not in SOURCES:
            raise RuleFault(f"source {self.source!r} is not in the bibliography")
        if self.certainty not in CERTAINTIES:
            raise RuleFault(f"certainty {self.certainty!r} is not one of {', '.join(CERTAINTIES)}")


class Rule(Protocol):
    """What every shape offers."""

    @property
    def cited(self) -> Cited: ...

    def points(self, value: Value) -> Decimal: ...

    def words(self, value: Value) -> str: ...

    def certainty(self, value: Value) -> str: ...

    def steps(self, value: Value) -> Steps: ...


HUNDREDTH = Decimal("0.01")


def plain(number: Decimal) -> str:
    """A number as plain text without trailing zeros and without minus zero.

    Ratios and other derived numbers are told to two decimals, half away from zero.
    """
    exponent = number.as_tuple().exponent
    if isinstance(exponent, int) and exponent < -2:
        number = number.quantize(HUNDREDTH, ROUND_HALF_UP)
    text = format(number, "f")
    if "." in text:
        text = text.rstrip("0").rstrip(".")
    return "0" if text == "-0" else text


def points_text(points: Decimal) -> str:
    """`1 point`, `2.5 points`."""
    return f"{plain(points)} point" + ("" if points == 1 else "s")


@dataclass(frozen=True)
class Choice:
    """Points by code, with the scales along which codes follow each other."""

    label: str
    table: tuple[tuple[str, Decimal], ...]
    scales: tuple[tuple[str, ...], ...]
    cited: Cited
    labels: tuple[tuple[str, str], ...] = ()
    _points: dict[str, Decimal] = field(init=False, repr=False, compare=False)

    def __post_init__(self) -> None:
        object.__setattr__(self, "_points", dict(self.table))
        if len(self._points) != len(self.table):
            raise RuleFault(f"{self.label}: a code stands twice")
        unknown = {code for scale in self.scales for code in scale} - set(self._points)
        if unknown:
            raise RuleFault(f"{self.label}: scale names codes without points: {', '.join(sorted(unknown))}")

    def points(self, value: Value) -> Decimal:
        return self._points[str(value)]

    def words(self, value: Value) -> str:
        shown = dict(self.labels).get(str(value), str(value))
        return f"{self.label}, {shown}: {points_text(self.points(value))}"

    def certainty(self, value: Value) -> str:
        return self.cited.certainty

    def steps(self, value: Value) -> Steps:
        code, here = str(value), self.points(value)
        more: Step | None = None
        fewer: Step | None = None
        for scale in self.scales:
            if code not in scale:
                continue
            start = scale.index(code)
            for index, other in sorted(enumerate(scale), key=lambda pair: abs(pair[0] - start)):
                step = Step(other, self.points(other), str(abs(index - start)))
                if step.points > here and (more is None or int(step.distance) < int(more.distance)):
                    more = step
                if step.points < here and (fewer is None or int(step.distance) < int(fewer.distance)):
                    fewer = step
        return Steps(more, fewer)


@dataclass(frozen=True)
class Count:
    """Points for each of a whole number of things."""

    label: str
    each: Decimal
    cited: Cited

    def points(self, value: Value) -> Decimal:
        return ZERO if value == "none" else self.each * Decimal(value)

    def words(self, value: Value) -> str:
        return f"{self.label}: {points_text(self.each)} each"

    def certainty(self, value: Value) -> str:
        return self.cited.certainty

    def steps(self, value: Value) -> Steps:
        count = 0 if value == "none" else int(Decimal(value))
        fewer = Step(str(count - 1), self.each * (count - 1), "1") if count else None
        return Steps(Step(str(count + 1), self.each * (count + 1), "1"), fewer)


@dataclass(frozen=True)
class Said:
    """A rule of plain words that gives no points by itself: left out, cannot be told, looked at and free."""

    text: str
    cited: Cited

    def points(self, value: Value) -> Decimal:
        return ZERO

    def words(self, value: Value) -> str:
        return self.text

    def certainty(self, value: Value) -> str:
        return self.cited.certainty

    def steps(self, value: Value) -> Steps:
        return Steps(None, None)
