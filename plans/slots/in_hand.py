"""A portfolio with its plan in hand: cases held against slots, what its owner has placed, and the choice to be made."""

from collections.abc import Mapping
from dataclasses import dataclass
from datetime import date

from plans import weighing
from plans.document import Slot
from plans.selection import ChoiceProblem
from plans.selectors import HeldPlan
from plans.selectors.facts import CaseInPlan, Placed, cases_in_plan
from plans.weighing import Cell
from portfolio.access import Asker
from portfolio.models import CaseState, Portfolio


@dataclass(frozen=True, slots=True)
class InHand:
    """What every page of slots starts from; `placed` and `set_aside` are by case code."""

    held: HeldPlan
    notation: str
    cases: tuple[CaseInPlan, ...]
    table: Mapping[tuple[str, str], Cell]
    placed: Mapping[str, Placed]
    set_aside: Mapping[str, str]
    """Cases that are not chosen, with the reason in words: left out by their owner, or shut."""
    problem: ChoiceProblem

    @property
    def slots(self) -> tuple[Slot, ...]:
        return self.held.plan.slots

    def case(self, code: str) -> CaseInPlan:
        """The case of a code; KeyError where there is none."""
        for one in self.cases:
            if one.code == code:
                return one
        raise KeyError(code)


def in_hand(user: Asker, portfolio: Portfolio, held: HeldPlan, today: date) -> InHand:
    """A visible portfolio held against its plan; the number of queries does not grow with the cases."""
    cases = cases_in_plan(
        user, portfolio, held.plan, today=today, held=held.pk, submission_on=held.submission_on
    )
    placed = {one.code: one.placed for one in cases if one.placed}
    set_aside = _set_aside(cases, placed)
    facts = [one.facts for one in cases]
    table = weighing.cells(held.plan, facts)
    known = {slot.key for slot in held.plan.slots}
    problem = weighing.problem_of(
        held.plan,
        facts,
        table,
        fixed={code: one.slot for code, one in placed.items() if one.fixed and one.slot in known},
        excluded=set_aside,
    )
    return InHand(held, portfolio.notation, cases, table, placed, set_aside, problem)


def _set_aside(cases: tuple[CaseInPlan, ...], placed: Mapping[str, Placed]) -> dict[str, str]:
    found: dict[str, str] = {}
    for one in cases:
        by_hand = placed.get(one.code)
        if one.shut:
            found[one.code] = "shut while you measure it again"
        elif one.accepted:
            found[one.code] = f"accepted in {one.accepted}"
        elif by_hand is not None and not by_hand.fixed:
            found[one.code] = f"excluded: {by_hand.reason}" if by_hand.reason else "excluded"
        elif one.state == CaseState.LEFT_OUT and not (by_hand and by_hand.fixed):
            found[one.code] = "its state is left out"
    return found
