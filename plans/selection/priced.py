"""Group rules as prices on cases: mostly an exact answer without any solver.  Pure.

A case that a rule counts is made cheaper (or dearer) by the rule's price, and slots are assigned at the least cost. If
the answer obeys every rule, and counts exactly the bound wherever a price is not 0, no choice that obeys the rules is
better (Everett 1963, from memory): its own costs could only be less if its prices were worth more, and they are not.
Where prices that do so are not found the answer is left to whole-number programming.
"""

from collections.abc import Callable, Sequence
from enum import Enum
from itertools import combinations

from plans.selection.assignment import least_cost
from plans.selection.kernel import Arc, Table
from plans.selection.plain import Costs, Pick

MOST_ANSWERS = 60
"""Assignments after which no more prices are tried; each takes a small part of the time of a whole-number program."""


class Verdict(Enum):
    """What can be told without a best choice in hand."""

    NONE = "no choice obeys the rules"
    UNKNOWN = "no prices were found that prove anything"


class _Spent(Exception):
    """So many assignments were tried."""


class Priced:
    """The arcs of a table from some rank on, with costs that hold all wishes, and rules that shall be obeyed."""

    def __init__(self, table: Table, least: int, value: Callable[[Arc], int]) -> None:
        self.table = table
        rows = [
            [arc for arc in row if held or arc.rank >= least]
            for row, held in zip(table.rows, table.held, strict=True)
        ]
        self.counted = {
            arc.case: tuple(number for number, having in enumerate(table.having) if arc.case in having)
            for row in rows
            for arc in row
        }
        self.costs = Costs(table, rows, value)
        self.rows = [
            [(arc, cost, self.counted[arc.case]) for arc, cost in row.items()] for row in self.costs.of
        ]
        self.answers = 0
        self.known: dict[tuple[int, ...], Pick] = {}
        self.sides: set[tuple[int, int]] = set()
        """Rules that were not obeyed by some answer, with 1 for too few of their cases and -1 for too many."""

    def enough(self, prices: Sequence[int]) -> int:
        """More than two choices that fill as many slots may differ by under these prices."""
        return self.costs.spread + 2 * sum(map(abs, prices)) * len(self.table.slots)

    def assign(self, prices: Sequence[int]) -> Pick:
        """The choice that fills most and is then the cheapest under these prices."""
        key = tuple(prices)
        if key not in self.known:
            self.answers += 1
            if self.answers > MOST_ANSWERS:
                raise _Spent
            self.known[key] = self._assigned(prices)
        return self.known[key]

    def _assigned(self, prices: Sequence[int]) -> Pick:
        paid = {
            counted: sum([prices[number] for number in counted]) for counted in set(self.counted.values())
        }
        empty = self.enough(prices)
        columns: list[dict[int, int]] = []
        arcs: list[dict[int, Arc]] = []
        for slot, row in enumerate(self.rows):
            column: dict[int, int] = {-1 - slot: empty + self.costs.vacant[slot]}
            by_patient: dict[int, Arc] = {}
            for arc, cost, counted in row:
                now, patient = cost - paid[counted], arc.patient
                if patient not in column or now < column[patient]:
                    column[patient], by_patient[patient] = now, arc
            columns.append(column)
            arcs.append(by_patient)
        return tuple(row.get(column) for row, column in zip(arcs, least_cost(columns), strict=True))

    def count(self, number: int, pick: Pick) -> int:
        """How many of the chosen cases one rule counts."""
        having = self.table.having[number]
        return sum([arc is not None and arc.case in having for arc in pick])

    def cost(self, pick: Pick, prices: Sequence[int]) -> int:
        """What a choice costs under these prices."""
        total = 0
        for row, vacant, arc in zip(self.costs.of, self.costs.vacant, pick, strict=True):
            total += (
                vacant
                if arc is None
                else row[arc] - sum([prices[number] for number in self.counted[arc.case]])
            )
        return total


def best(table: Table, least: int, value: Callable[[Arc], int]) -> Pick | Verdict:
    """Of the choices that keep to ranks from `least` on, fill most slots and obey every rule the one of highest value.

    Among equals the cases that stand earlier.
    """
    priced = Priced(table, least, value)
    prices = [0] * len(table.rules)
    try:
        pick = priced.assign(prices)
        while True:
            number = next((at for at in range(len(prices)) if not _settled(priced, at, pick, prices)), None)
            if number is None:
                return pick
            before = len(priced.sides)
            found = _price(priced, number, prices)
            if found is Verdict.NONE or (len(priced.sides) > before > 0 and _too_much_together(priced)):
                return Verdict.NONE
            if found is Verdict.UNKNOWN:
                return Verdict.UNKNOWN
            prices[number], pick = found
    except _Spent:
        return Verdict.UNKNOWN


def _too_much_together(priced: Priced) -> bool:
    """Whether rules that get in each other's way ask for more, added up, than any choice can give them.

    A choice that obeys the rules gives each side its bound at least, so it gives their sum.
    """
    table, sides = priced.table, sorted(priced.sides)
    for some in (sides, *combinations(sides, 2)):
        prices, wanted = [0] * len(table.rules), 0
        for number, sign in some:
            rule = table.rules[number]
            prices[number] += sign
            wanted += rule.at_least if sign > 0 else -(rule.at_most or 0)
        counts = table.counts(priced.assign([price * priced.costs.spread for price in prices]))
        if sum(price * count for price, count in zip(prices, counts, strict=True)) < wanted:
            return True
    return False


def _settled(priced: Priced, number: int, pick: Pick, prices: Sequence[int]) -> bool:
    """Whether the rule is obeyed, and exactly at the bound that its price is for."""
    rule, count = priced.table.rules[number], priced.count(number, pick)
    if prices[number]:
        return count == (rule.at_least if prices[number] > 0 else rule.at_most)
    return not any(rule.short_and_over(count))


def _price(priced: Priced, number: int, prices: Sequence[int]) -> tuple[int, Pick] | Verdict:
    """The price at which one rule is settled while the others keep theirs, with the choice there."""
    rule = priced.table.rules[number]

    def at(price: int) -> tuple[list[int], Pick, int]:
        tried = [*prices[:number], price, *prices[number + 1 :]]
        pick = priced.assign(tried)
        return tried, pick, priced.count(number, pick)

    unpriced, near, count = at(0)
    if not any(rule.short_and_over(count)):
        return 0, near
    sign = 1 if count < rule.at_least else -1
    priced.sides.add((number, sign))
    wanted = rule.at_least if sign > 0 else rule.at_most
    assert wanted is not None
    price = sign * priced.enough(prices)
    _, far, most = at(price)
    if (most - wanted) * sign < 0:
        return Verdict.NONE
    # Between two choices the price at which both cost the same is tried: whatever lies between is cheaper there.
    while most != wanted:
        same = (priced.cost(far, unpriced) - priced.cost(near, unpriced)) // (most - count)
        tried, pick, between = at(same)
        if priced.cost(pick, tried) >= min(priced.cost(near, tried), priced.cost(far, tried)):
            return Verdict.UNKNOWN
        if (between - wanted) * sign >= 0:
            far, most, price = pick, between, same
        else:
            near, count = pick, between
    return price, far
