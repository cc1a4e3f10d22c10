"""What was typed into a form of a plan, as a tree of texts; and plan data made of it.  Pure.

A tree is a dict of the keys of its parts: a text, a list of texts (`choices`), a list of trees (rows and
`conditions`), a tree or None (`condition`).  The tree of a condition has its `kind` beside.  What was typed stays as
it was typed, right or wrong, so that it can be shown again.
"""

import re
from collections.abc import Mapping, Sequence
from typing import Any, Protocol, cast

from plans.editing.parts import Part, Rows, is_age
from plans.requirements import KINDS, Field
from plans.requirements.reading import DEEPEST, MOST_PARTS
from portfolio.ages import AgeRefused, age_text, read_age
from portfolio.finding_sheet import Fault
from portfolio.quantity import NUMBER

Tree = dict[str, Any]
MINUS = str.maketrans({"−": "-", "–": "-", ",": "."})
WHOLE = re.compile(r"[0-9]{1,6}", re.ASCII)
EMPTY: Mapping[str, str] = {"kind": ""}
"""A condition of which not even the kind has been chosen."""


class Sent(Protocol):
    """The fields of a form as they were sent."""

    def getlist(self, key: str) -> list[str]: ...

    def __contains__(self, key: object) -> bool: ...


def under(path: str, key: str) -> str:
    return f"{path}.{key}" if path else key


def parts_of(kind: str) -> tuple[Field, ...]:
    """The fields of a kind of condition; none for an unknown one."""
    return KINDS[kind].FIELDS if kind in KINDS else ()


def fresh(parts: Sequence[Part]) -> Tree:
    """A tree in which only the defaults stand."""
    return {part.key: _fresh(part) for part in parts}


def _fresh(part: Part) -> Any:
    if isinstance(part, Rows):
        return []
    match part.takes:
        case "condition":
            return None if not part.required else dict(EMPTY)
        case "conditions":
            return [dict(EMPTY), dict(EMPTY)]
        case "choices":
            return list(part.default or ())
        case "teeth":
            return " ".join(part.default or ())
        case "flag":
            return "on" if part.default else ""
    return "" if part.default is None else str(part.default)


def fresh_condition(kind: str) -> Tree:
    return {"kind": kind, **fresh(parts_of(kind))}


# --- from plan data -------------------------------------------------------------------------------------------


def from_data(data: Mapping[str, Any], parts: Sequence[Part]) -> Tree:
    """The tree of what is stored."""
    return {part.key: _from_value(part, data.get(part.key)) for part in parts}


def _from_value(part: Part, value: Any) -> Any:
    if isinstance(part, Rows):
        return [from_data(one, part.parts) for one in value or ()]
    if value is None and part.takes in ("flag", "choice"):
        return _fresh(part)
    match part.takes:
        case "condition":
            return None if value is None else _condition_from(value)
        case "conditions":
            return [_condition_from(one) for one in value or ()]
        case "choices":
            return list(value or ())
        case "teeth":
            return " ".join(value or ())
        case "flag":
            return "on" if value else ""
    if value is None:
        return ""
    return age_text(value) if is_age(part) else str(value)


def _condition_from(data: Mapping[str, Any]) -> Tree:
    return {"kind": data["kind"], **from_data(data, parts_of(data["kind"]))}


# --- from a form ----------------------------------------------------------------------------------------------


def from_sent(sent: Sent, parts: Sequence[Part], path: str = "", depth: int = 1) -> Tree:
    """The tree of what was sent under a path."""
    return {part.key: _sent_value(sent, part, under(path, part.key), depth) for part in parts}


def _sent_value(sent: Sent, part: Part, here: str, depth: int) -> Any:
    if isinstance(part, Rows):
        places = range(_count(sent, here))
        return [from_sent(sent, part.parts, f"{here}[{place}]", depth) for place in places]
    match part.takes:
        case "condition":
            return _sent_condition(sent, here, depth)
        case "conditions":
            places = range(_count(sent, here))
            return [_sent_condition(sent, f"{here}[{place}]", depth) or dict(EMPTY) for place in places]
        case "choices":
            return sent.getlist(here)
        case "flag":
            return "on" if here in sent else ""
    return _one(sent, here)


