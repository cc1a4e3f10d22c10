"""The next-weakest slots: how strong each can be made with the weaker ones held as strong as they can be.  Pure.

The best choice looks at its weakest slot and then at the total, so one hopeless slot hides the rest. Here the ranks of
the slots that are not fixed are sorted and compared one after the other (leximin): first the weakest is as strong as
can be; of such choices the next-weakest is as strong as can be; and so on.
"""

from collections.abc import Callable
from functools import partial

from plans.selection import plain, priced, under_rules
from plans.selection.best import Choice, choice_of
from plans.selection.kernel import Arc, Table, table_of
from plans.selection.plain import Pick
from plans.selection.problem import ChoiceProblem
from plans.selection.program import Demand, Model


def evenest(problem: ChoiceProblem) -> Choice:
    """The choice with the strongest weakest slot, then the strongest next-weakest, and so on; `weakest_first` lists them.

    As many slots are filled and group rules obeyed as by the best choice. Among equals the cases that stand earlier.
    """
    table = table_of(problem)
    best, least = plain.best(table)
    rows = plain.from_tier(table, plain.best_of_patients(table), least)
    even = plain.cheapest(rows, plain.Costs(table, [row.values() for row in rows], evenness(table, least)))
    if table.broken(even):
        even = _under_rules(table, best, least)
    return choice_of(problem, table, even)


def evenness(table: Table, least: int) -> Callable[[Arc], int]:
    """A value of arcs whose highest sum is the evenest choice among ranks from `least` on.

    A slot at one rank loses more than all slots together may lose at the ranks above it (Burkard & Rendl 1991, from
    memory): whole numbers of up to a thousand digits.
    """
    steps = [step for step in plain.tiers(table) if step >= least]
    many = len(table.slots) + 1
    worth = {step: many ** len(steps) - many ** (len(steps) - 1 - at) for at, step in enumerate(steps)}
    return lambda arc: worth[arc.rank]


def _under_rules(table: Table, best: Pick, ceiling: int) -> Pick:
    filled = sum(arc is not None for arc in best)
    ruled = under_rules.best(table, filled, ceiling)
    if not table.broken(ruled):
        least = under_rules.weakest_free(table, ruled) or 0
        even = priced.best(table, least, evenness(table, least))
        if not isinstance(even, priced.Verdict):
            return even
    return by_tiers(table, ruled)


def by_tiers(table: Table, pick: Pick) -> Pick:
    """The highest rank below which no more slots need stand than do already, then the fewest slots at it, and on.

    `pick` fills as many slots and breaks the rules as little as can be.
    """
    filled = sum(arc is not None for arc in pick)
    model = Model(table)
    demands = [Demand(model.filled, filled, filled), *model.rules(broken=table.broken(pick))]
    free = {column: arc.rank for column, (slot, arc) in enumerate(model.arcs) if not table.held[slot]}
    steps, below = plain.tiers(table), 0

    def with_below(step: int, many: int) -> list[Demand]:
        return [*demands, Demand({column: 1 for column, rank in free.items() if rank < step}, 0, many)]

    while below < len(_free_ranks(table, pick)):
        found, step = under_rules.highest(
            partial(lambda done, step: model.pick({}, with_below(step, done)), below),
            steps,
            partial(lambda done, choice: _free_ranks(table, choice)[done], below),
        )
        assert found is not None, "the choice before was one"
        demands = with_below(step, below)
        upto = {column: 1 for column, rank in free.items() if rank <= step}
        fewest = model.pick(dict.fromkeys(upto, -1), demands)
        assert fewest is not None
        pick, below = fewest, sum(rank <= step for rank in _free_ranks(table, fewest))
        demands = [*demands, Demand(upto, 0, below)]
    return under_rules.earliest(model, pick, demands, 0)


def _free_ranks(table: Table, pick: Pick) -> list[int]:
    pairs = zip(pick, table.held, strict=True)
    return sorted(arc.rank for arc, held in pairs if arc is not None and not held)
