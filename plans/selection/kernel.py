"""The few cases that can matter: for each slot its best patients, for each combination of group properties.  Pure.

With k slots only the best k patients of a slot matter: if a choice fills the slot with another, one of these k is free,
and taking it makes the slot better (or as good, with a case that stands earlier) and harms no other. With group rules
the same holds within each combination of properties, because then the exchange changes no count. So the table keeps
the best choice itself, ties included, and of 5,000 cases for 12 slots at most 144 remain.
"""

import heapq
from collections import Counter
from collections.abc import Collection, Iterable, Sequence
from dataclasses import dataclass, replace
from typing import NamedTuple

from plans.selection.problem import THOUSANDTHS, ChoiceProblem, GroupRule, rank

Fit = tuple[float, float, int]
"""Chance, margin and position of a case in one slot."""


class Arc(NamedTuple):
    """An eligible pair in a table: `rank` of its weight, position of the case among all, number of the patient."""

    rank: int
    case: int
    patient: int


@dataclass(frozen=True, slots=True)
class Table:
    """The pairs that matter.

    `rows[i]` holds the arcs that slot i may use, best first (higher rank, then the case that stands earlier).
    `held[i]` says that the slot has a fixed pair: its row has that arc alone, or none where the pair cannot be, and the
    patient stands in no other row. `eligible[i]` are the arcs before patients of fixed pairs were taken out, for
    explanations. `having[r]` are the positions of the cases that rule r counts.
    """

    slots: tuple[str, ...]
    cases: tuple[str, ...]
    rows: tuple[tuple[Arc, ...], ...]
    eligible: tuple[tuple[Arc, ...], ...]
    held: tuple[bool, ...]
    rules: tuple[GroupRule, ...]
    having: tuple[frozenset[int], ...]

    def counts(self, arcs: Iterable[Arc | None]) -> tuple[int, ...]:
        """How many of the chosen cases each rule counts."""
        chosen = [arc.case for arc in arcs if arc is not None]
        return tuple(sum(case in having for case in chosen) for having in self.having)

    def broken(self, arcs: Iterable[Arc | None]) -> int:
        """Cases missing from or too many for the rules, in sum."""
        pairs = zip(self.rules, self.counts(arcs), strict=True)
        return sum(sum(rule.short_and_over(count)) for rule, count in pairs)


def table_of(problem: ChoiceProblem, spare: int = 0, soft: bool = False) -> Table:
    """The table of a problem.

    `spare` more patients are kept for each slot, so that so many of the cases may be taken away later. `soft` keeps
    the other arcs of slots with fixed pairs too, so that a fixed pair may be dropped later.
    """
    having = tuple(frozenset(problem.position[case] for case in rule.cases) for rule in problem.rules)
    numbers = {name: number for number, name in enumerate(dict.fromkeys(problem.patients.values()))}
    owner = [numbers[name] for name in problem.patients.values()]
    most = max(Counter(owner).values(), default=1)
    fixed = {slot: [pair for pair in problem.fixed if pair.slot == slot] for slot in problem.slots}
    rows = []
    for slot in problem.slots:
        fits = problem.rows[slot]
        wanted = {problem.position[pair.case] for pair in fixed[slot]}
        if wanted and not soft:
            rows.append(tuple(_only(fits, wanted, owner)))
            continue
        kept = {_arc(fit, owner) for fit in fits if fit[2] in wanted} if wanted else set()
        for group in _by_properties(fits, having):
            kept.update(_best(group, len(problem.slots) + spare, most, owner))
        rows.append(tuple(sorted(kept, key=_best_first)))
    held = tuple(bool(fixed[slot]) and not soft for slot in problem.slots)
    eligible = tuple(rows)
    return Table(
        problem.slots, tuple(problem.patients), _usable(eligible, held), eligible, held, problem.rules, having
    )


def without(problem: ChoiceProblem, case: str) -> ChoiceProblem:
    """The problem in which a case cannot be chosen, nor is fixed."""
    fixed = tuple(pair for pair in problem.fixed if pair.case != case)
    return replace(problem, fixed=fixed, excluded=problem.excluded | {case})


