"""The best choice of cases for slots, with what it leaves open.  Pure.

What is better, one after the other, the later only among choices equal in all before:

1. more slots filled;
2. fewer cases missing from or too many for the group rules, in sum;
3. a stronger weakest slot among those that are not fixed: its chance rounded to thousandths, then its margin in
   deviations rounded to thousandths (fixed pairs cannot be made stronger, so they hide nothing);
4. a higher sum of the rounded chances;
5. a higher sum of the rounded margins;
6. in the first slot the case that stands earlier among the cases, then in the second and so on; an empty slot stands
   behind all cases.

So exactly one choice is the best, whatever the order in which eligible pairs are given.
"""

from dataclasses import dataclass
from typing import NamedTuple

from plans.selection import plain, under_rules
from plans.selection.kernel import Table, table_of
from plans.selection.plain import Pick
from plans.selection.problem import ChoiceProblem, Weight, chance_part, margin_part, rank


class Chosen(NamedTuple):
    """A case in a slot, how well it fits, and whether it was fixed there."""

    slot: str
    case: str
    weight: Weight
    fixed: bool


class BrokenRule(NamedTuple):
    """A group rule that the choice does not obey: how many of its cases are chosen, missing, too many."""

    rule: str
    chosen: int
    short: int
    over: int


class Standing(NamedTuple):
    """How good a choice is; of two standings of one problem the greater is the better.

    `filled` slots; `obeyed` is 0 or minus the cases missing from or too many for rules; `weakest` the rank of the
    weakest slot that is not fixed (0 where there is none); `chances` and `margins` the sums, in thousandths.
    """

    filled: int
    obeyed: int
    weakest: int
    chances: int
    margins: int


@dataclass(frozen=True, slots=True)
class Choice:
    """Pairs in the order of the slots, slots that stay empty, rules that are not obeyed."""

    pairs: tuple[Chosen, ...]
    empty: tuple[str, ...]
    broken: tuple[BrokenRule, ...]
    standing: Standing

    @property
    def complete(self) -> bool:
        """Every slot is filled and every rule obeyed."""
        return not self.empty and not self.broken

    @property
    def weakest(self) -> Chosen | None:
        """The pair of lowest rank, fixed ones too; of equal ones that of the earlier slot."""
        return min(self.pairs, key=lambda pair: rank(*pair.weight), default=None)

    @property
    def weakest_first(self) -> tuple[Chosen, ...]:
        """All pairs, the weakest first."""
        return tuple(sorted(self.pairs, key=lambda pair: rank(*pair.weight)))

    def case(self, slot: str) -> str | None:
        """The case chosen for a slot."""
        return next((pair.case for pair in self.pairs if pair.slot == slot), None)


def choose(problem: ChoiceProblem) -> Choice:
    """The best choice; where not all slots can be filled or not all rules obeyed, the nearest to it.

    Without group rules, or where the best choice obeys them anyway, nothing but whole numbers is used. Raises
    SolverStopped where group rules make the question too hard to answer in half a minute.
    """
    table = table_of(problem)
    pick, least = plain.best(table)
    if table.broken(pick):
        filled = sum(arc is not None for arc in pick)
        pick = under_rules.best(table, filled, least)
    return choice_of(problem, table, pick)


def choose_within_rules(problem: ChoiceProblem) -> Choice | None:
    """The best choice that obeys every group rule, though more slots stay empty for it; None if none obeys them.

    The slots that stay empty may be such with fixed pairs.
    """
    table = table_of(problem)
    pick, _ = plain.best(table)
    if not table.broken(pick):
        return choice_of(problem, table, pick)
    obeying = under_rules.most_filled(table)
    return None if obeying is None else choice_of(problem, table, obeying)


def choice_of(problem: ChoiceProblem, table: Table, pick: Pick) -> Choice:
    """The choice in words of the problem."""
    pairs, empty = [], []
    for slot, arc, held in zip(table.slots, pick, table.held, strict=True):
        if arc is None:
            empty.append(slot)
        else:
            case = table.cases[arc.case]
            pairs.append(Chosen(slot, case, problem.weights[case, slot], held))
    broken = tuple(
        BrokenRule(rule.key, count, *rule.short_and_over(count))
        for rule, count in zip(table.rules, table.counts(pick), strict=True)
        if any(rule.short_and_over(count))
    )
    standing = Standing(
        len(pairs),
        -sum(rule.short + rule.over for rule in broken),
        under_rules.weakest_free(table, pick) or 0,
        sum(chance_part(rank(*pair.weight)) for pair in pairs),
        sum(margin_part(rank(*pair.weight)) for pair in pairs),
    )
    return Choice(tuple(pairs), tuple(empty), broken, standing)
