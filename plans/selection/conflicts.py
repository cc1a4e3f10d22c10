"""Why not every slot can be filled with every rule obeyed, as few words as there are reasons.  Pure.

Without group rules a slot stays empty only where a set of slots has fewer patients than slots (Hall 1935, from memory).
With rules there is no such theorem; a set of demands that cannot be met together is made minimal by leaving out one
demand after the other as long as the rest still cannot be met (deletion filter, Chinneck & Dravnieks 1991, from memory).
"""

from dataclasses import dataclass
from typing import Literal, NamedTuple

from plans.selection.best import Choice, choose, choose_within_rules
from plans.selection.kernel import Table, table_of
from plans.selection.matching import competing
from plans.selection.plain import best_of_patients, matched
from plans.selection.problem import ChoiceProblem, Pair
from plans.selection.program import Demand, Model

Reason = Literal["not_eligible", "excluded", "slot_twice", "patient_twice"]


class TooFew(NamedTuple):
    """Slots that compete for too few cases.

    `cases` are all that could serve any of `slots`; they are of one patient fewer than there are slots, and every part
    of the slots has enough. `fixed` pairs are among them; cases of `set_aside` were excluded and would help. A single
    slot without cases goes on inside its own conditions.
    """

    slots: tuple[str, ...]
    cases: tuple[str, ...]
    fixed: tuple[Pair, ...]
    set_aside: tuple[str, ...]


class FixedFault(NamedTuple):
    """A fixed pair that cannot be, and why; `other` is the fixed pair it collides with."""

    pair: Pair
    reason: Reason
    other: Pair | None


class RuleBound(NamedTuple):
    """One side of a group rule."""

    rule: str
    side: Literal["at_least", "at_most"]


class Conflict(NamedTuple):
    """Demands that cannot be met together, though they can as soon as any one of them is given up."""

    slots: tuple[str, ...]
    rules: tuple[RuleBound, ...]
    fixed: tuple[Pair, ...]


@dataclass(frozen=True, slots=True)
class Impossible:
    """Why a problem has no complete choice, and what comes nearest.

    `nearest` fills as many slots as can be filled and breaks rules as little as that allows; `within_rules` obeys every
    rule and fills as many slots as that allows, None where the rules cannot be obeyed at all. `conflict` is looked for
    only where there are enough cases for the slots.
    """

    nearest: Choice
    within_rules: Choice | None
    faults: tuple[FixedFault, ...]
    too_few: tuple[TooFew, ...]
    conflict: Conflict | None


def why_impossible(problem: ChoiceProblem) -> Impossible | None:
    """The reasons; None where every slot can be filled and every rule obeyed."""
    nearest = choose(problem)
    if nearest.complete:
        return None
    faults = fixed_faults(problem)
    too_few = slots_without_enough(problem) if nearest.empty else ()
    conflict = None if too_few else smallest_conflict(problem)
    within = nearest if not nearest.broken else choose_within_rules(problem)
    return Impossible(nearest, within, faults, too_few, conflict)


def fixed_faults(problem: ChoiceProblem) -> tuple[FixedFault, ...]:
    """The fixed pairs that cannot be; of two that collide the later one."""
    found: list[FixedFault] = []
    slots: dict[str, Pair] = {}
    patients: dict[str, Pair] = {}
    for pair in dict.fromkeys(problem.fixed):
        patient = problem.patients[pair.case]
        if pair.case in problem.excluded:
            found.append(FixedFault(pair, "excluded", None))
        elif (pair.case, pair.slot) not in problem.weights:
            found.append(FixedFault(pair, "not_eligible", None))
        elif pair.slot in slots:
            found.append(FixedFault(pair, "slot_twice", slots[pair.slot]))
        elif patient in patients:
            found.append(FixedFault(pair, "patient_twice", patients[patient]))
        slots.setdefault(pair.slot, pair)
        patients.setdefault(patient, pair)
    return tuple(found)


