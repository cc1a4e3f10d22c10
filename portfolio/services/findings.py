"""Entering findings, clearing them, and stating that a region or its rest is free."""

from collections.abc import Sequence
from dataclasses import replace
from datetime import datetime

from django.db import transaction

from accounts.models import User
from portfolio import readings, sites
from portfolio.models import ChangeAction, Sheet
from portfolio.quantity import Quantity
from portfolio.readings import Fault
from portfolio.services.answers import Answer, Changed, Entry, Place, Refused
from portfolio.services.evidence_writing import backing_faults, canonical, parts_of, pieces_of
from portfolio.services.sheet_writing import (
    PARTICULARS,
    OpenSheet,
    Typed,
    Wanted,
    answered_before,
    contradicts,
    keeping,
    last_changes,
    open_sheet,
    write,
)
from portfolio.typed import TypedRefused, typed
from portfolio.vocabulary import QUANTITIES

MOST_KEY = 64


def record_findings(
    by: User, sheet: Sheet, entries: Sequence[Entry], request_key: str, at: datetime
) -> Answer:
    """Save what was typed, all of it or nothing.

    Texts are read before the sheet is locked. A known request key gives the first answer again; a finding
    changed after the page had read it gives Changed; texts, ranges and contradictions give Refused with all
    faults. A value inside a region stated free turns that statement into "rest none" in the same change.
    Evidence and error parts come with their `Entry`; what was given before stays in the history and comes back
    with an undo.
    """
    parsed, faults = _read(entries, sheet.step)
    faults += _key_faults(request_key)
    with transaction.atomic():
        opened = open_sheet(sheet)
        if first := answered_before(opened, request_key):
            return first
        if moved_on := [e.place for e in entries if _changed_in(opened, e.place) != e.seen]:
            return Changed(last_changes(opened, moved_on))
        faults += [fault for entry in entries for fault in backing_faults(opened.row, entry)]
        if faults:
            return Refused(tuple(faults))
        wanted = Wanted(typed=parsed)
        for entry in entries:
            _want(opened, wanted, entry)
        make_room(opened, wanted)
        cleared = all(finding is None for finding in wanted.findings.values())
        action = ChangeAction.CLEAR if cleared else ChangeAction.ENTER
        return write(opened, wanted, by=by, at=at, action=action, request_key=request_key)


def state_free(
    by: User, sheet: Sheet, statements: Sequence[tuple[str, str]], request_key: str, at: datetime
) -> Answer:
    """State that regions are free, each given as (quantity, region), in one change.

    The statement is `none` where no single value stands in the region and `rest_none` where one does or
    where the quantity takes nothing else. What is recorded at the region itself stays as it is.
    """
    with transaction.atomic():
        opened = open_sheet(sheet)
        if first := answered_before(opened, request_key):
            return first
        wanted, faults = Wanted(), list[Fault]()
        for quantity, region in statements:
            stated = _statements(opened, quantity, region)
            if isinstance(stated, Fault):
                faults.append(stated)
                continue
            for one in stated:
                place: Place = (quantity, one.site, 1)
                wanted.findings[place] = opened.now.get(place, one)
        if faults:
            return Refused(tuple(faults))
        return write(opened, wanted, by=by, at=at, action=ChangeAction.NONE_REGION, request_key=request_key)


def make_room(opened: OpenSheet, wanted: Wanted) -> None:
    """Turn statements "none" into "rest none" where a value is now to stand inside their region.

    A quantity that knows no "rest none" keeps the statement for the places still free.
    """
    statements = [(place, one) for place, one in opened.now.items() if readings.state(one) == "free"]
    for place, finding in list(wanted.findings.items()):
        for stated_at, statement in statements:
            if finding is None or stated_at in wanted.findings:
                continue
            if contradicts(statement, finding):
                _loosen(opened, wanted, stated_at, place)


