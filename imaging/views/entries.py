"""What the forms of operations show: what was typed, and beside it what is wrong with it."""

from collections.abc import Mapping
from dataclasses import dataclass

from imaging.operations import EDGES, OperationRefused


@dataclass(frozen=True, slots=True)
class Entry:
    """One field: its name, label, what stands in it and the fault beside it (may be empty)."""

    name: str
    label: str
    value: str
    fault: str = ""


@dataclass(frozen=True, slots=True)
class EdgesForm:
    """The fields of crop or mask; `shown` when the form was sent and came back."""

    edges: tuple[Entry, ...]
    shown: bool = False
    outside: bool = False
    outside_fault: str = ""


@dataclass(frozen=True, slots=True)
class OperationForms:
    """All forms of operations on the page of one picture."""

    brightness: Entry
    crop: EdgesForm
    mask: EdgesForm


def forms(given: Mapping[str, str] | None = None, refused: OperationRefused | None = None) -> OperationForms:
    """Empty forms, or with what was given and refused."""
    kind = given.get("kind", "") if given else ""

    def entry(name: str, label: str, usual: str, form: str) -> Entry:
        if given is None or kind != form:
            return Entry(name, label, usual)
        fault = str(refused) if refused is not None and refused.field == name else ""
        return Entry(name, label, given.get(name, ""), fault)

    def edges(form: str) -> EdgesForm:
        fields = tuple(entry(name, name.capitalize(), "0", form) for name in EDGES)
        if given is None or kind != form:
            return EdgesForm(fields)
        fault = str(refused) if refused is not None and refused.field == "outside" else ""
        return EdgesForm(fields, True, given.get("outside") == "on", fault)

    return OperationForms(
        entry("per_cent", "Overall brightness", "110", "brightness"), edges("crop"), edges("mask")
    )
