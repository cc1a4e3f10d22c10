"""What is chosen from: slots, cases of patients, how well each case fits each slot, and the wishes beside.  Pure.

Two ways of ranking a pair of case and slot are folded into one whole number, so that sums and comparisons are exact and
a second run gives the same list on any machine: the chance that the case meets the slot, rounded to thousandths,
then the margin in deviations, rounded to thousandths and cut at ±99.999. Chances come near 1 for many cases; the margin
tells those apart.
"""

import math
from collections.abc import Container, Iterable, Mapping, Sequence
from dataclasses import dataclass, field
from typing import NamedTuple

THOUSANDTHS = 1000
FARTHEST = 99_999
"""Thousandths of a deviation at which a margin is cut: nothing differs any more so far from a limit."""
MARGINS = 2 * (FARTHEST + 1)
"""More than the number of margins told apart; a rank is `chance * MARGINS + margin`."""


class Weight(NamedTuple):
    """How well a case fits a slot.

    `chance` is the probability (0 to 1) that it meets the slot; `margin_sd` how far it lies inside the slot's limit, in
    standard deviations of its error, negative outside. A slot without a number (a class, surgery) has infinity.
    """

    chance: float
    margin_sd: float


class Pair(NamedTuple):
    """A case in a slot."""

    slot: str
    case: str


@dataclass(frozen=True, slots=True)
class GroupRule:
    """At least and at most so many of the chosen cases are among `cases`; None is no limit."""

    key: str
    cases: frozenset[str]
    at_least: int = 0
    at_most: int | None = None

    def __post_init__(self) -> None:
        if self.at_least < 0 or (self.at_most is not None and self.at_most < self.at_least):
            raise ValueError(
                f"group rule {self.key}: at least {self.at_least} and at most {self.at_most}; allowed are "
                "0 or more, and no less at most than at least"
            )

    def short_and_over(self, count: int) -> tuple[int, int]:
        """How many cases are missing, and how many are too many, where `count` of them are chosen."""
        over = 0 if self.at_most is None else max(0, count - self.at_most)
        return max(0, self.at_least - count), over


@dataclass(frozen=True)
class ChoiceProblem:
    """Which case goes to which slot.

    `slots` in the plan's order; `patients` names the patient of every case, in the order of the cases, which decides
    between choices that are otherwise equal; `weights[case, slot]` exists for eligible pairs only. At most one case of
    a patient is chosen. `fixed` pairs are kept as they are, `excluded` cases are never chosen. Raises ValueError for
    names that are not known and for numbers that are none.
    """

    slots: tuple[str, ...]
    patients: Mapping[str, str]
    weights: Mapping[tuple[str, str], Weight]
    rules: tuple[GroupRule, ...] = ()
    fixed: tuple[Pair, ...] = ()
    excluded: frozenset[str] = frozenset()
    position: Mapping[str, int] = field(init=False, repr=False, compare=False)
    rows: Mapping[str, Sequence[tuple[float, float, int]]] = field(init=False, repr=False, compare=False)
    """For each slot chance, margin and position of every case that may be chosen for it."""

    def __post_init__(self) -> None:
        _twice("slot", self.slots)
        _twice("group rule", (rule.key for rule in self.rules))
        named = {pair.case for pair in self.fixed}.union(self.excluded, *(rule.cases for rule in self.rules))
        _known("case", named, self.patients)
        _known("slot", {pair.slot for pair in self.fixed}, self.slots)
        object.__setattr__(self, "position", {case: at for at, case in enumerate(self.patients)})
        object.__setattr__(self, "rows", self._sorted_by_slot())

    def _sorted_by_slot(self) -> dict[str, list[tuple[float, float, int]]]:
        """One pass over what may be ten thousands of pairs; names that are not known show as they are met."""
        rows: dict[str, list[tuple[float, float, int]]] = {slot: [] for slot in self.slots}
        position, excluded = self.position, self.excluded
        try:
            for (case, slot), (chance, margin) in self.weights.items():
                if not 0 <= chance <= 1 or margin != margin:
                    raise ValueError(
                        f"case {case}, slot {slot}: chance {chance}, margin {margin}; "
                        "a chance lies from 0 to 1 and a margin is a number"
                    )
                at = position[case]
                if case not in excluded:
                    rows[slot].append((chance, margin, at))
                elif slot not in rows:
                    raise KeyError(slot)
        except KeyError:
            _known("case", {case for case, _ in self.weights}, self.patients)
            _known("slot", {slot for _, slot in self.weights}, self.slots)
            raise
        return rows


def _known(what: str, names: Iterable[str], among: Container[str]) -> None:
    unknown = sorted(name for name in names if name not in among)
    if unknown:
        raise ValueError(f"no {what} of this problem: {', '.join(unknown)}")


def _twice(what: str, names: Iterable[str]) -> None:
    seen: set[str] = set()
    for name in names:
        if name in seen:
            raise ValueError(f"{what} {name} is named twice")
        seen.add(name)


def rank(chance: float, margin_sd: float) -> int:
    """One whole number for a weight: higher is better, equal only where both rounded parts are equal."""
    return round(chance * THOUSANDTHS) * MARGINS + thousandths(margin_sd) + FARTHEST


def thousandths(margin_sd: float) -> int:
    """A margin as a whole number of thousandths of a deviation, cut at ±99.999."""
    if math.isinf(margin_sd):
        return FARTHEST if margin_sd > 0 else -FARTHEST
    return max(-FARTHEST, min(FARTHEST, round(margin_sd * THOUSANDTHS)))


def chance_part(of_rank: int) -> int:
    """The chance of a rank, in thousandths."""
    return of_rank // MARGINS


def margin_part(of_rank: int) -> int:
    """The margin of a rank, in thousandths of a deviation."""
    return of_rank % MARGINS - FARTHEST