def _loosen(opened: OpenSheet, wanted: Wanted, stated_at: Place, because_of: Place) -> None:
    quantity, region, _ = stated_at
    meaning = QUANTITIES[quantity]
    statement = opened.now[stated_at]
    if meaning.takes_rest_none:
        wanted.findings[stated_at] = keeping(statement, stated_at, "rest_none")
        wanted.beside[stated_at] = (
            f'{meaning.label}: "none" for {region} now reads "rest none", because {because_of[1]} has a value.'
        )
        return
    wanted.findings[stated_at] = None
    wanted.beside[stated_at] = (
        f'{meaning.label}: "none" for {region} now holds only where no value stands, '
        f"because {because_of[1]} has a value."
    )
    for site in meaning.none_as_zero:
        place: Place = (quantity, site, 1)
        taken = place in wanted.findings or place in opened.stored
        if site != region and sites.inside(region, site) and not taken:
            wanted.findings[place] = keeping(statement, place, "none")
            wanted.beside[place] = f'{meaning.label}: "none" is kept for {site}.'


def _key_faults(request_key: str) -> list[Fault]:
    if 0 < len(request_key) <= MOST_KEY:
        return []
    return [Fault("request", f"A request key of 1 to {MOST_KEY} characters is needed.")]


def _read(entries: Sequence[Entry], step: str) -> tuple[dict[Place, Typed], list[Fault]]:
    """What each text means, and the faults of all those that mean nothing."""
    parsed: dict[Place, Typed] = {}
    faults: list[Fault] = []
    for entry in entries:
        where = f"{entry.quantity} {entry.site}"
        text = (entry.typed or "").strip()
        if entry.place in parsed:
            faults.append(Fault(where, "This finding is given twice.", entry.quantity, entry.site))
        elif entry.quantity not in QUANTITIES:
            faults.append(Fault(where, "This quantity is not known.", entry.quantity, entry.site))
        elif not text:
            parsed[entry.place] = Typed()
        else:
            try:
                meant = typed(entry.quantity, entry.site, text, step)
            except TypedRefused as refusal:
                faults.append(Fault(where, str(refusal), entry.quantity, entry.site))
            else:
                parsed[entry.place] = Typed(text=text, rounded=meant.was_rounded, value=meant.value)
    return parsed, faults


def _want(opened: OpenSheet, wanted: Wanted, entry: Entry) -> None:
    place, value = entry.place, wanted.typed[entry.place].value
    if not value:
        wanted.findings[place] = None
        return
    now = opened.now.get(place)
    finding = keeping(now, place, value, **{name: getattr(entry, name) for name in PARTICULARS})
    if entry.error_parts is not None:
        finding = replace(finding, error_parts=parts_of(entry.error_parts))
    if entry.evidence is not None:
        pieces = tuple(map(canonical, entry.evidence))
        stands = now is not None and pieces == pieces_of(opened.row, place, now.evidence_at)
        if stands and now is not None:
            finding = replace(finding, evidence_at=now.evidence_at)
        else:
            finding = replace(finding, evidence_at=opened.row.version + 1 if pieces else 0)
            wanted.evidence[place] = pieces
    wanted.findings[place] = finding


def _changed_in(opened: OpenSheet, place: Place) -> int:
    row = opened.stored.get(place)
    return row.changed_in if row else 0


def _statements(opened: OpenSheet, quantity: str, region: str) -> list[readings.Finding] | Fault:
    """What says that a region is free beside what stands in it."""
    where, meaning = f"{quantity} {region}", QUANTITIES.get(quantity)
    if meaning is None:
        return Fault(where, "This quantity is not known.", quantity, region)
    none = readings.Finding(quantity=quantity, site=region, value="none")
    occupied = any(contradicts(none, one) for one in opened.now.values())
    if _takes_none(meaning, region) and not occupied:
        return [none]
    if meaning.takes_region(region, "rest_none"):
        return [replace(none, value="rest_none")]
    narrower = [site for site in meaning.none_as_zero if site != region and sites.inside(region, site)]
    if narrower:
        return [replace(none, site=site) for site in narrower]
    return Fault(where, f"{meaning.label} cannot be stated as free at {region}.", quantity, region)


def _takes_none(meaning: Quantity, region: str) -> bool:
    return meaning.takes_region(region, "none") or ("none" in meaning.codes and meaning.site.takes(region))
