"""The best choice as a page: who stands where, the weakest first, what a rejection costs, what would help, why not."""

from collections.abc import Iterable, Mapping
from dataclasses import dataclass
from typing import NamedTuple
from uuid import UUID

from plans import selection, weighing
from plans.answers import Answer, Lack
from plans.document import ORDERS, Plan
from plans.requirements.words import counted, listed
from plans.selection import Choice, Chosen, Help, Impossible, Loss, RuleBound
from plans.slots.grid import state_words
from plans.slots.in_hand import InHand
from plans.slots.one_case import Missing, missing
from plans.slots.ordering import in_the_plans_order
from plans.slots.words import weight_words
from plans.weighing import Cell

MOST_HELPS = 6
MOST_NEAR = 3


class CaseLink(NamedTuple):
    """A case by its code, with its page."""

    code: str
    public_id: UUID


@dataclass(frozen=True, slots=True)
class Place:
    """One slot of the choice: the case in it, how firmly, what its rejection would cost."""

    slot: str
    label: str
    case: CaseLink | None
    firmly: str
    fixed: bool
    records_missing: int
    if_rejected: str
    near: tuple["Near", ...] = ()


class NearClause(NamedTuple):
    """A clause that a near case does not meet, or of which it is not known, with the values."""

    state: str
    sentence: str
    says: str


@dataclass(frozen=True, slots=True)
class Near:
    """A case that comes near to a slot nothing fits, and what stands against it."""

    case: CaseLink
    clauses: tuple[NearClause, ...]


@dataclass(frozen=True, slots=True)
class Helping:
    """One thing to record, of which case, and what would come of it if it turned out well."""

    case: CaseLink
    missing: tuple[Missing, ...]
    brings: str


@dataclass(frozen=True, slots=True)
class ChoicePage:
    """The whole page; `order` are the codes in the order the plan asks for, with `order_words`."""

    places: tuple[Place, ...]
    complete: bool
    filled: int
    weakest: tuple[Place, ...]
    order: tuple[CaseLink, ...]
    order_words: str
    why_not: tuple[str, ...]
    helps: tuple[Helping, ...]
    spare: tuple[CaseLink, ...]
    """Cases that fit a slot and are not chosen."""
    aside: tuple[tuple[CaseLink, str], ...]
    codes: tuple[str, ...]
    taken: bool
    """Whether just these cases are in the state chosen already."""


def choice_page(hand: InHand) -> ChoicePage:
    """The best choice of a portfolio with all that is told beside it."""
    choice = selection.choose(hand.problem)
    losses = {loss.pair.slot: loss for loss in selection.firmness(hand.problem)}
    links = {one.code: CaseLink(one.code, one.public_id) for one in hand.cases}
    places = tuple(_place(hand, slot.key, choice, losses, links) for slot in hand.slots)
    by_slot = {place.slot: place for place in places}
    even = selection.evenest(hand.problem)
    codes = {pair.case for pair in choice.pairs}
    order = in_the_plans_order(hand, choice)
    impossible = selection.why_impossible(hand.problem)
    fitting = {case for case, _ in hand.problem.weights} - codes - set(hand.set_aside)
    return ChoicePage(
        places,
        choice.complete,
        len(choice.pairs),
        tuple(
            by_slot[pair.slot]
            for pair in even.weakest_first
            if pair.slot in by_slot and by_slot[pair.slot].case
        ),
        tuple(links[code] for code in order),
        _order_words(hand.held.plan),
        tuple(_why_not(hand, impossible)) if impossible else (),
        tuple(_helps(hand, links)),
        tuple(links[code] for code in sorted(fitting)),
        tuple((links[code], why) for code, why in sorted(hand.set_aside.items())),
        tuple(sorted(codes)),
        codes == {one.code for one in hand.cases if one.state == "chosen"},
    )


def _place(
    hand: InHand, slot: str, choice: Choice, losses: Mapping[str, Loss], links: Mapping[str, CaseLink]
) -> Place:
    label = hand.held.plan.slot(slot).label
    pair = next((one for one in choice.pairs if one.slot == slot), None)
    if pair is None:
        return Place(slot, label, None, "", False, 0, "", tuple(_near(hand, slot, links)))
    cell = hand.table[pair.case, slot]
    records = sum(not answer.met for _, answer in cell.records)
    rejected = _loss_words(hand, losses[slot]) if slot in losses else ""
    return Place(
        slot, label, links[pair.case], weight_words(pair.weight, cell.answer), pair.fixed, records, rejected
    )


def _loss_words(hand: InHand, loss: Loss) -> str:
    """What a rejection leaves: an empty slot, a broken rule, or a weaker choice with those that move."""
    label = {slot.key: slot.label for slot in hand.slots}
    moved = [f"{pair.case} to {label[pair.slot]}" for pair in loss.moved]
    moves = f"{listed(moved)} instead" if moved else ""
    if loss.emptied > 0:
        left = [label[key] for key in loss.after.empty if key not in loss.before.empty]
        said = f"{listed(left)} stays empty" if left else "one slot more stays empty"
        return f"{said}; {moves}" if moves else said
    if loss.more_broken > 0:
        return f"a rule over the choice is broken; {moves}" if moves else "a rule over the choice is broken"
    weakest = loss.after.weakest
    if weakest is None:
        return moves
    fallen = loss.weakest_chance > 0 or loss.weakest_margin > 0
    cell = hand.table[weakest.case, weakest.slot]
    tail = f"the weakest slot is then {label[weakest.slot]} ({weight_words(weakest.weight, cell.answer)})"
    return f"{moves}; {tail if fallen else 'the weakest slot stays as firm'}"


