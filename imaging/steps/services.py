"""The history of one row: which requests were answered, what may be undone, and what undoing changes."""

from typing import Any, TypeVar

from django.db.models import QuerySet

from imaging.steps.history import Steps, steps_of
from imaging.steps.models import SavedStep, StepAction
from portfolio.services.saving import ChangedMeanwhile

Step = TypeVar("Step", bound=SavedStep)


def answered(steps: QuerySet[Step], request_key: str) -> bool:
    """Whether this request was written before."""
    return steps.filter(request_key=request_key).exists()


def history(steps: QuerySet[Step]) -> Steps:
    """Which change may be undone and which done again."""
    return steps_of(steps.order_by("number").values_list("number", "action", "undoes"))


def items_of(steps: QuerySet[Step], action: StepAction, number: int) -> list[dict[str, Any]]:
    """What undoing or doing again the change of this number changes.

    Raises ChangedMeanwhile when that change is no longer the one whose turn it is.
    """
    turn = history(steps)
    back = action == StepAction.UNDO
    change = steps.filter(number=number).first()
    if change is None or number != (turn.undo if back else turn.redo):
        raise ChangedMeanwhile
    before, after = ("new", "old") if back else ("old", "new")
    return [{"name": one["name"], "old": one[before], "new": one[after]} for one in change.items]
