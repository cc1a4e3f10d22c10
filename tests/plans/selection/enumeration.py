"""Every choice there is, tried one by one: what the quick ways are held against.  Knows nothing of them.

Also small problems drawn at random, in which ties, patients with several cases, zero margins, fixed and excluded cases
are common.
"""

import random
from collections.abc import Iterator

from plans.selection import ChoiceProblem, GroupRule, Pair, Weight

Filling = tuple[str | None, ...]


def fillings(problem: ChoiceProblem) -> Iterator[Filling]:
    """Every way to fill slots with eligible cases; a slot with fixed pairs holds that case or nothing.

    The patient of a fixed pair serves no other slot; of two slots that ask for one patient the first keeps it.
    """
    fixed = {slot: {pair.case for pair in problem.fixed if pair.slot == slot} for slot in problem.slots}
    fits = {
        slot: [
            case
            for case in problem.patients
            if (case, slot) in problem.weights and case not in problem.excluded
            if not fixed[slot] or fixed[slot] == {case}
        ]
        for slot in problem.slots
    }
    keeper = {
        problem.patients[case]: slot for slot in reversed(problem.slots) if fixed[slot] for case in fits[slot]
    }
    options: list[list[str | None]] = [
        [*(case for case in fits[slot] if keeper.get(problem.patients[case], slot) == slot), None]
        for slot in problem.slots
    ]

    def go(at: int, so_far: tuple[str | None, ...], patients: frozenset[str]) -> Iterator[Filling]:
        if at == len(options):
            yield so_far
            return
        for case in options[at]:
            if case is None:
                yield from go(at + 1, (*so_far, None), patients)
            elif problem.patients[case] not in patients:
                yield from go(at + 1, (*so_far, case), patients | {problem.patients[case]})

    return go(0, (), frozenset())


def thousandths(weight: Weight) -> tuple[int, int]:
    return round(weight.chance * 1000), round(max(-99.999, min(99.999, weight.margin_sd)) * 1000)


def broken(problem: ChoiceProblem, filling: Filling) -> int:
    """Cases missing from or too many for the rules."""
    total = 0
    for rule in problem.rules:
        count = sum(case in rule.cases for case in filling if case is not None)
        most = len(problem.patients) if rule.at_most is None else rule.at_most
        total += max(0, rule.at_least - count) + max(0, count - most)
    return total


def free_ranks(problem: ChoiceProblem, filling: Filling) -> list[tuple[int, int]]:
    """Rounded weights of filled slots without fixed pairs, the weakest first."""
    held = {pair.slot for pair in problem.fixed}
    pairs = zip(problem.slots, filling, strict=True)
    return sorted(thousandths(problem.weights[c, s]) for s, c in pairs if c is not None and s not in held)


def order(problem: ChoiceProblem, filling: Filling) -> tuple[int, ...]:
    """The third criterion: positions of the cases, an empty slot behind all; the smaller the better."""
    cases = list(problem.patients)
    return tuple(len(cases) if case is None else cases.index(case) for case in filling)


def wish(problem: ChoiceProblem, filling: Filling) -> tuple[object, ...]:
    """All wishes in their order; the greater the better."""
    pairs = [(c, s) for s, c in zip(problem.slots, filling, strict=True) if c is not None]
    both = [thousandths(problem.weights[pair]) for pair in pairs]
    weakest = (free_ranks(problem, filling) or [(0, -99_999)])[0]
    return (
        len(pairs),
        -broken(problem, filling),
        weakest,
        sum(chance for chance, _ in both),
        sum(margin for _, margin in both),
        tuple(-at for at in order(problem, filling)),
    )


def best(problem: ChoiceProblem) -> Filling:
    return max(fillings(problem), key=lambda filling: wish(problem, filling))


def even(problem: ChoiceProblem) -> Filling:
    """The choice whose weakest, next-weakest … slots are strongest."""

    def key(filling: Filling) -> tuple[object, ...]:
        filled = sum(case is not None for case in filling)
        first = (filled, -broken(problem, filling))
        return (*first, free_ranks(problem, filling), tuple(-at for at in order(problem, filling)))

    return max(fillings(problem), key=key)


def small_problem(rng: random.Random, rules: int = 0, ties: bool = True, fixed: bool = True) -> ChoiceProblem:
    """Up to 4 slots and 7 cases of at least 3 patients."""
    slots = tuple(f"s{n}" for n in range(rng.randint(1, 4)))
    cases = [f"c{n}" for n in range(rng.randint(1, 7))]
    rng.shuffle(cases)
    patients = {case: f"p{rng.randrange(3 + len(cases))}" for case in cases}
    share = rng.choice((0.3, 0.5, 0.8))
    chances = (0.0, 0.5, 0.9, 1.0) if ties else tuple(n / 997 for n in range(998))
    margins = (-1.0, 0.0, 0.5, float("inf")) if ties else tuple(n / 100 for n in range(-300, 300))
    weights = {
        (case, slot): Weight(rng.choice(chances), rng.choice(margins))
        for case in cases
        for slot in slots
        if rng.random() < share
    }
    keys = list(weights)
    held = tuple(
        Pair(slot, case) for case, slot in rng.sample(keys, min(len(keys), rng.choice((0, 0, 1, 2))))
    )
    away = frozenset(rng.sample(cases, rng.choice((0, 0, 1)) if len(cases) > 1 else 0))
    groups = tuple(
        GroupRule(
            f"r{n}",
            frozenset(rng.sample(cases, rng.randint(0, len(cases)))),
            low := rng.randint(0, 2),
            rng.choice((None, low, low + 1)),
        )
        for n in range(rules)
    )
    return ChoiceProblem(slots, patients, weights, groups, held if fixed else (), away)
