"""Rule shapes for numbers: bands, and points per unit beyond a limit."""

import re
from dataclasses import dataclass, field, replace
from decimal import ROUND_CEILING, ROUND_FLOOR, Decimal
from itertools import pairwise
from typing import Literal

from scoring.shapes import ZERO, Cited, RuleFault, Step, Steps, Value, plain, points_text

_BEYOND = Decimal("0.001")
"""Finer than any recorded value (two decimals): a probe just past a limit."""

MOST_TOLD = 1000
"""Values of which a table keeps the words, so that ratios without end do not fill the memory."""

_INTERVAL = re.compile(r"([\[(])\s*(\.\.\.|-?[0-9.]+)\s*,\s*(\.\.\.|-?[0-9.]+)\s*([\])])\Z")


@dataclass(frozen=True, slots=True)
class Band:
    """Values from low to high and their points; None is without end."""

    low: Decimal | None
    low_inside: bool
    high: Decimal | None
    high_inside: bool
    points: Decimal

    def holds(self, value: Decimal) -> bool:
        if self.low is not None and (value < self.low or (value == self.low and not self.low_inside)):
            return False
        return self.high is None or value < self.high or (value == self.high and self.high_inside)

    def words(self, unit: str) -> str:
        spaced = f" {unit}" if unit and unit != "°" else unit
        if self.low is None and self.high is None:
            return "any value"
        if self.low is None:
            assert self.high is not None
            return f"{'up to' if self.high_inside else 'under'} {plain(self.high)}{spaced}"
        start = f"{'' if self.low_inside else 'over '}{plain(self.low)}"
        if self.high is None:
            return f"{start}{spaced}" + (" or more" if self.low_inside else "")
        if self.low == self.high:
            return f"exactly {plain(self.low)}{spaced}"
        return f"{start} to {'' if self.high_inside else 'under '}{plain(self.high)}{spaced}"


def band(interval: str, points: int | str) -> Band:
    """A band in interval notation: `(3, 5]` is over 3 up to and with 5, `...` is without end."""
    match = _INTERVAL.match(interval)
    if match is None:
        raise RuleFault(f"{interval!r} is not an interval such as (3, 5] or (9, ...)")
    opening, low, high, closing = match.groups()
    return Band(
        None if low == "..." else Decimal(low),
        opening == "[",
        None if high == "..." else Decimal(high),
        closing == "]",
        Decimal(points),
    )


def _beyond(rule: "Bands | PerUnit", value: Decimal, limit: Decimal) -> tuple[tuple[Decimal, str], ...]:
    """Points that begin at or just past a limit, seen from a value, with the side they begin on."""
    over, under = (rule.points(limit + _BEYOND), "over"), (rule.points(limit - _BEYOND), "under")
    if limit == value:
        return over, under
    at, past = rule.points(limit), over if limit > value else under
    # a limit that gives other points than the value can change them once more just past it
    return ((at, ""), past) if at != rule.points(value) else (past,)


def _nearest(rule: "Bands | PerUnit", value: Decimal, limits: tuple[Decimal, ...]) -> Steps:
    here = rule.points(value)
    more = fewer = None
    for limit in sorted(limits, key=lambda at: abs(at - value)):
        for points, side in _beyond(rule, value, limit):
            if points > here and more is None:
                more = Step(plain(limit), points, plain(abs(limit - value)), side)
            if points < here and fewer is None:
                fewer = Step(plain(limit), points, plain(abs(limit - value)), side)
        if more is not None and fewer is not None:
            break
    return Steps(more, fewer)


@dataclass(frozen=True)
class Bands:
    """A table of bands without gap or overlap, such as `overjet over 3 to 5 mm: 2 points`."""

    label: str
    unit: str
    bands: tuple[Band, ...]
    cited: Cited
    limit_certainty: str = ""
    """How surely a limit itself is known to be inside its band, where that differs."""
    either_way: bool = False
    """Whether minus only tells the direction, so that words speak of the size alone."""
    _told: dict[Value, tuple[str, Steps]] = field(default_factory=dict, init=False, repr=False, compare=False)
    """Words and steps of values met before: a sheet holds the same few values at many sites."""

    def __post_init__(self) -> None:
        if self.bands[0].low is not None or self.bands[-1].high is not None:
            raise RuleFault(f"{self.label}: the bands leave an end open")
        for before, after in pairwise(self.bands):
            if before.high != after.low or before.high_inside == after.low_inside:
                raise RuleFault(f"{self.label}: gap or overlap at {before.high} / {after.low}")

    def _band(self, value: Decimal) -> Band:
        for found in self.bands:
            # bands follow each other without gaps, so the first whose end is not passed holds the value
            if found.high is None or value < found.high or (value == found.high and found.high_inside):
                return found
        raise RuleFault(f"{self.label}: no band holds {value}")

    def points(self, value: Value) -> Decimal:
        assert isinstance(value, Decimal)
        return self._band(value).points

    def words(self, value: Value) -> str:
        return self._tell(value)[0]

    def steps(self, value: Value) -> Steps:
        return self._tell(value)[1]

    def _tell(self, value: Value) -> tuple[str, Steps]:
        told = self._told.get(value)
        if told is None:
            assert isinstance(value, Decimal)
            told = self._words(value), _nearest(self, value, self._limits())
            if len(self._told) < MOST_TOLD:
                self._told[value] = told
        return told

    def _limits(self) -> tuple[Decimal, ...]:
        return tuple(b.high for b in self.bands if b.high is not None)

    def _words(self, value: Decimal) -> str:
        found = self._band(value)
        if self.either_way:
            found = self._band(abs(value))
            found = replace(found, low=None if found.low is not None and found.low < 0 else found.low)
        return f"{self.label} {found.words(self.unit)}: {points_text(found.points)}"

    def certainty(self, value: Value) -> str:
        if self.limit_certainty and any(value in (b.low, b.high) for b in self.bands):
            return self.limit_certainty
        return self.cited.certainty


