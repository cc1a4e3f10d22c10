"""The best choice where no group rule counts: the weakest slot as strong as can be, then the total.  Pure, exact.

One after the other: as many slots as possible; the lowest rank among the slots that are not fixed as high as possible
(bottleneck matching: the highest threshold at which as many slots can still be filled); the sum of the rounded chances;
the sum of the rounded margins; then for slot after slot the case that stands earlier.
"""

from collections.abc import Callable, Iterable, Sequence

from plans.selection.assignment import least_cost
from plans.selection.kernel import Arc, Table
from plans.selection.matching import Matching, largest
from plans.selection.problem import MARGINS, chance_part

Pick = tuple[Arc | None, ...]
"""For each slot the arc chosen, None where it stays empty."""


def best_of_patients(table: Table) -> list[dict[int, Arc]]:
    """For each slot the best arc of every patient, best first."""
    rows: list[dict[int, Arc]] = []
    for row in table.rows:
        best: dict[int, Arc] = {}
        for arc in row:
            best.setdefault(arc.patient, arc)
        rows.append(best)
    return rows


def tiers(table: Table) -> list[int]:
    """The ranks that occur in slots that are not fixed, lowest first."""
    return sorted(
        {arc.rank for row, held in zip(table.rows, table.held, strict=True) if not held for arc in row}
    )


def from_tier(table: Table, rows: Sequence[dict[int, Arc]], least: int) -> list[dict[int, Arc]]:
    """The rows with arcs of at least this rank; fixed pairs stay whatever their rank."""
    return [
        row if held else {patient: arc for patient, arc in row.items() if arc.rank >= least}
        for row, held in zip(rows, table.held, strict=True)
    ]


def weakest_possible(table: Table, rows: Sequence[dict[int, Arc]], steps: Sequence[int], filled: int) -> int:
    """The highest rank at which `filled` slots can still be filled; 0 where no slot is free."""
    low, high = 0, len(steps)
    while high - low > 1:
        middle = (low + high) // 2
        if matched(from_tier(table, rows, steps[middle])).filled == filled:
            low = middle
        else:
            high = middle
    return steps[low] if steps else 0


def matched(rows: Sequence[dict[int, Arc]]) -> Matching:
    """As many slots filled as possible, by whatever arc."""
    return largest([list(row) for row in rows])


def total_values(table: Table) -> int:
    """What one thousandth of chance is worth in thousandths of margin: more than all margins of a choice together."""
    return MARGINS * (len(table.slots) + 1)


def best_total(table: Table, rows: Sequence[dict[int, Arc]]) -> Pick:
    """Of these arcs the choice that fills most, then has the highest total, then the cases that stand earlier."""
    return cheapest(rows, Costs(table, [row.values() for row in rows], total_value(table)))


def total_value(table: Table) -> Callable[[Arc], int]:
    """What an arc adds to the total: a thousandth of chance is worth more than all margins of a choice together."""
    worth = MARGINS * (len(table.slots) + 1)
    return lambda arc: chance_part(arc.rank) * worth + arc.rank % MARGINS


class Costs:
    """One whole number for each arc, so that the cheapest choice has the highest value and then the earlier cases.

    `of[i][arc]` is what the arc costs in slot i and `vacant[i]` what it costs to leave it empty beside other choices
    that fill as many; `spread` is more than two choices that fill as many slots may differ by.
    """

    def __init__(self, table: Table, rows: Sequence[Iterable[Arc]], value: Callable[[Arc], int]) -> None:
        rows = [list(row) for row in rows]
        known = sorted({arc.case for row in rows for arc in row})
        place, digit, slots = {case: at for at, case in enumerate(known)}, len(known) + 1, len(rows)
        units: list[int] = [digit ** (slots - 1 - slot) for slot in range(slots)]
        whole: int = digit**slots
        self.of: list[dict[Arc, int]] = [
            {arc: place[arc.case] * unit - (0 if held else value(arc)) * whole for arc in row}
            for row, unit, held in zip(rows, units, table.held, strict=True)
        ]
        self.vacant = [len(known) * unit for unit in units]
        self.spread = 1 + 2 * sum(
            max(map(abs, [*row.values(), vacant])) for row, vacant in zip(self.of, self.vacant, strict=True)
        )


def cheapest(rows: Sequence[dict[int, Arc]], costs: Costs) -> Pick:
    """The choice among these arcs that fills most slots and costs least."""
    columns: list[dict[int, int]] = []
    for slot, row in enumerate(rows):
        column = {patient: costs.of[slot][arc] for patient, arc in row.items()}
        columns.append({**column, -1 - slot: costs.spread + costs.vacant[slot]})
    return tuple(row.get(column) for row, column in zip(rows, least_cost(columns), strict=True))


def best(table: Table) -> tuple[Pick, int]:
    """The best choice without regard to group rules, and the rank that no free slot of it falls below."""
    rows = best_of_patients(table)
    least = weakest_possible(table, rows, tiers(table), matched(rows).filled)
    return best_total(table, from_tier(table, rows, least)), least
