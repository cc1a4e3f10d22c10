"""A score as a sum of parts, each a step function of a few readings; and the limits at which a rule steps.  Pure."""

from collections.abc import Callable, Hashable, Iterable
from dataclasses import dataclass
from decimal import ROUND_FLOOR, Decimal
from functools import lru_cache
from typing import Any

from scoring.measured_shapes import Bands, Limbs, PerUnit
from scoring.shapes import ZERO, Rule, Value
from scoring.uncertainty.model import Place
from scoring.uncertainty.reading import Cuts

TENTH = Decimal("0.1")
"""Rules that give fractions of a point are followed in tenths of their unit."""

State = Any
CutsIn = Callable[[float, float], Cuts]
"""Limits between two values, sorted."""


@dataclass(frozen=True)
class Part:
    """Points that readings come to together: begin with a state, take each reading, end with points.

    `step(state, position, value)` takes the reading at a position of `reads`; states are hashable.  Points may not
    depend on the order of readings.
    """

    category: str
    reads: tuple[Place, ...]
    start: Hashable
    step: Callable[[State, int, Value], Hashable]
    end: Callable[[State], Decimal]
    cuts: tuple[CutsIn, ...]
    key: Hashable = None
    """Equal for parts that do the same with their readings, so that a law is worked out once; None: never kept."""


_KEPT: dict[int, Rule] = {}


def rule_key(rule: Rule) -> int:
    """A number that no other rule will have in this process."""
    _KEPT.setdefault(id(rule), rule)
    return id(rule)


def no_cuts(low: float, high: float) -> Cuts:
    """For codes and numbers that are certain."""
    return ()


def at(*limits: Decimal | int | str) -> CutsIn:
    """Fixed limits."""
    fixed = tuple(sorted(Decimal(limit) for limit in limits))
    return lambda low, high: fixed


def _limits(rule: Rule) -> CutsIn:
    if isinstance(rule, Bands):
        fixed = tuple(b.high for b in rule.bands if b.high is not None)
        unique = tuple(dict.fromkeys(fixed))
        return lambda low, high: unique
    if isinstance(rule, PerUnit):
        return lru_cache(maxsize=1024)(lambda low, high: _units(rule, low, high))
    if isinstance(rule, Limbs):
        both = rule.high, rule.low
        return lru_cache(maxsize=1024)(
            lambda low, high: tuple(sorted({cut for one in both for cut in _units(one, low, high)}))
        )
    return no_cuts


def _units(rule: PerUnit, low: float, high: float) -> Cuts:
    """Every full unit beyond the start between two values; tenths where fractions of a point are given."""
    each = TENTH if rule.rounding == "fraction" else Decimal(1)
    shift = Decimal("0.5") if rule.rounding == "nearest" else ZERO
    sign = 1 if rule.worse == "up" else -1
    near, far = sorted((sign * (Decimal(low) - rule.start), sign * (Decimal(high) - rule.start)))
    first = max(ZERO, (near / each).to_integral_value(ROUND_FLOOR) - 1)
    last = (far / each).to_integral_value(ROUND_FLOOR) + 1
    found = {rule.start + sign * (k * each - shift) for k in map(Decimal, range(int(first), int(last) + 1))}
    return tuple(sorted(found))


def points_key(points: Callable[[Value], Decimal]) -> Hashable:
    """A key for the points of a rule; None for a function that is no rule's."""
    rule = getattr(points, "__self__", None)
    return None if rule is None else rule_key(rule)


def keyed(*parts: Hashable) -> Hashable:
    """A key of several, None where one of them has none."""
    return None if any(one is None for one in parts) else parts


def single(
    category: str,
    place: Place,
    points: Callable[[Value], Decimal],
    cuts: CutsIn = no_cuts,
    key: Hashable = None,
) -> Part:
    """Points of one reading."""
    return Part(
        category,
        (place,),
        None,
        lambda state, position, value: points(value),
        lambda state: state,
        (cuts,),
        key,
    )


def by_rule(category: str, place: Place, rule: Rule) -> Part:
    """Points of one reading by a rule."""
    return _by_rule(category, place, rule_key(rule))


@lru_cache(maxsize=8192)
def _by_rule(category: str, place: Place, key: int) -> Part:
    rule = _KEPT[key]
    return single(category, place, rule.points, limits_of(rule), ("rule", key))


def greatest(
    category: str, reads: Iterable[tuple[Place, Callable[[Value], Decimal], CutsIn]], least: Decimal = ZERO
) -> Part:
    """Of several readings the one that gives most points."""
    listed = tuple(reads)
    points = tuple(one for _, one, _ in listed)

    def step(state: Decimal, position: int, value: Value) -> Decimal:
        return max(state, points[position](value))

    return Part(
        category,
        tuple(p for p, _, _ in listed),
        least,
        step,
        lambda state: state,
        tuple(c for *_, c in listed),
        keyed("greatest", least, *(points_key(one) for one in points)),
    )


@lru_cache(maxsize=4096)
def _limits_by_key(key: int) -> CutsIn:
    return _limits(_KEPT[key])


def limits_of(rule: Rule) -> CutsIn:
    """Where the points of a rule for numbers may change; no limits for codes."""
    return _limits_by_key(rule_key(rule))


class Standing:
    """A value as the piece of a rule it lies in, so that all values of one piece are the same state."""

    def __init__(self, rule: Bands) -> None:
        self.rule = rule
        self.limits = tuple(dict.fromkeys(b.high for b in rule.bands if b.high is not None))
        self._known: dict[Value, Decimal] = {}

    def __call__(self, value: Value) -> Decimal:
        """A value that stands for the piece."""
        found = self._known.get(value)
        if found is None:
            assert isinstance(value, Decimal)
            found = self._known[value] = self._piece(value)
        return found

    def _piece(self, value: Decimal) -> Decimal:
        low: Decimal | None = None
        for limit in self.limits:
            if value == limit:
                return limit
            if value < limit:
                return limit - 1 if low is None else (low + limit) / 2
            low = limit
        return value if low is None else low + 1


_STANDINGS: dict[int, Standing] = {}


def standing(rule: Bands) -> Standing:
    """The pieces of a rule; rules are kept for as long as the process lives."""
    found = _STANDINGS.get(id(rule))
    if found is None or found.rule is not rule:
        found = _STANDINGS[id(rule)] = Standing(rule)
    return found


@lru_cache(maxsize=4096)
def union(*groups: Cuts) -> Cuts:
    """All limits of several rules, sorted."""
    return tuple(sorted({cut for group in groups for cut in group}))
