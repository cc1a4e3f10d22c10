"""Taking findings over from a sheet file: look first, then import in one change that can be undone."""

from dataclasses import dataclass
from datetime import datetime

from django.db import transaction

from accounts.models import User
from portfolio import readings, teeth
from portfolio.models import ChangeAction, Finding, Sheet, SheetChange
from portfolio.readings import Fault
from portfolio.services.answers import Answer, Changed, Place, Refused
from portfolio.services.findings import make_room
from portfolio.services.sheet_writing import (
    PARTICULARS,
    OpenSheet,
    Wanted,
    answered_before,
    as_reading,
    keeping,
    last_changes,
    moved,
    open_sheet,
    would_refuse,
    write,
)


@dataclass(frozen=True, slots=True)
class PreviewRow:
    """One finding of the file beside what the sheet holds; `kind` is new, changed, unchanged or beside."""

    quantity: str
    site: str
    nth: int
    old: str
    new: str
    kind: str
    words: str = ""


@dataclass(frozen=True, slots=True)
class ImportPreview:
    """What an import would do. With faults nothing can be imported; `version` is the sheet's when read."""

    rows: tuple[PreviewRow, ...]
    faults: tuple[Fault, ...]
    hints: tuple[str, ...]
    version: int

    def count(self, kind: str) -> int:
        return sum(row.kind == kind for row in self.rows)


def preview_import(sheet: Sheet, file: readings.Sheet) -> ImportPreview:
    """What importing this file would change; reads only."""
    row = Sheet.objects.select_related("record_set").get(pk=sheet.pk)
    stored = {(one.quantity, one.site, one.nth): one for one in Finding.objects.filter(sheet=row)}
    opened = OpenSheet(row, stored, {place: as_reading(one) for place, one in stored.items()})
    wanted = _wanted(opened, file)
    rows = tuple(_preview_row(opened, wanted, place) for place in wanted.findings)
    faults = _foreign(opened, file) or would_refuse(opened, wanted)
    return ImportPreview(rows, tuple(faults), _hints(opened, file), row.version)


def import_sheet(
    by: User,
    sheet: Sheet,
    file: readings.Sheet,
    request_key: str,
    at: datetime,
    seen_version: int | None = None,
) -> Answer:
    """Write a file's findings into a sheet in one change; values are taken as they are, never rounded.

    Findings the file does not name stay. With `seen_version`, the version the preview was made from, a
    sheet changed since gives Changed.
    """
    with transaction.atomic():
        opened = open_sheet(sheet)
        if first := answered_before(opened, request_key):
            return first
        if seen_version is not None and seen_version != opened.row.version:
            return Changed(last_changes(opened, _changed_since(opened, seen_version)))
        if faults := _foreign(opened, file):
            return Refused(tuple(faults))
        wanted = _wanted(opened, file)
        return write(opened, wanted, by=by, at=at, action=ChangeAction.IMPORT, request_key=request_key)


def _wanted(opened: OpenSheet, file: readings.Sheet) -> Wanted:
    wanted = Wanted()
    other_medium = file.medium if file.medium and file.medium != opened.row.medium else ""
    for finding in file.findings:
        place: Place = (finding.quantity, finding.site, finding.nth)
        given = {name: getattr(finding, name) or None for name in PARTICULARS}
        given["medium"] = given["medium"] or other_medium or None
        wanted.findings[place] = keeping(opened.now.get(place), place, finding.value, **given)
    make_room(opened, wanted)
    return wanted


def _foreign(opened: OpenSheet, file: readings.Sheet) -> list[Fault]:
    """What shows that the file belongs to another record set."""
    here = opened.row.record_set
    faults = []
    if file.stage != here.stage:
        faults.append(
            Fault("stage", f"The file is of the {file.stage} stage, this record set of the {here.stage} one.")
        )
    if file.dentition != here.dentition:
        faults.append(
            Fault(
                "dentition",
                f"The file has a {file.dentition} dentition, this record set a {here.dentition} one. "
                "Change the record set first if the file is right.",
            )
        )
    return faults


def _hints(opened: OpenSheet, file: readings.Sheet) -> tuple[str, ...]:
    here, said = opened.row.record_set, []
    standing = set(opened.teeth)
    listed = set(file.teeth) or standing
    if only_file := teeth.in_order(listed - standing):
        said.append(f"Standing in the file but not in this record set: {' '.join(only_file)}.")
    if only_here := teeth.in_order(standing - listed):
        said.append(f"Standing in this record set but not in the file: {' '.join(only_here)}.")
    if file.age_months is not None and here.age_months is not None and file.age_months != here.age_months:
        said.append(f"The file gives an age of {file.age_months} months, this record set {here.age_months}.")
    if file.occlusion not in ("unknown", here.occlusion):
        said.append(f"The file says bite {file.occlusion}, this record set {here.occlusion}.")
    return tuple(said)


def _preview_row(opened: OpenSheet, wanted: Wanted, place: Place) -> PreviewRow:
    old, new = opened.now.get(place), wanted.findings[place]
    kind = "unchanged" if old == new else "changed" if old else "new"
    words = wanted.beside.get(place, "")
    return PreviewRow(
        *place,
        old=old.value if old else "",
        new=new.value if new else "",
        kind="beside" if words else kind,
        words=words,
    )


def _changed_since(opened: OpenSheet, version: int) -> list[Place]:
    items = SheetChange.objects.filter(sheet=opened.row, number__gt=version).values_list("items", flat=True)
    places = [(i["quantity"], i["site"], i["nth"]) for lines in items for i in lines if moved(i)]
    return list(dict.fromkeys(places))
