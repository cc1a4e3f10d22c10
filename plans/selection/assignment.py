"""Slots to patients at the least cost, in whole numbers of any size.  Pure.

Successive shortest paths with prices that keep every reduced cost from falling below 0 (Kuhn 1955, Munkres 1957;
Tomizawa 1971; from memory). Whole numbers of any size let one cost hold several wishes one after the other, the last
being the order of the cases, so that exactly one choice is the best and no rounding can swap two.
"""

from collections.abc import Mapping, Sequence


def least_cost(rows: Sequence[Mapping[int, int]]) -> list[int]:
    """The column of each row, no column twice, with the least sum of costs.

    `rows[i]` gives the cost of each column that row i may take; costs may be negative. Every row has a column that no
    other row may take, so that there is always an answer.
    """
    price_of_row = [0] * len(rows)
    price: dict[int, int] = {}
    holder: dict[int, int] = {}
    taken: dict[int, int] = {}
    for start in range(len(rows)):
        nearest: dict[int, int] = {}
        came: dict[int, int] = {}
        settled: dict[int, int] = {}
        row, far = start, 0
        while True:
            base = far - price_of_row[row]
            for column, cost in rows[row].items():
                if column not in settled:
                    reach = base + cost - price.get(column, 0)
                    if column not in nearest or reach < nearest[column]:
                        nearest[column], came[column] = reach, row
            last = min(nearest, key=nearest.__getitem__)
            far = settled[last] = nearest.pop(last)
            if last not in holder:
                break
            row = holder[last]
        price_of_row[start] += far
        for column, reach in settled.items():
            if column in holder:
                price_of_row[holder[column]] += far - reach
                price[column] = price.get(column, 0) - far + reach
        while True:
            row = came[last]
            before = taken.get(row)
            holder[last], taken[row] = row, last
            if row == start or before is None:
                break
            last = before
    return [taken[row] for row in range(len(rows))]
