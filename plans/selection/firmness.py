"""How firm a choice is: what is left of it when one of its cases is rejected.  Pure."""

from typing import NamedTuple

from plans.selection.best import Choice, Chosen, choose
from plans.selection.kernel import cut_down, without
from plans.selection.problem import THOUSANDTHS, ChoiceProblem, thousandths


class Loss(NamedTuple):
    """What a rejection of `pair`'s case costs: `after` is the best choice without it, `before` the one with it."""

    pair: Chosen
    before: Choice
    after: Choice

    @property
    def emptied(self) -> int:
        """How many more slots stay empty; negative where a fixed pair had kept others from being filled."""
        return self.before.standing.filled - self.after.standing.filled

    @property
    def more_broken(self) -> int:
        """How many more cases are missing from or too many for group rules; negative where fewer are."""
        return self.before.standing.obeyed - self.after.standing.obeyed

    @property
    def weakest_chance(self) -> float:
        """By how much the chance of the weakest slot falls; 0 where the choice without the case is empty."""
        weakest, left = self.before.weakest, self.after.weakest
        return weakest.weight.chance - left.weight.chance if weakest and left else 0.0

    @property
    def weakest_margin(self) -> float:
        """By how many deviations the margin of the weakest slot falls, margins cut at ±99.999; 0 as above."""
        weakest, left = self.before.weakest, self.after.weakest
        if weakest is None or left is None:
            return 0.0
        return (thousandths(weakest.weight.margin_sd) - thousandths(left.weight.margin_sd)) / THOUSANDTHS

    @property
    def total_chance(self) -> float:
        """By how much the sum of the chances falls, in whole thousandths: the expected number of slots met."""
        return (self.before.standing.chances - self.after.standing.chances) / THOUSANDTHS

    @property
    def moved(self) -> tuple[Chosen, ...]:
        """The pairs that take its place and that move because of it."""
        return tuple(pair for pair in self.after.pairs if self.before.case(pair.slot) != pair.case)


def firmness(problem: ChoiceProblem) -> tuple[Loss, ...]:
    """The loss for each chosen case, the hardest first, then in the order of the slots.

    A rejected case that was fixed is not fixed any more; another case of its patient may take its place.
    """
    # One patient more is kept for each slot, so that the table holds the best choice without any one case too.
    small = cut_down(problem, spare=1)
    before = choose(small)
    losses = [Loss(pair, before, choose(without(small, pair.case))) for pair in before.pairs]
    return tuple(sorted(losses, key=lambda loss: loss.after.standing))
