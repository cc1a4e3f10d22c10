"""One-time codes for phones: asking for one, calling it off, and handing a picture in by it."""

import uuid
from contextlib import suppress
from dataclasses import dataclass
from datetime import datetime, timedelta

from django.db.models import Q

from accounts.models import User
from accounts.security_log import note
from imaging import services as intake
from imaging.models import PhoneCode
from imaging.phone.access import visible_phone_codes
from imaging.phone.codes import digest, new_code
from portfolio.access import visible_record_sets
from portfolio.models import EvidenceKind, RecordItem, RecordSet, Sheet
from portfolio.photographs import BY_KEY
from portfolio.services.answers import EvidencePiece, Place, Recorded
from portfolio.services.evidence_adding import add_evidence
from portfolio.services.record_items import ItemRefused, assign_view
from portfolio.services.saving import ChangedMeanwhile, checked, make_once

LIFE = timedelta(minutes=10)
TAKING_IN = timedelta(minutes=1)
"""How long a picture may be on its way in before the same code may be tried again."""
MOST_OPEN = 5
FILE_NAME = "picture by phone"


class CannotAsk(Exception):
    """No code is made; the text says why."""


@dataclass(frozen=True, slots=True)
class Asked:
    """What a code is asked for: a view, and the finding the picture shall witness, if any."""

    view: str
    sheet: Sheet | None = None
    place: Place = ("", "", 1)


@dataclass(frozen=True, slots=True)
class NotHandedIn:
    """Nothing was kept: why, and whether the same code may be tried again."""

    words: str
    again: bool


@dataclass(frozen=True, slots=True)
class HandedIn:
    """The picture is among the records."""

    code: PhoneCode


SPENT = {
    "unknown": "This code is not known. Check each sign, or ask for a new code on your computer.",
    "used": "This code has been used: its picture has arrived. One code takes one picture.",
    "expired": "This code has expired. A code holds for 10 minutes; ask for a new one on your computer.",
    "cancelled": "This code was called off. Ask for a new one on your computer.",
    "busy": "A picture is being taken in by this code just now. Wait a moment and look on your computer.",
}


def ask(
    by: User, record_set: RecordSet, public_id: uuid.UUID, asked: Asked, at: datetime
) -> tuple[PhoneCode, str]:
    """A code for one picture of these records, told this once; empty where the same form made it before.

    Raises CannotAsk, OutOfDate.
    """
    if asked.view not in BY_KEY:
        raise CannotAsk("Choose the kind of picture.")
    open_ones = visible_phone_codes(by).filter(_unspent(at)).exclude(public_id=public_id)
    if open_ones.count() >= MOST_OPEN:
        raise CannotAsk(f"{MOST_OPEN} codes are open already. Use them, call one off, or wait ten minutes.")
    code = new_code()
    quantity, site, nth = asked.place
    made = make_once(
        visible_phone_codes(by),
        public_id,
        lambda: _saved(
            PhoneCode(
                public_id=public_id,
                record_set=record_set,
                asked_by=by,
                digest=digest(code),
                view=asked.view,
                sheet=asked.sheet,
                quantity=quantity,
                site=site,
                nth=nth,
                made_at=at,
                expires_at=at + LIFE,
            )
        ),
    )
    fresh = made.digest == digest(code)
    if fresh:
        note("phone code made", by)
    return made, code if fresh else ""


def _saved(row: PhoneCode) -> PhoneCode:
    checked(row).save()
    return row


def own(by: User, public_id: uuid.UUID) -> PhoneCode | None:
    """One of the person's own codes."""
    return visible_phone_codes(by).filter(public_id=public_id).first()


def cancel(row: PhoneCode, at: datetime) -> None:
    """Call a code off, unless its picture has arrived."""
    PhoneCode.objects.filter(pk=row.pk, used_at__isnull=True, cancelled_at__isnull=True).update(
        cancelled_at=at
    )


def find(typed: str, at: datetime) -> PhoneCode | NotHandedIn:
    """The unspent code that was typed, or why it takes no picture."""
    row = PhoneCode.objects.filter(digest=digest(typed)).select_related("record_set", "asked_by").first()
    if row is None:
        return NotHandedIn(SPENT["unknown"], again=False)
    for state, spent in (
        ("used", row.used_at is not None),
        ("cancelled", row.cancelled_at is not None or not _still_open(row)),
        ("expired", row.expires_at <= at),
    ):
        if spent:
            return NotHandedIn(SPENT[state], again=False)
    return row


def hand_in(typed: str, data: bytes, at: datetime) -> HandedIn | NotHandedIn:
    """Take one picture in by a code, through the same intake as every other; a refused file leaves the code unspent.

    The code is claimed before the file is read, so of two that come at once one is taken in.
    """
    row = find(typed, at)
    if isinstance(row, NotHandedIn):
        return row
    claimed = PhoneCode.objects.filter(_unspent(at), pk=row.pk).filter(
        Q(claimed_at__isnull=True) | Q(claimed_at__lte=at - TAKING_IN)
    )
    if not claimed.update(claimed_at=at):
        return NotHandedIn(SPENT["busy"], again=False)
    answer = intake.add_picture(row.asked_by, row.record_set, FILE_NAME, data)
    if isinstance(answer, intake.NotTaken):
        PhoneCode.objects.filter(pk=row.pk).update(claimed_at=None)
        return NotHandedIn(answer.reason, again=True)
    PhoneCode.objects.filter(pk=row.pk).update(used_at=at, item=answer.item)
    _file(row, answer.item, at)
    note("picture by phone", row.asked_by)
    row.refresh_from_db()
    return HandedIn(row)


def _file(row: PhoneCode, item: RecordItem, at: datetime) -> None:
    """Give the picture its view, and make it evidence of the finding it was asked for where that stands still."""
    with suppress(ItemRefused, ChangedMeanwhile):  # it then waits among the pictures without a view
        assign_view(item, row.view, item.version)
    if row.sheet is None:
        return
    piece = EvidencePiece(EvidenceKind.WITNESS.value, item.public_id, f"imaging.phone/{row.public_id}")
    place = (row.quantity, row.site, row.nth)
    answer = add_evidence(row.asked_by, row.sheet, place, piece, f"phone-{row.public_id}", at)
    if not isinstance(answer, Recorded):  # cleared or closed meanwhile: the picture stays among the records
        note("picture by phone without its finding", row.asked_by)


def _unspent(at: datetime) -> Q:
    return Q(used_at__isnull=True, cancelled_at__isnull=True, expires_at__gt=at)


def _still_open(row: PhoneCode) -> bool:
    """Whether the person who asked may still write to these records."""
    by = row.asked_by
    return by.is_active and visible_record_sets(by).filter(pk=row.record_set_id).exists()
