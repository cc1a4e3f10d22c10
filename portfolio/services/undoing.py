"""Taking one change of a sheet back: a value, a one-key statement, an import, or an earlier undo."""

from collections.abc import Iterable, Sequence
from datetime import datetime

from django.db import transaction

from accounts.models import User
from portfolio import readings
from portfolio.models import ChangeAction, Sheet, SheetChange
from portfolio.readings import Fault
from portfolio.services.answers import Answer, Changed, Place, Refused
from portfolio.services.sheet_writing import (
    OpenSheet,
    Wanted,
    answered_before,
    contradicts,
    from_item,
    keeping,
    last_changes,
    moved,
    open_sheet,
    write,
)


def undo(by: User, sheet: Sheet, number: int, request_key: str, at: datetime) -> Answer:
    """Restore every finding of a change to what it was before; the undo is a change of its own.

    Gives Refused when there is no such change or it is undone already, and Changed when somebody has
    changed one of its findings since. A restored "none" inside whose region other values stand by now
    comes back as "rest none".
    """
    with transaction.atomic():
        opened = open_sheet(sheet)
        if first := answered_before(opened, request_key):
            return first
        change = SheetChange.objects.filter(sheet=opened.row, number=number).first()
        if change is None:
            return _refused(f"There is no change {number} on this sheet.")
        earlier = SheetChange.objects.filter(sheet=opened.row, undoes=change).select_related("by").first()
        if earlier is not None and _stands(opened, earlier):
            return _refused(f"This change has already been undone by {earlier.by}.")
        items = {(i["quantity"], i["site"], i["nth"]): i for i in change.items if moved(i)}
        since = _changed_since(opened, items, number)
        if since:
            return Changed(last_changes(opened, since))
        wanted = Wanted({place: from_item(place, item["old"]) for place, item in items.items()})
        _keep_loose(opened, wanted)
        return write(
            opened,
            wanted,
            by=by,
            at=at,
            action=ChangeAction.UNDO,
            request_key=request_key,
            undoes=change,
        )


def _refused(words: str) -> Refused:
    return Refused((Fault("history", words),))


def _stands(opened: OpenSheet, undoing: SheetChange) -> bool:
    """Whether an undo has not been undone itself."""
    return not SheetChange.objects.filter(sheet=opened.row, undoes=undoing).exists()


def _changed_since(opened: OpenSheet, places: Iterable[Place], number: int) -> list[Place]:
    """Places that are no longer as this change left them.

    A later change that has been undone does not count, so several steps can be taken back one by one.
    """
    later = list(
        SheetChange.objects.filter(sheet=opened.row, number__gte=number)
        .select_related("undoes")
        .order_by("-number")
    )
    return [place for place in places if not _as_left([c for c in later if _touches(c, place)], number)]


def _touches(change: SheetChange, place: Place) -> bool:
    return any((i["quantity"], i["site"], i["nth"]) == place and moved(i) for i in change.items)


def _as_left(touching: Sequence[SheetChange], number: int) -> bool:
    """Whether what stands is the work of a change; `touching` are the changes of one finding, newest first."""
    at: SheetChange | None = next(iter(touching), None)
    while at is not None and at.number != number:
        undone = at.undoes
        if undone is None:
            return False
        # What an undo brought back is the work of the last change before the one it undid.
        at = next((c for c in touching if c.number < undone.number), None)
    return at is not None


def _keep_loose(opened: OpenSheet, wanted: Wanted) -> None:
    """Bring a "none" back as "rest none" where other values stand in its region by now."""
    after = {**opened.now, **wanted.findings}
    for place, finding in list(wanted.findings.items()):
        if finding is None or readings.state(finding) != "free":
            continue
        if any(one is not None and contradicts(finding, one) for one in after.values()):
            before = opened.now.get(place)
            loose = before is not None and readings.state(before) == "rest_free"
            wanted.findings[place] = keeping(finding, place, "rest_none") if loose else finding
