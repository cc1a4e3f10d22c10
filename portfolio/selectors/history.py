"""The history of a sheet in plain words: who did what, when, and what can be taken back."""

from collections.abc import Mapping
from dataclasses import dataclass
from datetime import datetime
from typing import Any

from portfolio.models import ChangeAction, Sheet, SheetChange
from portfolio.services.sheet_writing import moved
from portfolio.wording import quantity_words, site_words, value_words

DONE = {
    ChangeAction.ENTER: "entered",
    ChangeAction.CLEAR: "cleared",
    ChangeAction.NONE_REGION: "stated free",
    ChangeAction.ACCEPT: "accepted proposed values",
    ChangeAction.IMPORT: "imported",
    ChangeAction.UNDO: "took back",
}


PARTICULAR_WORDS = {
    "method": "method",
    "medium": "medium",
    "plane": "plane",
    "note": "note",
    "sd": "deviation",
    "error_parts": "parts of the error",
    "evidence_at": "evidence",
}


@dataclass(frozen=True, slots=True)
class HistoryLine:
    """What one change did to one finding; `before` or `after` is empty where there was nothing.

    `particulars` names what changed beside an unchanged value, such as its plane or its evidence.
    """

    quantity: str
    site: str
    before: str
    after: str
    typed: str
    beside: bool
    particulars: str = ""


@dataclass(frozen=True, slots=True)
class HistoryEntry:
    """One change. `can_be_undone` only says that it stands; the undo itself may still be refused."""

    number: int
    by_name: str
    at: datetime
    done: str
    lines: tuple[HistoryLine, ...]
    undoes: int | None
    undone_by: int | None

    @property
    def can_be_undone(self) -> bool:
        return self.undone_by is None


def history(sheet: Sheet, notation: str = "iso3950") -> tuple[HistoryEntry, ...]:
    """All changes of a sheet, newest first, in one query."""
    rows = SheetChange.objects.filter(sheet=sheet).select_related("by", "undoes").order_by("-number")
    changes = list(rows)
    undone = {change.undoes.number: change.number for change in reversed(changes) if change.undoes}
    return tuple(_entry(change, undone, notation) for change in changes)


def last_import(sheet: Sheet) -> int | None:
    """The number of the newest change if it is an import, which can then be taken back at once."""
    change = SheetChange.objects.filter(sheet=sheet).order_by("-number").first()
    return change.number if change and change.action == ChangeAction.IMPORT else None


def _entry(change: SheetChange, undone: Mapping[int, int], notation: str) -> HistoryEntry:
    undoing = undone.get(change.number)
    stands = undoing is not None and undoing not in undone
    return HistoryEntry(
        number=change.number,
        by_name=str(change.by),
        at=change.at,
        done=DONE[ChangeAction(change.action)],
        lines=tuple(_line(item, notation) for item in change.items if moved(item)),
        undoes=change.undoes.number if change.undoes else None,
        undone_by=undoing if stands else None,
    )


def _line(item: Mapping[str, Any], notation: str) -> HistoryLine:
    key = item["quantity"]
    before, after = (value_words(key, (item[side] or {}).get("value", "")) for side in ("old", "new"))
    return HistoryLine(
        quantity=quantity_words(key),
        site=site_words(item["site"], notation),
        before=before,
        after=after,
        typed=item["typed"] if item["rounded"] else "",
        beside=bool(item["beside"]),
        particulars=_particulars(item["old"], item["new"]) if before == after else "",
    )


def _particulars(old: Mapping[str, Any] | None, new: Mapping[str, Any] | None) -> str:
    """Names of what differs between two states of one finding, apart from the number of the change."""
    if not old or not new:
        return ""
    return ", ".join(words for name, words in PARTICULAR_WORDS.items() if old.get(name) != new.get(name))
