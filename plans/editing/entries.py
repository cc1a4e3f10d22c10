"""The entries of a plan's data one by one: found, put in, taken out, moved; each result is read as a whole plan.  Pure.

An entry is named by its section and its `item`: the key of a slot, rule or window, the place of a record rule,
`plan` for the plan as a whole, `new` for one that is not there yet.
"""

import copy
import re
from collections.abc import Mapping, Sequence
from typing import Any

from plans import plan_file
from plans.document import Plan
from plans.editing.parts import ABOUT, GROUP, RECORD, SECTIONS, SLOT, WINDOW
from plans.editing.typed import Tree, fresh, from_data, to_data
from plans.plan_file import PlanRefused
from portfolio.finding_sheet import Fault

NEW = "new"
WHOLE = "plan"
Data = Mapping[str, Any]
KEY_STEMS: Mapping[str, str] = {SLOT.key: "slot", GROUP.key: "rule", WINDOW.key: "window"}
LISTS = frozenset({SLOT.key, GROUP.key, WINDOW.key, RECORD.key})


class NoEntry(LookupError):
    """The plan has no such entry (any more)."""


def place_of(draft: Data, section: str, item: str) -> int:
    """The place of an entry in its list; that behind the last one for a new one.  NoEntry where there is none."""
    rows: Sequence[Data] = draft.get(section, ())
    if section not in LISTS:
        raise NoEntry(section)
    if item == NEW:
        return len(rows)
    for place, row in enumerate(rows):
        if item == (str(place) if section == RECORD.key else row["key"]):
            return place
    raise NoEntry(item)


def tree_of(draft: Data, section: str, item: str) -> Tree:
    """The form of an entry as it is stored, or with defaults for a new one."""
    parts = SECTIONS[section].parts
    if section == ABOUT.key:
        if item != WHOLE:
            raise NoEntry(item)
        return from_data({**draft, "order": [{"by": by} for by in draft.get("order", ())]}, parts)
    place = place_of(draft, section, item)
    if item != NEW:
        return from_data(draft[section][place], parts)
    tree = fresh(parts)
    if section == WINDOW.key:
        tree["limits"] = [
            fresh(part.parts) for part in parts if part.key == "limits" and hasattr(part, "parts")
        ]
    return tree


def label_of(draft: Data, section: str, item: str) -> str:
    """What an entry is called in a sentence: `slot “A”`, `record rule 2`."""
    one = SECTIONS[section].one
    if section == ABOUT.key:
        return "the plan as a whole"
    place = place_of(draft, section, item)
    if item == NEW:
        return f"new {one}"
    label = draft[section][place].get("label", "")
    return f"{one} “{label}”" if label else f"{one} {place + 1}"


def with_tree(draft: Data, section: str, item: str, tree: Tree) -> tuple[Plan | None, list[Fault]]:
    """The plan with what was typed for an entry; None with every fault, named by the field or "" for the whole."""
    faults: list[Fault] = []
    data = to_data(tree, SECTIONS[section].parts, faults)
    if section == ABOUT.key:
        changed = _with_about(draft, data, item)
        prefix = ""
    else:
        place = place_of(draft, section, item)
        changed = dict(copy.deepcopy(dict(draft)))
        rows = changed.setdefault(section, [])
        if section != RECORD.key:
            data = {"key": _new_key(draft, section) if item == NEW else rows[place]["key"], **data}
        rows[place : place + 1] = [data]
        prefix = f"{section}[{place}]."
    try:
        plan = plan_file.read_plan(changed)
    except PlanRefused as refusal:
        faults += [_to_field(fault, section, prefix) for fault in refusal.faults]
        return None, faults
    return (None if faults else plan), faults


def without(draft: Data, section: str, item: str) -> Plan:
    """The plan without an entry.  NoEntry; PlanRefused where it cannot be spared."""
    changed = copy.deepcopy(dict(draft))
    del changed[section][_there(draft, section, item)]
    return plan_file.read_plan(changed)


def moved(draft: Data, section: str, item: str, by: int) -> Plan:
    """The plan with an entry one place further up (-1) or down (1); NoEntry where there is no such place."""
    place = _there(draft, section, item)
    changed = copy.deepcopy(dict(draft))
    rows = changed[section]
    if not 0 <= place + by < len(rows):
        raise NoEntry(item)
    rows[place], rows[place + by] = rows[place + by], rows[place]
    return plan_file.read_plan(changed)


def _there(draft: Data, section: str, item: str) -> int:
    if item == NEW:
        raise NoEntry(item)
    return place_of(draft, section, item)


def _with_about(draft: Data, data: Data, item: str) -> dict[str, Any]:
    if item != WHOLE:
        raise NoEntry(item)
    kept = {key: value for key, value in draft.items() if key in ("plan", *LISTS)}
    order = [row.get("by", "") for row in data.get("order", ())]
    return (
        kept
        | {key: value for key, value in data.items() if key != "order"}
        | ({"order": order} if order else {})
    )


def _new_key(draft: Data, section: str) -> str:
    """A key that no entry of the list has; never one of a smaller number, which an older version may have used."""
    stem = KEY_STEMS[section]
    keys = [row["key"] for row in draft.get(section, ())]
    used = [int(found[1]) for key in keys if (found := re.fullmatch(rf"{stem}-([0-9]{{1,6}})", key))]
    return f"{stem}-{max([len(keys), *used]) + 1}"


def _to_field(fault: Fault, section: str, prefix: str) -> Fault:
    """A fault of the whole plan as one of a field of this form; those of other entries concern the form as a whole."""
    if section == ABOUT.key:
        name = re.sub(r"^(order\[[0-9]+\])$", r"\1.by", fault.where)
        known = name.partition("[")[0] in {part.key for part in ABOUT.parts}
        return Fault(name if known else "", fault.message)
    if fault.where.startswith(prefix):
        return Fault(fault.where.removeprefix(prefix), fault.message)
    return Fault("", f"{fault.where} {fault.message}")