def slots_without_enough(problem: ChoiceProblem) -> tuple[TooFew, ...]:
    """For each slot that stays empty the smallest set of slots around it that has too few patients, each set once.

    Slots with a fixed pair that cannot be are left to `fixed_faults`.
    """
    table = table_of(problem)
    found = matched(best_of_patients(table))
    # A slot of such a set has fewer patients than there are slots, so the table has kept all of them.
    neighbours = [list(dict.fromkeys(arc.patient for arc in row)) for row in table.eligible]
    sets: dict[tuple[int, ...], TooFew] = {}
    for slot, patient in enumerate(found.patient):
        if patient is None and not (table.held[slot] and not table.eligible[slot]):
            slots, _ = competing(neighbours, found, slot)
            sets.setdefault(tuple(slots), _too_few(problem, table, slots))
    return tuple(sets.values())


def _too_few(problem: ChoiceProblem, table: Table, numbers: list[int]) -> TooFew:
    slots = tuple(table.slots[number] for number in numbers)
    fixed = tuple(pair for pair in problem.fixed if pair.slot in slots)
    held = {pair.slot: {other.case for other in fixed if other.slot == pair.slot} for pair in fixed}
    serving = {
        at
        for slot in slots
        for _, _, at in problem.rows[slot]
        if slot not in held or table.cases[at] in held[slot]
    }
    patients = {problem.patients[table.cases[at]] for at in serving}
    aside = tuple(
        case
        for case in problem.patients
        if case in problem.excluded
        and problem.patients[case] not in patients
        and any((case, slot) in problem.weights for slot in slots if slot not in held)
    )
    return TooFew(slots, tuple(table.cases[at] for at in sorted(serving)), fixed, aside)


def smallest_conflict(problem: ChoiceProblem) -> Conflict | None:
    """A minimal set of slots to be filled, sides of rules and fixed pairs that cannot be met together; None if all can.

    Rules are named rather than slots where either would do: later slots are left out first.
    """
    model = Model(table_of(problem, soft=True))
    asked = _demands(problem, model)
    if _can_be(model, asked):
        return None
    for one in list(asked):
        rest = [other for other in asked if other is not one]
        if not _can_be(model, rest):
            asked = rest
    keys = [key for key, _ in asked]
    return Conflict(
        tuple(slot for slot in problem.slots if slot in keys),
        tuple(key for key in keys if isinstance(key, RuleBound)),
        tuple(key for key in keys if isinstance(key, Pair)),
    )


Asked = tuple[str | Pair | RuleBound, Demand]


def _can_be(model: Model, asked: list[Asked]) -> bool:
    return model.pick({}, [demand for _, demand in asked]) is not None


def _demands(problem: ChoiceProblem, model: Model) -> list[Asked]:
    """Everything asked for, in the order in which it is tried to do without."""
    table, faulty = model.table, {fault.pair for fault in fixed_faults(problem)}
    asked: list[Asked] = [
        (slot, Demand(model.of_slot[at], 1, 1)) for at, slot in reversed(list(enumerate(table.slots)))
    ]
    for pair in dict.fromkeys(problem.fixed):
        if pair not in faulty:
            at = problem.position[pair.case]
            columns = model.of_slot[table.slots.index(pair.slot)]
            asked.append(
                (pair, Demand({column: 1 for column in columns if model.arcs[column][1].case == at}, 1, 1))
            )
    for rule, having in zip(table.rules, table.having, strict=True):
        counted = {column: 1 for column, (_, arc) in enumerate(model.arcs) if arc.case in having}
        if rule.at_least:
            most = rule.at_least + len(table.slots)
            asked.append((RuleBound(rule.key, "at_least"), Demand(counted, rule.at_least, most)))
        if rule.at_most is not None:
            asked.append((RuleBound(rule.key, "at_most"), Demand(counted, 0, rule.at_most)))
    return asked
