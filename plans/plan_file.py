"""The plan file: our own open JSON form of a plan, read with all faults together, written in one canonical way.  Pure.

`{"plan": 1, "name": …, "slots": [{"key", "label", "condition", "records", "note"}], "groups", "windows", "records",
"order", "complexity", "text"}`.  Conditions are objects with a `kind` (`plans.requirements`).  Two files that say the
same have the same canonical text and so the same digest.
"""

import hashlib
import json
from collections import Counter
from collections.abc import Iterable
from typing import Any

from plans.document import ORDERS, GroupRule, Plan, RecordRule, Slot, Window
from plans.plan_reading import LIMIT_KEYS, MOST_NAME, MOST_NOTE, WINDOW_KEYS, PartReader
from plans.requirements.scores import INDEX_OPTIONS
from portfolio.finding_sheet import Fault

VERSION = 1
MOST_BYTES = 500_000
PLAN_KEYS = (
    "plan",
    "name",
    "about",
    "slots",
    "groups",
    "windows",
    "records",
    "order",
    "complexity",
    "text",
)


class PlanRefused(ValueError):
    """A plan was not taken; carries every fault found, each with the path where it stands."""

    def __init__(self, faults: Iterable[Fault]) -> None:
        self.faults = tuple(faults)
        super().__init__("; ".join(str(fault) for fault in self.faults))


def read_plan(data: Any) -> Plan:
    """A plan from JSON data; PlanRefused with every fault and its path."""
    reader = PartReader()
    top = reader.known(data, "", PLAN_KEYS)
    version = top.get("plan")
    if top and (version != VERSION or isinstance(version, bool) or not isinstance(version, int)):
        reader.fault("plan", f"must be the number {VERSION}, the version of the format")
    slots = reader.each(top, "", "slots", reader.slot)
    if top and not slots and not top.get("slots"):
        reader.fault("slots", "is required: a plan has at least one slot")
    groups = tuple(group for group in reader.each(top, "", "groups", reader.group) if group)
    windows = reader.each(top, "", "windows", reader.window)
    for path, named in (("slots", slots), ("groups", groups), ("windows", windows)):
        reader.once(path, (one.key for one in named))
    for number, group in enumerate(groups):
        if group.at_least is not None and group.at_least > len(slots):
            reader.fault(f"groups[{number}].at_least", f"{group.at_least} of {len(slots)} slots can never be")
    plan = Plan(
        reader.text(top, "", "name", MOST_NAME, required=bool(top)),
        slots,
        reader.text(top, "", "about", MOST_NOTE, lines="\n\r"),
        groups,
        windows,
        reader.each(top, "", "records", reader.record_rule),
        reader.several_of(top, "", "order", ORDERS, ("slots",)) or ("slots",),
        reader.one_of(top, "", "complexity", (key for key, _ in INDEX_OPTIONS), "discrepancy"),
        reader.text(top, "", "text", MOST_NOTE * 5, lines="\n\r"),
    )
    if reader.faults:
        raise PlanRefused(reader.faults)
    return plan


def read_text(text: str) -> Plan:
    """A plan from the text of a plan file; PlanRefused with every fault."""
    if len(text.encode(errors="surrogatepass")) > MOST_BYTES:
        raise PlanRefused([Fault("file", f"is larger than {MOST_BYTES // 1000} kB")])
    doubled: list[str] = []

    def once(pairs: list[tuple[str, Any]]) -> dict[str, Any]:
        doubled.extend(key for key, times in Counter(key for key, _ in pairs).items() if times > 1)
        return dict(pairs)

    def never(constant: str) -> Any:
        raise ValueError(f"{constant} is not a value")

    try:
        data = json.loads(text.removeprefix("\ufeff"), object_pairs_hook=once, parse_constant=never)
    except (ValueError, RecursionError) as error:
        raise PlanRefused([Fault("file", f"is not readable as JSON: {error}")]) from None
    faults = [Fault("file", f'key "{key[:40]}" stands twice in one object') for key in doubled]
    try:
        plan = read_plan(data)
    except PlanRefused as error:
        raise PlanRefused([*faults, *error.faults]) from None
    if faults:
        raise PlanRefused(faults)
    return plan


def as_json(plan: Plan) -> dict[str, Any]:
    """The canonical data: what is empty or says nothing is left out; `read_plan` gives an equal plan back."""
    return {"plan": VERSION} | _filled(
        ("name", plan.name),
        ("about", plan.about),
        ("slots", [_slot_json(slot) for slot in plan.slots]),
        ("groups", [_group_json(group) for group in plan.groups]),
        ("windows", [_window_json(window) for window in plan.windows]),
        ("records", [_record_json(rule) for rule in plan.records]),
        ("order", list(plan.order)),
        ("complexity", plan.complexity),
        ("text", plan.text),
    )


def write_text(plan: Plan) -> str:
    """The text of a plan file, indented for people."""
    return json.dumps(as_json(plan), ensure_ascii=False, indent=1) + "\n"


def digest(plan: Plan) -> str:
    """SHA-256 (64 hexadecimal digits) of the canonical JSON: sorted keys, no blanks, UTF-8."""
    canonical = json.dumps(as_json(plan), ensure_ascii=False, sort_keys=True, separators=(",", ":"))
    return hashlib.sha256(canonical.encode()).hexdigest()


def _filled(*pairs: tuple[str, Any]) -> dict[str, Any]:
    return {key: value for key, value in pairs if value is not None and value not in ("", [])}


def _slot_json(slot: Slot) -> dict[str, Any]:
    return _filled(
        ("key", slot.key),
        ("label", slot.label),
        ("condition", slot.condition and slot.condition.as_json()),
        ("records", [_record_json(rule) for rule in slot.records]),
        ("note", slot.note),
    )


def _group_json(group: GroupRule) -> dict[str, Any]:
    return _filled(
        ("key", group.key),
        ("label", group.label),
        ("condition", group.condition.as_json()),
        ("at_least", group.at_least),
        ("at_most", group.at_most),
    )


def _window_json(window: Window) -> dict[str, Any]:
    limits = [_filled(*((key, getattr(limit, key)) for key in LIMIT_KEYS)) for limit in window.limits]
    return _filled(*((key, getattr(window, key)) for key in WINDOW_KEYS if key != "limits")) | {
        "limits": limits
    }


def _record_json(rule: RecordRule) -> dict[str, Any]:
    return _filled(
        ("stage", rule.stage),
        ("records", list(rule.records)),
        ("when", rule.when and rule.when.as_json()),
    )
