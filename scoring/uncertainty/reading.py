"""One recorded fact with what the truth may be: chances of the pieces between limits.  Pure.

Numbers are normal around what was recorded.  Two things are seen rather than measured and are kept apart from the
number (without this, teeth recorded as sound would give points by the dozen): whether there is anything at all
(displacements, gaps, steps), and on which side of zero the front teeth stand.
"""

import itertools
from dataclasses import dataclass
from decimal import Decimal
from functools import lru_cache
from typing import Literal, Protocol

import numpy as np

from portfolio.errors import FindingError
from scoring.shapes import ZERO, Value
from scoring.uncertainty.model import Place
from scoring.uncertainty.normal import FAR, Floats, below, below_rounded, below_uniform

Shape = Literal["certain", "normal", "none", "some", "sided", "at_zero", "code"]
NEGLIGIBLE = 1e-18
FEW = Decimal(1)

Cuts = tuple[Decimal, ...]


@dataclass(frozen=True, slots=True)
class Law:
    """What a truth may be, without its name, so that equal ones are worked out once.

    `none`: nothing recorded as there, `missed` is the chance that something is (then the positive half of a normal).
    `some`: over 0.  `sided`: the chance of the other side of zero is what the normal says, at most `missed`.
    `at_zero`: edge to edge, `missed` is shared by both sides.
    """

    shape: Shape
    value: Decimal = ZERO
    mean: float = 0.0
    sd: float = 0.0
    step: float = 0.0
    missed: float = 0.0
    codes: tuple[tuple[str, float], ...] = ()


class Derived(Protocol):
    """Chances of a value that is worked out from several readings; `shifts` follow the readings it is made of."""

    def cells(self, laws: tuple[Law, ...], shifts: tuple[Floats, ...]) -> "Cells": ...

    def __hash__(self) -> int: ...


@dataclass(frozen=True, slots=True)
class Reading:
    """One uncertain fact: its place, the law of its truth, where its error comes from, causes it shares.

    `offset`: change of the value by one deviation of what the examiner's lengths are off together; `shared`: the same
    for other causes.  Neither is in the law's `sd`.
    `recorded`: the value that the rules read today.
    """

    place: Place
    recorded: Value
    law: Law
    error: FindingError | None = None
    offset: float = 0.0
    shared: tuple[tuple[str, float], ...] = ()
    times: int = 1
    alone_sd: float = 0.0
    """One reading's random deviation."""
    made_of: tuple["Reading", ...] = ()
    derived: "Derived | None" = None
    """How a reading that is worked out from others gets its chances."""

    @property
    def certain(self) -> bool:
        return self.law.shape == "certain"

    @property
    def reach(self) -> tuple[float, float]:
        """Values outside which nothing is left to tell."""
        wide = (
            FAR * self.law.sd
            + 7 * (abs(self.offset) + sum(abs(part) for _, part in self.shared))
            + self.law.step
        )
        return self.law.mean - wide, self.law.mean + wide


@dataclass(frozen=True, slots=True)
class Cells:
    """Pieces of what a truth may be: a value that stands for each, and chances (nodes × pieces)."""

    values: tuple[Value, ...]
    chances: Floats


def cells(law: Law, cuts: Cuts, shifts: tuple[float, ...] = (0.0,)) -> Cells:
    """The pieces between sorted cuts that can be; `shifts` move the whole law at every node of what is shared, in its
    unit."""
    whole = all_cells(law, cuts, shifts)
    kept = np.flatnonzero(whole.chances.any(axis=0))
    return Cells(tuple(whole.values[i] for i in kept), whole.chances[:, kept])


