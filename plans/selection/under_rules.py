"""The best choice under group rules: the same wishes as without, in the same order.  Pure, exact.

As many slots as can be filled; as few cases as possible missing from or too many for the rules (none where that can be);
the weakest slot that is not fixed as strong as can be; the sum of the rounded chances; the sum of the rounded margins;
then for slot after slot the case that stands earlier.
"""

from bisect import bisect_right
from collections.abc import Callable, Mapping, Sequence

from plans.selection import priced
from plans.selection.kernel import Table
from plans.selection.plain import Pick, tiers, total_value
from plans.selection.problem import chance_part, margin_part
from plans.selection.program import Demand, Model

LARGEST_DIGITS = 100_000
"""Places of so many slots are asked for together as make a number below this, well within HiGHS' tolerances."""


def best(table: Table, filled: int, ceiling: int) -> Pick:
    """The best choice that fills `filled` slots, as many as can be filled; its weakest is `ceiling` at most."""
    model = Model(table)
    filling = Demand(model.filled, filled, filled)
    steps = [step for step in tiers(table) if step <= ceiling]
    demands = [filling, *model.rules()]
    pick = raised(model, demands, steps, strict=True)
    if pick is None:
        elastic = [filling, *model.rules(broken=_anything(table))]
        nearest = model.pick(dict.fromkeys(model.slack(), -1), elastic)
        assert nearest is not None, "a choice without regard to the rules was there"
        demands = [filling, *model.rules(broken=table.broken(nearest))]
        pick = raised(model, demands, steps)
        assert pick is not None
    return pick


def most_filled(table: Table) -> Pick | None:
    """The best of the choices that obey every rule and, for that, fill as many slots as they can; None if there is none."""
    model = Model(table)
    widest = model.pick(model.filled, model.rules())
    if widest is None:
        return None
    filled = sum(arc is not None for arc in widest)
    return raised(model, [Demand(model.filled, filled, filled), *model.rules()], tiers(table))


def raised(
    model: Model, demands: Sequence[Demand], steps: Sequence[int], strict: bool = False
) -> Pick | None:
    """Of the choices that meet the demands the one with the strongest weakest slot, then the best total; None if none.

    `steps` are the ranks at which the weakest slot may stand, lowest first; it is looked for from the top downwards in
    growing strides, because rules rarely cost much. `strict`: the demands are to fill as many slots as can be filled
    and to obey every rule, which prices can mostly prove without a program.
    """
    chances = {column: chance_part(arc.rank) for column, (_, arc) in enumerate(model.arcs)}
    value, proved = total_value(model.table), set[Pick]()

    def ask(step: int) -> Pick | None:
        answer = priced.best(model.table, step, value) if strict else priced.Verdict.UNKNOWN
        if answer is priced.Verdict.NONE:
            return None
        if isinstance(answer, priced.Verdict):
            return model.pick(chances, demands, step)
        proved.add(answer)
        return answer

    found, least = highest(ask, steps, lambda pick: weakest_free(model.table, pick))
    # What is the best from one rank on is also the best from a higher one that it keeps to.
    return found if found is None or found in proved else best_total(model, found, demands, least)


def highest(
    ask: Callable[[int], Pick | None], steps: Sequence[int], weakest: Callable[[Pick], int | None]
) -> tuple[Pick | None, int]:
    """The answer at the highest step that has one, with that step; answers exist below every step that has one."""
    if not steps:
        return ask(0), 0
    low, high, stride = len(steps) - 1, len(steps), 1
    found = ask(steps[low])
    if found is None and low:
        # First whether there is any, then the strides.
        found, high, low = ask(steps[0]), low, 0
        trial = max(0, high - stride)
        while found is not None and trial:
            answer = ask(steps[trial])
            if answer is not None:
                found, low = answer, trial
                break
            stride *= 2
            high, trial = trial, max(0, trial - stride)
    if found is None:
        return None, steps[0]
    while True:
        reached = weakest(found)
        if reached is not None:
            low = max(low, bisect_right(steps, reached) - 1)
        if high - low <= 1:
            return found, steps[low]
        middle = (low + high) // 2
        better = ask(steps[middle])
        if better is None:
            high = middle
        else:
            found, low = better, middle


def weakest_free(table: Table, pick: Pick) -> int | None:
    """The lowest rank among slots that are not fixed; None where none of them is filled."""
    ranks = (arc.rank for arc, held in zip(pick, table.held, strict=True) if arc is not None and not held)
    return min(ranks, default=None)


def best_total(model: Model, first: Pick, demands: Sequence[Demand], least: int) -> Pick:
    """Of the choices as good as `first` in chances the best in margins, then the one whose cases stand earlier.

    `first` has the highest sum of chances under the demands from the rank `least` on. Choices that were seen are barred
    and the rest is asked; mostly there is none, and one question proves it.
    """
    arcs = model.arcs
    chances = {column: chance_part(arc.rank) for column, (_, arc) in enumerate(arcs)}
    margins = {column: margin_part(arc.rank) for column, (_, arc) in enumerate(arcs)}
    best_sum = _sum(model, first, chances)
    demands = [*demands, Demand(chances, best_sum, best_sum)]
    champion, others = first, [_bar(model, first)]
    while True:
        rival = model.pick(margins, [*demands, *others], least)
        if rival is None or _sum(model, rival, margins) < _sum(model, champion, margins):
            return champion
        if _sum(model, rival, margins) == _sum(model, champion, margins):
            equal = _sum(model, champion, margins)
            return earliest(model, champion, [*demands, Demand(margins, equal, equal)], least)
        champion, others = rival, [*others, _bar(model, rival)]


def earliest(model: Model, pick: Pick, demands: Sequence[Demand], least: int) -> Pick:
    """Of the choices that meet the demands, `pick` among them, the one whose cases stand earlier, slot after slot."""
    known = sorted({arc.case for _, arc in model.arcs})
    place = {case: len(known) - at for at, case in enumerate(known)}
    slots, together = len(model.table.slots), 1
    while together < slots and (len(known) + 1) ** (together + 1) < LARGEST_DIGITS:
        together += 1
    for start in range(0, slots, together):
        group = range(start, min(start + together, slots))
        wish = {
            column: place[model.arcs[column][1].case] * (len(known) + 1) ** (group[-1] - slot)
            for slot in group
            for column in model.of_slot[slot]
        }
        better = model.pick(wish, demands, least)
        assert better is not None, "the choice before meets them"
        pick = better
        reached = _sum(model, pick, wish)
        demands = [*demands, Demand(wish, reached, reached)]
    return pick


def _sum(model: Model, pick: Pick, of: Mapping[int, int]) -> int:
    return sum(of.get(column, 0) for column in _columns(model, pick))


def _columns(model: Model, pick: Pick) -> list[int]:
    return [column for column, (slot, arc) in enumerate(model.arcs) if pick[slot] == arc]


def _bar(model: Model, pick: Pick) -> Demand:
    """Anything but this choice, among choices that fill as many slots."""
    chosen = dict.fromkeys(_columns(model, pick), 1)
    return Demand(chosen, 0, len(chosen) - 1)


def _anything(table: Table) -> int:
    return sum(rule.at_least + len(table.slots) for rule in table.rules)
