"""Writing repeats: beginning one beside a first sheet, handing it in, giving it up, what is said about it."""

import uuid
from collections.abc import Mapping
from datetime import datetime, timedelta
from typing import Any

from django.db import transaction
from django.db.models import Max

from accounts.models import User
from portfolio.models import Finding, Portfolio, RepeatStatement, Sheet, SheetChange, SheetPurpose
from portfolio.models import RepeatSheet as Repeat
from portfolio.models import StatementKind as Kind
from portfolio.repeating.access import first_sheets, visible_repeat_sheets
from portfolio.repeating.pairs import is_repeated
from portfolio.services.saving import OutOfDate, make_once
from portfolio.services.sheet_writing import PARTICULARS
from portfolio.vocabulary import QUANTITIES

MOST_WAIT_DAYS = 365
MOST_REASON = 300


class CannotRepeat(Exception):
    """There is nothing to repeat, nothing to hand in, or a reason is missing; the text says what to do."""


class TooEarly(CannotRepeat):
    """The days to wait are not over, and no reason is given."""


def set_wait(portfolio: Portfolio, days: int) -> None:
    """Set how many days to wait before a repeat, 0 to 365; ValueError for others."""
    if not 0 <= days <= MOST_WAIT_DAYS:
        raise ValueError(f"{days} days; allowed are 0 to {MOST_WAIT_DAYS}")
    portfolio.repeat_wait_days = days
    portfolio.save(update_fields=["repeat_wait_days"])


def due_at(first: Sheet) -> datetime | None:
    """When a repeat of a sheet is due: the days to wait after it, or its newest repeat, was last changed.

    The sheet comes with record set, case, patient and portfolio loaded; None for one without a change.
    """
    sheets = [first.pk, *Repeat.objects.filter(first=first).values_list("sheet", flat=True)]
    last = SheetChange.objects.filter(sheet__in=sheets).aggregate(Max("at"))["at__max"]
    closed = RepeatStatement.objects.filter(repeat__first=first, kind=Kind.GIVEN_UP).aggregate(Max("at"))
    seen = [at for at in (last, closed["at__max"]) if at is not None]
    wait = timedelta(days=first.record_set.case.patient.portfolio.repeat_wait_days)
    return max(seen) + wait if seen else None


def begin(by: User, first: Sheet, public_id: uuid.UUID, at: datetime, reason: str = "") -> Repeat:
    """The person's open repeat of a working sheet, made when there is none; raises CannotRepeat, OutOfDate.

    Before it is due a written reason is needed, which is kept. Medium and step are those of the first.
    """
    with transaction.atomic():
        locked = first_sheets(by).select_for_update(of=("self",)).filter(pk=first.pk).first()
        if locked is None:
            raise CannotRepeat("Only your own working sheet can be repeated.")
        if already := visible_repeat_sheets(by).filter(first=locked, sheet__sealed=False).first():
            return already
        then = _then(locked)
        due = due_at(first)
        if due is None or not then["findings"]:
            raise CannotRepeat("Measure these records first; then they can be measured again.")
        early = at < due
        if early and not reason.strip():
            raise TooEarly("Say in writing why the repeat begins before it is due, or wait until it is.")
        made = make_once(
            Sheet.objects.filter(reader=by, purpose=SheetPurpose.REPEAT),
            public_id,
            lambda: _made(by, locked, then, public_id, at),
        )
        repeat = visible_repeat_sheets(by).filter(sheet=made, first=locked).first()
        if repeat is None or made.sealed:
            raise OutOfDate
        if early:
            _say(by, repeat, Kind.EARLY, reason, at)
        return repeat


def _then(first: Sheet) -> dict[str, Any]:
    """The first sheet as it stands; only what casts show decides whether there is something to repeat."""
    rows = list(Finding.objects.filter(sheet=first).order_by("pk"))
    findings = [
        {"quantity": f.quantity, "site": f.site, "nth": f.nth, "value": f.value}
        | {name: getattr(f, name) for name in PARTICULARS}
        for f in rows
    ]
    measured = any(is_repeated(f.quantity) for f in rows if f.quantity in QUANTITIES)
    return {"version": first.version, "findings": findings if measured else []}


def _made(by: User, first: Sheet, then: Mapping[str, Any], public_id: uuid.UUID, at: datetime) -> Sheet:
    newest = Sheet.objects.filter(
        record_set=first.record_set_id, reader=by, purpose=SheetPurpose.REPEAT
    ).aggregate(Max("occasion"))
    made = Sheet.objects.create(
        public_id=public_id,
        record_set_id=first.record_set_id,
        reader=by,
        purpose=SheetPurpose.REPEAT,
        occasion=(newest["occasion__max"] or 1) + 1,
        medium=first.medium,
        step=first.step,
    )
    Repeat.objects.create(sheet=made, first=first, first_then=dict(then), begun_at=at)
    return made


def hand_in(repeat: Repeat, at: datetime) -> None:
    """Seal a repeat: from now on it is shown beside the first, counted, and never changed.  Raises CannotRepeat."""
    with transaction.atomic():
        sheet = _locked(repeat)
        if sheet.handed_in_at is not None:
            return
        if sheet.sealed:
            raise CannotRepeat("This repeat was given up and cannot be handed in.")
        if not Finding.objects.filter(sheet=sheet).exists():
            raise CannotRepeat("Nothing is measured yet. Measure first, then hand in.")
        sheet.sealed, sheet.handed_in_at = True, max(at, repeat.begun_at)
        sheet.save(update_fields=["sealed", "handed_in_at"])


def give_up(by: User, repeat: Repeat, reason: str, at: datetime) -> None:
    """Close an open repeat that will not be finished: it is kept with the reason and not counted."""
    with transaction.atomic():
        sheet = _locked(repeat)
        if sheet.sealed:
            raise CannotRepeat("This repeat is closed already; it stays as it is.")
        _say(by, repeat, Kind.GIVEN_UP, reason, at)
        sheet.sealed = True
        sheet.save(update_fields=["sealed"])


def leave_out(by: User, repeat: Repeat, reason: str, at: datetime) -> None:
    """Leave a handed-in repeat out of the figures, with a written reason; it stays stored and is told."""
    _turn(by, repeat, Kind.LEFT_OUT, reason, at)


def count_again(by: User, repeat: Repeat, reason: str, at: datetime) -> None:
    """Count a repeat that was left out, with a written reason."""
    _turn(by, repeat, Kind.COUNTED, reason, at)


def _turn(by: User, repeat: Repeat, kind: Kind, reason: str, at: datetime) -> None:
    with transaction.atomic():
        if _locked(repeat).handed_in_at is None:
            raise CannotRepeat("Only a repeat that was handed in can be left out or counted.")
        turns = RepeatStatement.objects.filter(repeat=repeat, kind__in=(Kind.LEFT_OUT, Kind.COUNTED))
        newest = turns.order_by("pk").last()
        if (newest.kind if newest else Kind.COUNTED) == kind:
            return
        _say(by, repeat, kind, reason, at)


def _say(by: User, repeat: Repeat, kind: Kind, reason: str, at: datetime) -> None:
    words = " ".join(reason.split())
    if not words:
        raise CannotRepeat("A reason in writing is needed; it is kept and shown with the figures.")
    if len(words) > MOST_REASON:
        raise CannotRepeat(f"The reason has {len(words)} characters; at most {MOST_REASON} are taken.")
    RepeatStatement.objects.create(repeat=repeat, kind=kind, reason=words, by=by, at=at)


def _locked(repeat: Repeat) -> Sheet:
    return Sheet.objects.select_for_update().get(pk=repeat.sheet_id)
