"""Adding a piece of evidence to a finding that stands, without saying its value anew."""

from dataclasses import replace
from datetime import datetime

from django.db import transaction

from accounts.models import User
from portfolio.models import ChangeAction, Sheet
from portfolio.readings import Fault
from portfolio.services.answers import Answer, Entry, EvidencePiece, Place, Refused
from portfolio.services.evidence_writing import backing_faults, canonical, pieces_of
from portfolio.services.sheet_writing import Wanted, answered_before, open_sheet, write


def add_evidence(
    by: User, sheet: Sheet, place: Place, piece: EvidencePiece, request_key: str, at: datetime
) -> Answer:
    """One more piece beside those the finding has; its value, error and note stay as they are, to the letter.

    It is one line of history and can be undone. Refused where nothing is recorded at the place any more.
    """
    with transaction.atomic():
        opened = open_sheet(sheet)
        if first := answered_before(opened, request_key):
            return first
        now = opened.now.get(place)
        where = f"{place[0]} {place[1]}"
        if now is None:
            return Refused((Fault(where, "Nothing is recorded here any more.", place[0], place[1]),))
        pieces = (*pieces_of(opened.row, place, now.evidence_at), canonical(piece))
        if faults := [*backing_faults(opened.row, Entry(*place, evidence=pieces))]:
            return Refused(tuple(faults))
        wanted = Wanted(
            findings={place: replace(now, evidence_at=opened.row.version + 1)}, evidence={place: pieces}
        )
        return write(opened, wanted, by=by, at=at, action=ChangeAction.ENTER, request_key=request_key)
