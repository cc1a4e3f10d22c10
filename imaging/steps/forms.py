"""What a page sends to undo or to do again, checked for shape."""

from dataclasses import dataclass

from imaging.steps.models import StepAction
from portfolio.forms.bodies import BodyRefused, read_object, request_key, whole_number


@dataclass(frozen=True, slots=True)
class StepBody:
    """The number of the change that is to be undone or done again."""

    request_key: str
    number: int
    action: StepAction


def read_step(body: bytes) -> StepBody:
    """The body of undo and of doing again; BodyRefused when it has another shape."""
    data = read_object(body)
    if data.get("action") not in (StepAction.UNDO.value, StepAction.REDO.value):
        raise BodyRefused("action must be undo or redo")
    return StepBody(request_key(data), whole_number(data, "number"), StepAction(data["action"]))
