"""The order in which chosen cases follow each other, as the plan asks."""

from collections.abc import Callable
from decimal import Decimal

from plans.selection import Choice
from plans.selectors.facts import CaseInPlan
from plans.slots.in_hand import InHand

Key = Callable[[CaseInPlan], tuple[int, Decimal | str]]


def in_the_plans_order(hand: InHand, choice: Choice) -> tuple[str, ...]:
    """Codes of the chosen cases; what is not known stands last, ties go on to the next wish and then by code."""
    chosen = [hand.case(pair.case) for pair in choice.pairs]
    keys = [_key(hand, choice, name) for name in hand.held.plan.order]
    ordered = sorted(chosen, key=lambda one: (*(key(one) for key in keys), one.code))
    return tuple(one.code for one in ordered)


def _key(hand: InHand, choice: Choice, name: str) -> Key:
    index = hand.held.plan.complexity
    slots = {pair.case: number for number, pair in enumerate(choice.pairs)}

    def complexity(one: CaseInPlan) -> Decimal | None:
        score = one.facts.score(index, "initial")
        return score.total if score else None

    def age(one: CaseInPlan) -> Decimal | None:
        stage = one.facts.stages.get("initial")
        return None if stage is None or stage.age_months is None else Decimal(stage.age_months)

    def slot(one: CaseInPlan) -> Decimal | None:
        return Decimal(slots[one.code])

    numbers: dict[str, tuple[Callable[[CaseInPlan], Decimal | None], int]] = {
        "slots": (slot, 1),
        "complexity_rising": (complexity, 1),
        "complexity_falling": (complexity, -1),
        "age_rising": (age, 1),
        "age_falling": (age, -1),
    }
    if name not in numbers:
        return lambda one: (0, one.code)
    number, sign = numbers[name]
    return lambda one: _last_if_unknown(number(one), sign)


def _last_if_unknown(value: Decimal | None, sign: int) -> tuple[int, Decimal]:
    return (1, Decimal(0)) if value is None else (0, sign * value)
