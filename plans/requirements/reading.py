"""Conditions from JSON: every fault of a condition and of all conditions inside it is told together, with its path.  Pure."""

from collections.abc import Callable, Mapping, Sequence
from decimal import Decimal
from typing import Any

from plans.requirements.requirement import Field, Requirement
from portfolio import teeth
from portfolio.finding_sheet import Fault
from portfolio.quantity import NUMBER, unprintable

MOST_TEXT = 300
MOST_PARTS = 20
DEEPEST = 6
Kinds = Mapping[str, type[Requirement]]


class RequirementRefused(ValueError):
    """A condition was not taken; carries every fault found, each with the path where it stands."""

    def __init__(self, faults: Sequence[Fault]) -> None:
        self.faults = tuple(faults)
        super().__init__("; ".join(str(fault) for fault in self.faults))


class _Unread(Exception):
    """A value that cannot be taken; its message says why."""


def read_into(kinds: Kinds, data: Any, path: str, faults: list[Fault], depth: int = 1) -> Requirement | None:
    """The condition at a path, or None with what is wrong added to `faults`."""
    if not isinstance(data, dict):
        faults.append(Fault(path, "is not a condition: an object with a kind is expected"))
        return None
    kind = data.get("kind")
    found = kinds.get(kind) if isinstance(kind, str) else None
    if found is None:
        said = f'"{kind[:40]}" is not a kind of condition' if isinstance(kind, str) else "has no kind"
        faults.append(Fault(f"{path}.kind", f"{said}; allowed: {', '.join(kinds)}"))
        return None
    before = len(faults)
    allowed = tuple(field.key for field in found.FIELDS)
    for key in data:
        if key != "kind" and key not in allowed:
            faults.append(
                Fault(
                    f"{path}.{key[:40]}",
                    f"is not a field of {found.kind}; allowed: {', '.join(allowed) or 'none'}",
                )
            )
    values: dict[str, Any] = {}
    for field in found.FIELDS:
        values[field.key] = _read_field(kinds, field, data, path, faults, depth)
    if len(faults) == before:
        faults += [Fault(f"{path}.{key}", said) for key, said in found.faults(values)]
    return found(**values) if len(faults) == before else None


def _read_field(
    kinds: Kinds, field: Field, data: Mapping[str, Any], path: str, faults: list[Fault], depth: int
) -> Any:
    here = f"{path}.{field.key}"
    value = data.get(field.key)
    if value is None or value == [] or value == "":
        if field.required and field.default is None:
            faults.append(Fault(here, f"is required: {field.label}"))
        return field.default if field.default is not None else _NOTHING.get(field.takes)
    if field.takes in ("condition", "conditions"):
        return _read_inner(kinds, field, value, here, faults, depth)
    try:
        return _READERS[field.takes](field, value)
    except _Unread as error:
        faults.append(Fault(here, str(error)))
        return None


def _read_inner(kinds: Kinds, field: Field, value: Any, here: str, faults: list[Fault], depth: int) -> Any:
    if depth >= DEEPEST:
        faults.append(Fault(here, f"conditions stand inside each other at most {DEEPEST} deep"))
        return None
    if field.takes == "condition":
        return read_into(kinds, value, here, faults, depth + 1)
    if not isinstance(value, list):
        faults.append(Fault(here, "is not a list of conditions"))
        return None
    if len(value) > MOST_PARTS:
        faults.append(Fault(here, f"has {len(value)} conditions; at most {MOST_PARTS} are taken"))
        return None
    return tuple(read_into(kinds, one, f"{here}[{i}]", faults, depth + 1) for i, one in enumerate(value))


def _choice(field: Field, value: Any) -> str:
    if isinstance(value, str) and value in field.words:
        return value
    shown = f'"{value[:40]}"' if isinstance(value, str) else "this"
    raise _Unread(f"{shown} is not allowed; allowed: {', '.join(field.words)}")


def _choices(field: Field, value: Any) -> tuple[str, ...]:
    if not isinstance(value, list):
        raise _Unread(f"is not a list; allowed in it: {', '.join(field.words)}")
    taken = {_choice(field, one) for one in value}
    if len(taken) != len(value):
        raise _Unread("names something twice")
    return tuple(key for key in field.words if key in taken)


def _number(field: Field, value: Any) -> Decimal:
    if not isinstance(value, str) or not NUMBER.match(value) or len(value) > 9:
        raise _Unread('is not a number in quotation marks with at most two decimals, such as "20" or "3.5"')
    # Adding 0 makes −0 plain 0, so that equal conditions are written alike.
    return _within(field, Decimal(value) + 0)


def _whole(field: Field, value: Any) -> int:
    if isinstance(value, bool) or not isinstance(value, int):
        raise _Unread(f"is not a whole number{_range(field)}")
    return int(_within(field, Decimal(value)))


def _within(field: Field, number: Decimal) -> Decimal:
    if (field.least is not None and number < field.least) or (field.most is not None and number > field.most):
        raise _Unread(f"{number} is out of range{_range(field)}")
    return number


def _range(field: Field) -> str:
    spaced = f" {field.unit}" if field.unit else ""
    if field.least is not None and field.most is not None:
        return f"; allowed: {field.least} to {field.most}{spaced}"
    return f"; allowed: {field.least}{spaced} or more" if field.least is not None else ""


def _flag(_field: Field, value: Any) -> bool:
    if not isinstance(value, bool):
        raise _Unread("is neither true nor false")
    return value


def _teeth(_field: Field, value: Any) -> tuple[str, ...]:
    if not isinstance(value, list) or not all(isinstance(tooth, str) for tooth in value):
        raise _Unread("is not a list of teeth in quotation marks")
    for tooth in value:
        if not teeth.is_tooth(tooth):
            raise _Unread(f'"{tooth[:40]}" is not an ISO 3950 tooth (11 to 48, 51 to 85)')
    if len(set(value)) != len(value):
        raise _Unread("names a tooth twice")
    return teeth.in_order(value)


def _text(_field: Field, value: Any) -> str:
    if not isinstance(value, str) or unprintable(value):
        raise _Unread("is not one line of plain text")
    if len(value) > MOST_TEXT:
        raise _Unread(f"has {len(value)} characters; at most {MOST_TEXT} are taken")
    return value


_NOTHING: Mapping[str, Any] = {
    "choices": (),
    "teeth": (),
    "conditions": (),
    "text": "",
    "choice": "",
    "flag": False,
}
_READERS: Mapping[str, Callable[[Field, Any], Any]] = {
    "choice": _choice,
    "choices": _choices,
    "number": _number,
    "whole": _whole,
    "months": _whole,
    "flag": _flag,
    "teeth": _teeth,
    "text": _text,
}