def _near(hand: InHand, slot: str, links: Mapping[str, CaseLink]) -> Iterable[Near]:
    """The cases that come nearest to a slot: fewest clauses that fail, those that are only unknown first."""
    rows = [
        (_failing(cell), code, cell)
        for (code, key), cell in hand.table.items()
        if key == slot and not cell.fits and code not in hand.set_aside
    ]
    for _, code, cell in sorted(rows, key=lambda row: (row[0], row[1]))[:MOST_NEAR]:
        yield Near(links[code], tuple(_leaves(cell)))


def _failing(cell: Cell) -> tuple[int, int]:
    """How many clauses are not met or not known, and how many of them are known not to be met."""
    states = [answer.state for _, answer in _clauses(cell)]
    return sum(state != "met" for state in states), sum(state in ("not_met", "depends") for state in states)


def _clauses(cell: Cell) -> list[tuple[str, Answer]]:
    """Sentence and answer of every clause of the slot's outermost group."""
    if not cell.answer.parts:
        return [("", cell.answer)]
    return [(part.sentence, part.answer) for part in cell.answer.parts]


def _leaves(cell: Cell) -> Iterable[NearClause]:
    for sentence, answer in _clauses(cell):
        if answer.state != "met":
            yield NearClause(state_words(answer), sentence, answer.says)


def _order_words(plan: Plan) -> str:
    from_plan = [ORDERS[key] for key in plan.order if key in ORDERS]
    return ", then ".join(from_plan)


def _why_not(hand: InHand, impossible: Impossible) -> Iterable[str]:
    label = {slot.key: slot.label for slot in hand.slots}
    for fault in impossible.faults:
        because = {
            "not_eligible": "does not meet it",
            "excluded": "is set aside",
            "slot_twice": "is not the only one fixed to it",
            "patient_twice": "is of a patient who is fixed to another slot",
        }[fault.reason]
        yield f"Case {fault.pair.case} is fixed to {label[fault.pair.slot]} and {because}."
    for few in impossible.too_few:
        slots = listed(label[key] for key in few.slots)
        if len(few.slots) == 1:
            served = f"no case serves {slots}"
        elif few.cases:
            only = f"case {few.cases[0]}" if len(few.cases) == 1 else f"cases {listed(few.cases)}"
            served = f"{slots} can be served only by {only}"
        else:
            served = f"no case serves any of {slots}"
        said = f"{served[:1].upper()}{served[1:]}: one case more is needed."
        if few.set_aside:
            said += f" Set aside, but fitting: {listed(few.set_aside)}."
        yield said
    if impossible.conflict is not None:
        parts = [label[key] for key in impossible.conflict.slots]
        parts += [f"case {pair.case} fixed to {label[pair.slot]}" for pair in impossible.conflict.fixed]
        rules = [f"“{rule_words(hand.held.plan, bound)}”" for bound in impossible.conflict.rules]
        yield (
            f"These cannot all be had together, though any one of them could be given up: {listed([*parts, *rules])}."
        )
    for broken in impossible.nearest.broken:
        rule = weighing.rule_of(hand.held.plan, broken.rule)
        size = f"{broken.short} too few" if broken.short else f"{broken.over} too many"
        yield f"Nearest to it: “{rule.label or rule.condition.sentence(hand.notation)}” has {size}."


def rule_words(plan: Plan, bound: RuleBound) -> str:
    """A side of a rule over the choice: `at least 2 of: adult patients`."""
    rule = weighing.rule_of(plan, bound.rule)
    number = rule.at_least if bound.side == "at_least" else rule.at_most
    side = "at least" if bound.side == "at_least" else "at most"
    return f"{side} {number} of: {rule.label or rule.condition.sentence()}"


def _helps(hand: InHand, links: Mapping[str, CaseLink]) -> Iterable[Helping]:
    lacks = _lacks(hand)
    open_pairs = {
        pair: good for pair, good in weighing.if_good(hand.table).items() if pair[0] not in hand.set_aside
    }
    for one in selection.helps_most(hand.problem, open_pairs)[:MOST_HELPS]:
        codes = {item.split("\t")[0] for item in one.items}
        for code in sorted(codes):
            told = [lacks[item] for item in one.items if item.startswith(f"{code}\t")]
            yield Helping(links[code], missing(told, hand.case(code)), _brings(hand, one))


def _lacks(hand: InHand) -> dict[str, Lack]:
    return {
        weighing.item(code, lack): lack
        for (code, _), cell in hand.table.items()
        for lack in cell.answer.lacks
    }


def _brings(hand: InHand, one: Help) -> str:
    label = {slot.key: slot.label for slot in hand.slots}
    pairs: list[Chosen] = list(one.new_pairs)
    where = listed(f"{pair.case} in {label[pair.slot]}" for pair in pairs)
    more = one.after.standing.filled - one.before.standing.filled
    if more > 0:
        return f"{counted(more, 'slot')} more could be filled: {where}"
    return f"a firmer choice: {where}" if where else "a firmer choice"