def cut_down(problem: ChoiceProblem, spare: int = 0, also: Collection[str] = ()) -> ChoiceProblem:
    """The same problem with the pairs of its table alone, for solving it many times over with small changes.

    Cases named in `also` stay known, for pairs that are added later.
    """
    table = table_of(problem, spare, soft=True)
    kept: set[tuple[str, str]] = set()
    for slot, row in zip(table.slots, table.rows, strict=True):
        # All cases of a patient who matters, because the best of them may be the one taken away.
        patients = {problem.patients[table.cases[arc.case]] for arc in row}
        cases = (table.cases[at] for _, _, at in problem.rows[slot])
        kept.update((case, slot) for case in cases if problem.patients[case] in patients)
    weights = {key: problem.weights[key] for key in kept}
    named = {case for case, _ in kept}.union(also, (pair.case for pair in problem.fixed))
    owners = {case: who for case, who in problem.patients.items() if case in named}
    rules = tuple(replace(rule, cases=rule.cases & owners.keys()) for rule in problem.rules)
    away = problem.excluded & owners.keys()
    return ChoiceProblem(problem.slots, owners, weights, rules, problem.fixed, away)


def _usable(eligible: tuple[tuple[Arc, ...], ...], held: tuple[bool, ...]) -> tuple[tuple[Arc, ...], ...]:
    """The rows without patients who are fixed elsewhere; of two slots fixed to one patient the first keeps it."""
    keeper: dict[int, int] = {}
    for slot, row in enumerate(eligible):
        if held[slot] and row:
            keeper.setdefault(row[0].patient, slot)
    return tuple(
        tuple(arc for arc in row if keeper.get(arc.patient, slot) == slot)
        for slot, row in enumerate(eligible)
    )


def _by_properties(fits: Sequence[Fit], having: Sequence[frozenset[int]]) -> Iterable[Sequence[Fit]]:
    """The fits apart by the combination of rules that count their cases."""
    if not having:
        return [fits]
    groups: dict[tuple[bool, ...], list[Fit]] = {}
    for fit in fits:
        groups.setdefault(tuple([fit[2] in cases for cases in having]), []).append(fit)
    return groups.values()


def _arc(fit: Fit, owner: Sequence[int]) -> Arc:
    return Arc(rank(fit[0], fit[1]), fit[2], owner[fit[2]])


def _only(fits: Iterable[Fit], wanted: Collection[int], owner: Sequence[int]) -> list[Arc]:
    """The arc of the fixed case; none where it is not eligible, or where two cases are fixed to one slot."""
    if len(wanted) > 1:
        return []
    return [_arc(fit, owner) for fit in fits if fit[2] in wanted]


def _best(fits: Sequence[Fit], depth: int, most: int, owner: Sequence[int]) -> list[Arc]:
    """The best arcs of `depth` patients, each patient's best alone; no patient has more than `most` cases.

    Ranks are worked out only for chances that round to no less than what so many patients reach.
    """
    if len(fits) > depth * most:
        least = heapq.nlargest(depth * most, [fit[0] for fit in fits])[-1]
        limit = (round(least * THOUSANDTHS) - 1) / THOUSANDTHS
        fits = [fit for fit in fits if fit[0] >= limit]
        # One number for rank and order is compared much faster than two, and few of them become arcs.
        size = len(owner)
        codes = heapq.nlargest(
            depth * most, [rank(fit[0], fit[1]) * size + size - 1 - fit[2] for fit in fits]
        )
        arcs = [Arc(code // size, case := size - 1 - code % size, owner[case]) for code in codes]
    else:
        arcs = sorted((_arc(fit, owner) for fit in fits), key=_best_first)
    best: dict[int, Arc] = {}
    for arc in arcs:
        best.setdefault(arc.patient, arc)
        if len(best) == depth:
            break
    return list(best.values())


def _best_first(arc: Arc) -> tuple[int, int]:
    return -arc.rank, arc.case