Rounding = Literal["floor", "round_up", "fraction", "nearest"]
_ROUNDING_WORDS = {
    "floor": "each full",
    "round_up": "each begun",
    "fraction": "each",
    "nearest": "each",
}


@dataclass(frozen=True)
class PerUnit:
    """Points that start at a limit and grow by the unit beyond it.

    From `start` on (toward larger values when `worse` is up) a value scores `first` plus `each` per
    unit beyond, never under `least`.  `rounding` says what becomes of part units; `nearest` reads
    whole units first, halves to the side of fewer points.  `after_start` leaves the limit itself out.
    """

    label: str
    unit: str
    start: Decimal
    worse: Literal["up", "down"]
    first: Decimal
    each: Decimal
    rounding: Rounding
    cited: Cited
    least: Decimal = ZERO
    after_start: bool = False
    limit_certainty: str = ""
    """How surely the limit itself is known to be inside, where that differs."""

    def _excess(self, value: Decimal) -> Decimal:
        return value - self.start if self.worse == "up" else self.start - value

    def _units(self, excess: Decimal) -> Decimal:
        match self.rounding:
            case "floor":
                return excess.to_integral_value(ROUND_FLOOR)
            case "round_up":
                return excess.to_integral_value(ROUND_CEILING)
            case "nearest":
                return (excess - Decimal("0.5")).to_integral_value(ROUND_CEILING)
        return excess

    def points(self, value: Value) -> Decimal:
        assert isinstance(value, Decimal)
        excess = self._excess(value)
        units = self._units(excess)
        if self.rounding == "nearest":
            return self.first + self.each * units if units >= 0 else ZERO
        if excess < 0 or (self.after_start and not excess):
            return ZERO
        return max(self.least, self.first + self.each * units)

    def read_as(self, value: Decimal) -> Decimal:
        """The whole number a value was read as, for degrees."""
        units = self._units(self._excess(value))
        return self.start + units if self.worse == "up" else self.start - units

    def words(self, value: Value) -> str:
        assert isinstance(value, Decimal)
        points = self.points(value)
        spaced = self.unit if self.unit == "°" else f" {self.unit}"
        read = ""
        if self.rounding == "nearest" and value != value.to_integral_value():
            read = f" ({plain(value)}{spaced} read as {plain(self.read_as(value))}{spaced})"
        if not points:
            side = "under" if self.worse == "up" else "over"
            return f"{self.label} {'not past' if self.after_start else side} {plain(self.start)}{spaced}: 0 points{read}"
        more = f"{plain(self.each)} for {_ROUNDING_WORDS[self.rounding]} {'degree' if self.unit == '°' else self.unit}"
        beyond = f" beyond {plain(self.start)}{spaced}" if self.start else ""
        start = f"{plain(self.first)} and {more}{beyond}" if self.first else more
        least = f", at least {plain(self.least)}" if self.least else ""
        return f"{self.label}: {start}{least}{read}"

    def certainty(self, value: Value) -> str:
        assert isinstance(value, Decimal)
        if self.limit_certainty:
            at = self.read_as(value) if self.rounding in ("nearest", "floor") else value
            if at == self.start:
                return self.limit_certainty
        return self.cited.certainty

    def limits(self, value: Decimal) -> tuple[Decimal, ...]:
        """Limits near a value at which the points may change."""
        around = self._excess(value).to_integral_value(ROUND_FLOOR)
        shift = Decimal("0.5") if self.rounding == "nearest" else ZERO
        units = {ZERO} | {around + k for k in range(-1, 4) if around + k >= 0}
        if self.least:
            units.add(((self.least - self.first) / self.each).to_integral_value(ROUND_FLOOR) + 1)
        sign = 1 if self.worse == "up" else -1
        return tuple(self.start + sign * (u - shift) for u in units)

    def steps(self, value: Value) -> Steps:
        assert isinstance(value, Decimal)
        here = self.points(value)
        if self.rounding == "fraction" and here > max(self.least, ZERO) and self._excess(value) > 0:
            grows = Step(plain(value), here, "0")
            return Steps(grows, grows)
        return _nearest(self, value, self.limits(value))


@dataclass(frozen=True)
class Limbs:
    """Two rules of which at most one scores: a value can be too large or too small."""

    high: PerUnit
    low: PerUnit

    @property
    def cited(self) -> Cited:
        return self.high.cited

    def _limb(self, value: Decimal) -> PerUnit:
        if self.low.points(value):
            return self.low
        return self.high

    def points(self, value: Value) -> Decimal:
        return max(self.high.points(value), self.low.points(value))

    def words(self, value: Value) -> str:
        assert isinstance(value, Decimal)
        if not self.points(value):
            unit = self.high.unit
            return f"{self.high.label} between {plain(self.low.start)}{unit} and {plain(self.high.start)}{unit}: 0 points"
        return self._limb(value).words(value)

    def certainty(self, value: Value) -> str:
        assert isinstance(value, Decimal)
        return self._limb(value).certainty(value)

    def steps(self, value: Value) -> Steps:
        assert isinstance(value, Decimal)
        if self.points(value):
            return self._limb(value).steps(value)
        found = [s.more for s in (self.high.steps(value), self.low.steps(value)) if s.more]
        return Steps(min(found, key=lambda s: Decimal(s.distance), default=None), None)
