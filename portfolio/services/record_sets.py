"""Adding, changing and removing record sets and their sheets."""

import uuid
from collections.abc import Sequence
from dataclasses import dataclass
from datetime import date

from django.db import transaction
from django.db.models import F, Max

from accounts.models import User
from portfolio import teeth
from portfolio.access import visible_record_sets
from portfolio.models import (
    Case,
    Dentition,
    Medium,
    Occlusion,
    Patient,
    RecordItem,
    RecordSet,
    Sheet,
    SheetPurpose,
    Stage,
    Step,
)
from portfolio.services.record_items import files_of, remove_files
from portfolio.services.saving import ChangedMeanwhile, checked, make_once, save_version


@dataclass(frozen=True, slots=True)
class RecordSetDetails:
    """What a record set's form holds. `teeth` are those standing; empty means the usual ones.

    For a mixed dentition there are no usual ones: the caller asks for them. `ordinal` None takes the next
    free number of the stage. `taken_on` is private to the owner.
    """

    stage: str = Stage.INITIAL
    ordinal: int | None = None
    reason: str = ""
    taken_on: date | None = None
    age_months: int | None = None
    dentition: str = Dentition.PERMANENT
    occlusion: str = Occlusion.INTERCUSPAL
    teeth: Sequence[str] = ()


def usual_teeth(dentition: str) -> tuple[str, ...]:
    """Teeth taken to stand when nothing else is said; none for a mixed dentition."""
    if dentition == Dentition.PERMANENT:
        return teeth.DEFAULT_PERMANENT
    return teeth.DEFAULT_PRIMARY if dentition == Dentition.PRIMARY else ()


def teeth_text(standing: Sequence[str]) -> str:
    """Teeth as they are stored: ISO 3950 in reading order, one space between."""
    return " ".join(teeth.in_order(set(standing)))


def add_record_set(
    by: User,
    case: Case,
    details: RecordSetDetails,
    public_id: uuid.UUID | None = None,
    keep_birth_date: date | None = None,
) -> RecordSet:
    """Add a record set with an empty working sheet; the same public id again gives the same set.

    `keep_birth_date` is stored with the patient when the owner has chosen so.
    """
    public_id = public_id or uuid.uuid4()

    def make() -> RecordSet:
        _keep_birth_date(case, keep_birth_date)
        return make_record_set(by, case, details, public_id)

    return make_once(visible_record_sets(by), public_id, make)


def make_record_set(
    by: User, case: Case, details: RecordSetDetails, public_id: uuid.UUID | None = None
) -> RecordSet:
    """The rows of a new record set and its working sheet; runs inside the caller's transaction."""
    ordinal = details.ordinal or next_ordinal(case, details.stage)
    record_set = RecordSet(
        case=case, public_id=public_id or uuid.uuid4(), ordinal=ordinal, **_fields(details)
    )
    checked(record_set).save()
    Sheet(record_set=record_set, reader=by).save()
    return record_set


def next_ordinal(case: Case, stage: str) -> int:
    """The first free number of a stage, counted from 1."""
    highest = RecordSet.objects.filter(case=case, stage=stage).aggregate(most=Max("ordinal"))["most"]
    return int(highest or 0) + 1


def edit_record_set(
    record_set: RecordSet,
    details: RecordSetDetails,
    seen_version: int,
    keep_birth_date: date | None = None,
) -> None:
    """Save a record set's form; raises ChangedMeanwhile.

    Findings stay as they are; `selectors.record_set_contradictions` tells what no longer fits.
    """
    with transaction.atomic():
        # Sheets are locked first, so no finding is checked against teeth that are just being changed.
        _lock_sheets(record_set)
        fields = {**_fields(details), "ordinal": details.ordinal or record_set.ordinal}
        save_version(record_set, seen_version, fields)
        _keep_birth_date(record_set.case, keep_birth_date)


def remove_record_set(record_set: RecordSet, seen_version: int) -> None:
    """Remove a record set with its sheets and their history; raises ChangedMeanwhile."""
    with transaction.atomic():
        # A save that is under way comes first; one that waits finds no sheet any more.
        _lock_sheets(record_set)
        rows = RecordSet.objects.select_for_update().filter(pk=record_set.pk, version=seen_version)
        if not rows:
            raise ChangedMeanwhile
        files = files_of(RecordItem.objects.filter(record_set=record_set))
        rows.delete()
        remove_files(files)


def working_sheet(by: User, record_set: RecordSet) -> Sheet:
    """The person's working sheet on a record set, made when there is none yet."""
    sheet, _ = Sheet.objects.get_or_create(record_set=record_set, reader=by, purpose=SheetPurpose.WORKING)
    return sheet


class SheetClosed(Exception):
    """The sheet is sealed or handed in; nothing about it is changed any more."""


def edit_sheet(sheet: Sheet, *, medium: Medium | str, step: Step | str) -> None:
    """Set on what the sheet is measured and to which step typed values are rounded; raises SheetClosed.

    Values already recorded stay as they are.
    """
    sheet.medium, sheet.step = medium, step
    sheet.full_clean()
    still_open = Sheet.objects.filter(pk=sheet.pk, sealed=False, handed_in_at__isnull=True)
    if not still_open.update(medium=medium, step=step):
        raise SheetClosed


def _lock_sheets(record_set: RecordSet) -> None:
    """Keep findings of a record set from being written until the open transaction ends."""
    list(Sheet.objects.select_for_update().filter(record_set=record_set).order_by("pk"))


def _keep_birth_date(case: Case, birth_date: date | None) -> None:
    if birth_date:
        Patient.objects.filter(pk=case.patient_id).update(birth_date=birth_date, version=F("version") + 1)


def _fields(details: RecordSetDetails) -> dict[str, object]:
    return {
        "stage": details.stage,
        "reason": details.reason,
        "taken_on": details.taken_on,
        "age_months": details.age_months,
        "dentition": details.dentition,
        "occlusion": details.occlusion,
        "teeth": teeth_text(details.teeth or usual_teeth(details.dentition)),
    }
