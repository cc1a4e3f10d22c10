"""What would help most: the missing item that lifts the best choice most if it turns out well.  Pure.

Items are plain keys; what may be asked for, and what never is, is decided by whoever names them.
"""

from collections.abc import Iterable, Mapping
from dataclasses import replace
from typing import NamedTuple

from plans.selection.best import Choice, Chosen, choose
from plans.selection.kernel import cut_down
from plans.selection.problem import ChoiceProblem, Weight


class IfGood(NamedTuple):
    """A pair that cannot be told yet: the weight it would have if everything it `lacks` turned out well."""

    weight: Weight
    lacks: frozenset[str]


class Help(NamedTuple):
    """The best choice there would be if these items were there and good, beside today's."""

    items: tuple[str, ...]
    before: Choice
    after: Choice

    @property
    def new_pairs(self) -> tuple[Chosen, ...]:
        """The pairs that the best choice would change to."""
        return tuple(pair for pair in self.after.pairs if self.before.case(pair.slot) != pair.case)


def helps_most(problem: ChoiceProblem, unknown: Mapping[tuple[str, str], IfGood]) -> tuple[Help, ...]:
    """The items that lift the best choice, the greatest lift first: filled slots, rules obeyed, weakest slot, totals.

    Each item is taken alone: it makes those pairs known that lack nothing else. Where no single item lifts anything the
    sets that single pairs lack are taken instead. Of equal lifts fewer items come first, then the earlier name.
    `unknown` holds pairs (case, slot) that have no weight yet. Raises ValueError where one has, or lacks nothing.
    """
    told = [
        f"{case} in {slot}"
        for (case, slot), pair in unknown.items()
        if not pair.lacks or (case, slot) in problem.weights
    ]
    if told:
        raise ValueError(f"not unknown: {', '.join(told)}")
    small = cut_down(problem, also={case for case, _ in unknown} & problem.patients.keys())
    before = choose(small)
    lacking = {pair.lacks for pair in unknown.values()}
    alone = {frozenset({item}) for items in lacking for item in items if frozenset({item}) in lacking}
    return _lifting(small, before, unknown, alone) or _lifting(small, before, unknown, lacking - alone)


def _lifting(
    problem: ChoiceProblem,
    before: Choice,
    unknown: Mapping[tuple[str, str], IfGood],
    sets: Iterable[frozenset[str]],
) -> tuple[Help, ...]:
    lifts = []
    for items in sorted(sets, key=lambda items: (len(items), sorted(items))):
        known = {key: pair.weight for key, pair in unknown.items() if pair.lacks <= items}
        after = choose(replace(problem, weights={**problem.weights, **known}))
        if after.standing > before.standing:
            lifts.append(Help(tuple(sorted(items)), before, after))
    # Sorting keeps the order of equal ones, which is that of the sets.
    return tuple(sorted(lifts, key=lambda lift: lift.after.standing, reverse=True))