@lru_cache(maxsize=5_000)
def all_cells(law: Law, cuts: Cuts, shifts: tuple[float, ...] = (0.0,)) -> Cells:
    """The same with the pieces that cannot be, so that the pieces hang on the cuts alone."""
    if law.shape == "certain":
        return Cells((law.value,), np.ones((1, 1)))
    if law.shape == "code":
        return Cells(tuple(code for code, _ in law.codes), np.array([[p for _, p in law.codes]]))
    centre = law.mean + np.array(shifts)[:, None]
    limits = np.array([float(c) for c in cuts])[None, :]
    shares = _below(law, centre, limits)
    pieces = np.diff(shares, axis=1, prepend=0.0, append=1.0)
    values = list(between(cuts))
    match law.shape:
        case "none":
            pieces, values = _half(law, cuts, law.missed), [*values, ZERO]
            pieces = np.hstack([pieces, np.full((1, 1), 1 - law.missed)])
        case "some":
            pieces = _kept_above_zero(law, pieces, centre, cuts)
        case "at_zero":
            up = _half(law, cuts, law.missed / 2)
            pieces = up + _half(law, tuple(-c for c in reversed(cuts)), law.missed / 2)[:, ::-1]
            pieces, values = np.hstack([pieces, np.full((1, 1), 1 - law.missed)]), [*values, ZERO]
        case "sided":
            pieces = _sided(law, pieces, centre, cuts)
    found = np.where(pieces.max(axis=0) > NEGLIGIBLE, np.maximum(pieces, 0.0), 0.0)
    return Cells(tuple(values), found / found.sum(axis=1, keepdims=True))


def _below(law: Law, centre: Floats, limits: Floats) -> Floats:
    if not law.sd:
        if not law.step:
            return (limits > centre).astype(float)
        return below_uniform((limits - centre) / (law.step / 2))
    z = (limits - centre) / law.sd
    half = law.step / 2 / law.sd
    return below_rounded(z, half) if half > 1e-6 else below(z)


def up_to(law: Law, limits: Floats, shifts: Floats) -> Floats:
    """The share of a truth up to and with each limit (nodes × limits); numbers only."""
    centre = law.mean + shifts[:, None]
    match law.shape:
        case "certain":
            return (limits >= float(law.value)) + 0.0 * centre
        case "none":
            half = np.where(limits >= 0, 2 * below(np.maximum(limits, 0.0) / law.sd) - 1, 0.0)
            return (1 - law.missed) * (limits >= 0) + law.missed * half + 0.0 * centre
        case "some":
            empty = _at_zero(law, centre)
            return np.where(
                limits > 0, (_below(law, centre, limits) - empty) / np.maximum(1 - empty, 1e-12), 0.0
            )
    return _below(law, centre, limits)


def between(cuts: Cuts) -> tuple[Decimal, ...]:
    """A value inside each piece: one beyond the ends, the middle between two cuts; one piece without cuts is 0."""
    if not cuts:
        return (ZERO,)
    middles = ((a + b) / 2 for a, b in itertools.pairwise(cuts))
    return (cuts[0] - FEW, *middles, cuts[-1] + FEW)


def _half(law: Law, cuts: Cuts, chance: float) -> Floats:
    """The positive half of a normal around 0 with a mass of `chance`, piece by piece."""
    upper = np.array([[max(float(c), 0.0) for c in cuts]])
    shares = 2 * below(upper / law.sd) - 1
    return chance * np.diff(shares, axis=1, prepend=0.0, append=1.0)


def _at_zero(law: Law, centre: Floats) -> Floats:
    return _below(law, centre, np.zeros((1, 1)))


def _where_zero(cuts: Cuts) -> int:
    """How many pieces lie below zero, which must be among the cuts."""
    return cuts.index(ZERO) + 1


def _kept_above_zero(law: Law, pieces: Floats, centre: Floats, cuts: Cuts) -> Floats:
    kept = pieces.copy()
    kept[:, : _where_zero(cuts)] = 0.0
    left = 1 - _at_zero(law, centre)
    return np.where(left > 1e-12, kept / np.maximum(left, 1e-300), _half(law, cuts, 1.0))


def _sided(law: Law, pieces: Floats, centre: Floats, cuts: Cuts) -> Floats:
    """The other side of zero gets at most `missed`; what is taken off goes to the recorded side."""
    zero = _where_zero(cuts)
    other, here = (
        (slice(0, zero), slice(zero, None)) if law.value > 0 else (slice(zero, None), slice(0, zero))
    )
    wrong = pieces[:, other].sum(axis=1, keepdims=True)
    right = pieces[:, here].sum(axis=1, keepdims=True)
    told = np.minimum(wrong, law.missed)
    found = pieces.copy()
    found[:, other] *= told / np.maximum(wrong, 1e-300)
    found[:, here] *= (1 - told) / np.maximum(right, 1e-300)
    return found


CUT_AT_ZERO = frozenset(("some", "sided", "none", "at_zero"))
"""Shapes whose pieces must be cut at zero."""