def _sent_condition(sent: Sent, here: str, depth: int) -> Tree | None:
    """The condition at a path.  One whose kind was chosen anew takes over what fits from the one before."""
    if f"{here}.kind" not in sent or depth > DEEPEST + 1:
        return None
    kind, was = _one(sent, f"{here}.kind"), _one(sent, f"{here}.was")
    found = {"kind": was, **from_sent(sent, parts_of(was), here, depth + 1)}
    return found if kind == was else of_kind(found, kind)


def _one(sent: Sent, name: str) -> str:
    found = sent.getlist(name)
    return found[-1] if found else ""


def _count(sent: Sent, here: str) -> int:
    typed = _one(sent, f"{here}.count")
    return min(int(typed), MOST_PARTS + 1) if WHOLE.fullmatch(typed) else 0


def of_kind(node: Tree, kind: str) -> Tree:
    """The condition as one of another kind: what both kinds hold stays; a group takes a single condition in."""
    made = fresh_condition(kind)
    before = {field.key: field for field in parts_of(node["kind"])}
    inner = inside(node) or ([node] if node["kind"] else [])
    for field in parts_of(kind):
        if field.takes == "conditions":
            made[field.key] = inner + [dict(EMPTY) for _ in range(max(2 - len(inner), 0))]
        elif field.takes == "condition":
            made[field.key] = inner[0] if inner else dict(EMPTY)
        elif field.key in before and before[field.key].takes == field.takes:
            value = node[field.key]
            if field.takes != "choice" or value in field.words:
                made[field.key] = value
    return made


def inside(node: Tree) -> list[Tree]:
    """The conditions that one holds."""
    found: list[Tree] = []
    for field in parts_of(node["kind"]):
        if field.takes == "conditions":
            found += node[field.key]
        elif field.takes == "condition" and node[field.key] is not None:
            found.append(node[field.key])
    return found


# --- to plan data ---------------------------------------------------------------------------------------------


class _NotTyped(Exception):
    """A text that is not what its field takes; the message says what is."""


def to_data(tree: Tree, parts: Sequence[Part], faults: list[Fault], path: str = "") -> dict[str, Any]:
    """Plan data of a tree; texts that are none of a field are left out and told, with the name of the field."""
    data: dict[str, Any] = {}
    for part in parts:
        here = under(path, part.key)
        value = _value(part, tree[part.key], here, faults)
        if value not in (None, "", []):
            data[part.key] = value
    return data


def _value(part: Part, typed: Any, here: str, faults: list[Fault]) -> Any:
    if isinstance(part, Rows):
        return [to_data(one, part.parts, faults, f"{here}[{place}]") for place, one in enumerate(typed)]
    match part.takes:
        case "condition":
            return None if typed is None else condition_data(typed, here, faults)
        case "conditions":
            return [condition_data(one, f"{here}[{place}]", faults) for place, one in enumerate(typed)]
        case "choices":
            return list(typed)
        case "flag":
            return bool(typed)
    text = cast(str, typed).strip()
    if not text:
        return None
    try:
        return _text_value(part, text)
    except _NotTyped as refusal:
        faults.append(Fault(here, str(refusal)))
        return None


def condition_data(node: Tree, here: str, faults: list[Fault]) -> dict[str, Any]:
    """Plan data of one condition."""
    if not node["kind"]:
        faults.append(Fault(f"{here}.kind", "choose what is asked for, or remove this condition"))
    return {"kind": node["kind"], **to_data(node, parts_of(node["kind"]), faults, here)}


def _text_value(part: Field, text: str) -> Any:
    match part.takes:
        case "number":
            number = text.translate(MINUS).replace(" ", "")
            if not NUMBER.match(number):
                raise _NotTyped(f"“{text[:40]}” is not a number; write 20 or 3.5")
            return number
        case "whole" | "months":
            if is_age(part):
                return _age(text)
            if not WHOLE.fullmatch(text):
                raise _NotTyped(
                    f"“{text[:40]}” is not a whole number{f' of {part.unit}' if part.unit else ''}"
                )
            return int(text)
        case "teeth":
            return re.split(r"[\s,;]+", text)
    return text


def _age(text: str) -> int:
    try:
        return read_age(text)
    except AgeRefused as refusal:
        raise _NotTyped(str(refusal).rstrip(".")) from None
