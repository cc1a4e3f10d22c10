"""The limits that a plan sets for the total of an index, for pages that tell how sure a score is."""

from collections.abc import Iterable
from dataclasses import dataclass
from decimal import Decimal

from plans.requirements import walk
from plans.requirements.scores import IndexTotal
from plans.selectors.held import held_plan
from portfolio.access import Asker
from portfolio.models import Portfolio


@dataclass(frozen=True, slots=True)
class PlanLimit:
    """One limit with the label of the slot or rule that sets it; both bounds are included."""

    label: str
    at_least: Decimal | None
    at_most: Decimal | None


def limits_for(user: Asker, portfolio: Portfolio, index: str, stage: str) -> tuple[PlanLimit, ...]:
    """The limits of the plan that a visible portfolio is held against, in the order of its slots, each once."""
    held = held_plan(user, portfolio)
    if held is None:
        return ()
    named = [(slot.label, slot.condition) for slot in held.plan.slots if slot.condition]
    named += [(group.label, group.condition) for group in held.plan.groups]
    found: dict[tuple[Decimal | None, Decimal | None], list[str]] = {}
    for label, condition in named:
        for one in _totals(walk(condition), index, stage):
            labels = found.setdefault((one.at_least, one.at_most), [])
            if label not in labels:
                labels.append(label)
    return tuple(PlanLimit("; ".join(labels), *bounds) for bounds, labels in found.items())


def _totals(conditions: Iterable[object], index: str, stage: str) -> Iterable[IndexTotal]:
    for one in conditions:
        if isinstance(one, IndexTotal) and (one.index, one.stage) == (index, stage):
            yield one
