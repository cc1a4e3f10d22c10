"""Steps that reshape a form before it is saved: a condition or row more or less, up, down, a group round it.  Pure.

A step is `verb:path`, such as `add:condition.of` or `up:records[1]`.  Paths are names of fields.  A step that does
not fit what was sent changes nothing: the page is shown as it was.
"""

import copy
import json
import re
from collections.abc import Callable, Mapping, Sequence
from typing import Any

from plans.editing.parts import Part, Rows
from plans.editing.typed import EMPTY, Tree, fresh, of_kind, parts_of

REMOVED = "removed"
"""Key beside the parts, under which the last condition or row that was taken out waits to be put back."""
STEP = re.compile(r"(add|also|wrap|remove|up|down):([a-z_.\[\]0-9]{1,200})", re.ASCII)
KIND_CHOSEN = re.compile(r"kind:([a-z_.\[\]0-9]{1,200})", re.ASCII)
"""Another kind was chosen for the condition at the path; the fields that were sent say which."""
_TOKEN = re.compile(r"([a-z_]+)(?:\[([0-9]{1,2})\])?", re.ASCII)


class _NoSuchPlace(LookupError):
    """A path that leads nowhere in the tree."""


def after(tree: Tree, parts: Sequence[Part], step: str) -> Tree:
    """The tree after a step, or an equal one where the step does not fit."""
    changed = copy.deepcopy(tree)
    found = STEP.fullmatch(step)
    try:
        if step == "back":
            _put_back(changed, parts)
        elif found:
            _STEPS[found[1]](changed, parts, found[2])
    except _NoSuchPlace:
        return tree
    return changed


def focus_after(before: Tree, tree: Tree, parts: Sequence[Part], step: str) -> str:
    """Where the keyboard goes on after a step that led from one tree to another: the name of a condition or field, or
    the step of a button; empty where nothing changed."""
    found = STEP.fullmatch(step)
    if chosen := KIND_CHOSEN.fullmatch(step):
        return chosen[1]
    if tree == before or not (found or step == "back"):
        return ""
    if found is None:
        return str(json.loads(before[REMOVED])["at"])
    verb, path = found[1], found[2]
    if verb == "remove":
        return "back" if tree.get(REMOVED) else ""
    if verb in _MOVES:
        return _moved_button(tree, verb, path)
    held, place = _holder(tree, path)
    value = held[place]
    if verb in ("also", "wrap"):
        return f"{path}.of[{len(value['of']) - 1}]"
    if not isinstance(value, list):
        return path
    rows = None if "kind" in held else _rows(parts, str(place))
    return f"{path}[{len(value) - 1}]{f'.{rows.parts[0].key}' if rows else ''}"


def _moved_button(tree: Tree, verb: str, path: str) -> str:
    """The same button of what was moved, as long as it can go on; the other one at the end of the way."""
    start, _, number = path[:-1].rpartition("[")
    place = int(number) + _MOVES[verb]
    held, _ = _holder(tree, f"{start}[{place}]")
    ends = {"up": place == 0, "down": place == len(held) - 1}
    turned = {"up": "down", "down": "up"}[verb] if ends[verb] else verb
    return f"{turned}:{start}[{place}]"


def _tokens(path: str) -> list[str | int]:
    tokens: list[str | int] = []
    for piece in path.split("."):
        found = _TOKEN.fullmatch(piece)
        if not found:
            raise _NoSuchPlace(path)
        tokens.append(found[1])
        if found[2] is not None:
            tokens.append(int(found[2]))
    return tokens


def _holder(tree: Tree, path: str) -> tuple[Any, str | int]:
    """What holds the place, a tree or a list, and the key or number of the place in it."""
    *way, last = _tokens(path)
    held: Any = tree
    for token in way:
        held = _at(held, token)
    if isinstance(last, int) and not (isinstance(held, list) and last < len(held)):
        raise _NoSuchPlace(path)
    if isinstance(last, str) and not (isinstance(held, dict) and last in held):
        raise _NoSuchPlace(path)
    return held, last


def _at(held: Any, token: str | int) -> Any:
    if isinstance(held, dict) and isinstance(token, str) and token in held:
        return held[token]
    if isinstance(held, list) and isinstance(token, int) and token < len(held):
        return held[token]
    raise _NoSuchPlace(str(token))


def _node(tree: Tree, path: str) -> tuple[Any, str | int, Tree]:
    held, place = _holder(tree, path)
    node = held[place]
    if not isinstance(node, dict) or "kind" not in node:
        raise _NoSuchPlace(path)
    return held, place, node


