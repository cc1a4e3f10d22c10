"""What differs between two plans, part by part, in sentences.  Pure.

Slots, rules and windows are the same where their keys are the same.  Rules about records have no keys: they are
compared by what they say.
"""

from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from typing import Literal

from plans.document import Plan
from plans.outline import Entry, Outline, outline

Kind = Literal["added", "removed", "changed", "moved"]


@dataclass(frozen=True, slots=True)
class Difference:
    """One part that is in one plan only or says something else.

    `old` and `new` are the sentences that stand in one of them only; for `moved` the labels in their order.
    """

    what: str
    label: str
    kind: Kind
    old: tuple[str, ...] = ()
    new: tuple[str, ...] = ()


def differences(old: Plan, new: Plan) -> tuple[Difference, ...]:
    """Everything that differs, in the order of the newer plan; empty where both say the same."""
    before, after = outline(old), outline(new)
    return tuple(_all(before, after))


def _all(before: Outline, after: Outline) -> Iterator[Difference]:
    yield from _text("Name", (before.name,), (after.name,))
    yield from _text("About", before.about, after.about)
    yield from _parts("Slot", before.slots, after.slots)
    yield from _parts("Rule over the choice", before.groups, after.groups)
    yield from _parts("Window", before.windows, after.windows)
    yield from _text("Records of every case", _said(before.records), _said(after.records))
    yield from _text("Order of the cases", (before.order,), (after.order,))
    yield from _text("Other instructions", before.text, after.text)


def _said(entries: Sequence[Entry]) -> tuple[str, ...]:
    return tuple(line for entry in entries for line in entry.lines)


def _text(what: str, old: tuple[str, ...], new: tuple[str, ...]) -> Iterator[Difference]:
    if old == new:
        return
    gone, come = _only(old, new), _only(new, old)
    kind: Kind = "changed" if old and new else "added" if new else "removed"
    if gone or come:
        yield Difference(what, "", kind, gone, come)
    else:
        yield Difference(what, "", "moved", old, new)


def _parts(what: str, old: Sequence[Entry], new: Sequence[Entry]) -> Iterator[Difference]:
    before, after = {one.key: one for one in old}, {one.key: one for one in new}
    for key, entry in after.items():
        if key not in before:
            yield Difference(what, entry.label, "added", (), entry.lines)
        elif before[key] != entry:
            yield _changed(what, before[key], entry)
    for key, entry in before.items():
        if key not in after:
            yield Difference(what, entry.label, "removed", entry.lines)
    stayed = [key for key in before if key in after]
    order = [key for key in after if key in before]
    if stayed != order:
        yield Difference(
            f"Order of the {what.lower()}s",
            "",
            "moved",
            tuple(after[key].label for key in stayed),
            tuple(after[key].label for key in order),
        )


def _changed(what: str, old: Entry, new: Entry) -> Difference:
    gone, come = _only(old.lines, new.lines), _only(new.lines, old.lines)
    if old.label != new.label:
        gone, come = (f"Called “{old.label}”.", *gone), (f"Called “{new.label}”.", *come)
    if not gone and not come:
        # The same sentences in another order.
        gone, come = old.lines, new.lines
    return Difference(what, new.label or old.label, "changed", gone, come)


def _only(lines: Sequence[str], others: Sequence[str]) -> tuple[str, ...]:
    known = set(others)
    return tuple(line for line in lines if line not in known)