def _add(tree: Tree, parts: Sequence[Part], path: str) -> None:
    """A condition where there is none yet, one more in a group, or one more row."""
    held, place = _holder(tree, path)
    if held[place] is None:
        held[place] = dict(EMPTY)
    elif isinstance(held[place], list) and (rows := _rows(parts, str(place))):
        held[place].append(fresh(rows.parts))
    elif isinstance(held[place], list) and "kind" in held:
        held[place].append(dict(EMPTY))
    else:
        raise _NoSuchPlace(path)


def _rows(parts: Sequence[Part], key: str) -> Rows | None:
    return next((part for part in parts if isinstance(part, Rows) and part.key == key), None)


def _also(tree: Tree, parts: Sequence[Part], path: str) -> None:
    """One condition more, of which all have to be met: a single one becomes a group of two."""
    held, place, node = _node(tree, path)
    if node["kind"] == "all":
        node["of"].append(dict(EMPTY))
    else:
        held[place] = {"kind": "all", "of": [node, dict(EMPTY)]}


def _wrap(tree: Tree, parts: Sequence[Part], path: str) -> None:
    """Another one as its alternative: the condition becomes a group of which one is enough."""
    held, place, node = _node(tree, path)
    held[place] = of_kind(node, "any") if node["kind"] != "any" else node
    if node["kind"] == "any":
        node["of"].append(dict(EMPTY))


def _remove(tree: Tree, parts: Sequence[Part], path: str) -> None:
    held, place = _holder(tree, path)
    gone = held[place]
    if isinstance(held, list) and isinstance(gone, dict):
        del held[int(place)]
    elif isinstance(gone, dict) and "kind" in gone:
        held[place] = None
    else:
        raise _NoSuchPlace(path)
    tree[REMOVED] = json.dumps({"at": path, "what": gone}) if gone != EMPTY else ""


def _put_back(tree: Tree, parts: Sequence[Part]) -> None:
    """What the last step took out stands in its place again, as far as that place is still there."""
    try:
        kept = json.loads(tree.get(REMOVED) or "null")
        path, gone = kept["at"], kept["what"]
        *way, last = _tokens(path)
    except (ValueError, TypeError, KeyError, AttributeError, RecursionError):
        raise _NoSuchPlace(REMOVED) from None
    held: Any = tree
    for token in way:
        held = _at(held, token)
    if isinstance(held, list) and isinstance(last, int):
        held.insert(last, gone)
    elif isinstance(held, dict) and last in held and held[last] is None:
        held[last] = gone
    else:
        raise _NoSuchPlace(path)
    # It comes from the page, so anybody may have written it.
    if not _fits(tree, parts):
        raise _NoSuchPlace(path)
    tree[REMOVED] = ""


def _fits(tree: Any, parts: Sequence[Part], *beside: str) -> bool:
    """Whether this is a tree of these parts."""
    if not isinstance(tree, dict) or set(tree) - {REMOVED, *beside} != {part.key for part in parts}:
        return False
    return all(_value_fits(tree[part.key], part) for part in parts)


def _value_fits(value: Any, part: Part) -> bool:
    if isinstance(part, Rows):
        return isinstance(value, list) and all(_fits(one, part.parts) for one in value)
    match part.takes:
        case "condition":
            return value is None or _is_condition(value)
        case "conditions":
            return isinstance(value, list) and all(_is_condition(one) for one in value)
        case "choices":
            return isinstance(value, list) and all(isinstance(one, str) for one in value)
    return isinstance(value, str)


def _is_condition(value: Any) -> bool:
    kind = value.get("kind") if isinstance(value, dict) else None
    return isinstance(kind, str) and _fits(value, parts_of(kind), "kind")


def _moved(by: int) -> Callable[[Tree, Sequence[Part], str], None]:
    def move(tree: Tree, parts: Sequence[Part], path: str) -> None:
        held, place = _holder(tree, path)
        if not isinstance(held, list) or not isinstance(place, int) or not 0 <= place + by < len(held):
            raise _NoSuchPlace(path)
        held[place], held[place + by] = held[place + by], held[place]

    return move


_MOVES: Mapping[str, int] = {"up": -1, "down": 1}
_STEPS: Mapping[str, Callable[[Tree, Sequence[Part], str], None]] = {
    "add": _add,
    "also": _also,
    "wrap": _wrap,
    "remove": _remove,
    "up": _moved(_MOVES["up"]),
    "down": _moved(_MOVES["down"]),
}
