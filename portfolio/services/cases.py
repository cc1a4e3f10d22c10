"""Starting, changing, deleting, restoring and erasing cases."""

import uuid
from dataclasses import dataclass, field
from datetime import date, datetime

from django.db import transaction

from accounts.models import User
from jobs import services as job_services
from portfolio.access import visible_cases
from portfolio.codes import new_code
from portfolio.models import Case, Patient, Portfolio, RecordItem, Stage
from portfolio.searching import folded
from portfolio.services.patients import PatientDetails, create_patient
from portfolio.services.record_items import files_of, remove_files
from portfolio.services.record_sets import RecordSetDetails, make_record_set
from portfolio.services.saving import checked, make_once, save_version


class WrongCode(Exception):
    """The code typed to confirm an erasure is not the code of the case."""


@dataclass(frozen=True, slots=True)
class CaseStart:
    """What is asked to start a case. Without a patient a new one is made with `new_patient`."""

    code: str = ""
    patient: Patient | None = None
    new_patient: PatientDetails = field(default_factory=PatientDetails)
    stage: str = Stage.INITIAL
    age_months: int | None = None
    taken_on: date | None = None
    note: str = ""


def create_case(by: User, portfolio: Portfolio, start: CaseStart, public_id: uuid.UUID | None = None) -> Case:
    """Start a case with its first record set and an empty working sheet.

    The same public id again gives the same case. Raises ValidationError for a code in use.
    """
    public_id = public_id or uuid.uuid4()

    def make() -> Case:
        patient = start.patient or create_patient(by, portfolio, start.new_patient)
        case = Case(patient=patient, public_id=public_id, code=start.code or new_code(), note=start.note)
        case.searchable = folded(f"{case.code} {case.note}")
        checked(case).save()
        make_record_set(
            by,
            case,
            RecordSetDetails(stage=start.stage, age_months=start.age_months, taken_on=start.taken_on),
        )
        return case

    return make_once(visible_cases(by), public_id, make)


def edit_case(case: Case, *, state: str, note: str, seen_version: int) -> None:
    """Save a case's form; raises ChangedMeanwhile."""
    save_version(
        case, seen_version, {"state": state, "note": note, "searchable": folded(f"{case.code} {note}")}
    )


def delete_case(case: Case, at: datetime) -> None:
    """Put a case among the deleted ones, from where it can be restored. Deleting twice changes nothing."""
    Case.objects.filter(pk=case.pk, deleted_at__isnull=True).update(deleted_at=at)


def restore_case(case: Case) -> None:
    """Bring a deleted case back with everything that hangs on it."""
    Case.objects.filter(pk=case.pk).update(deleted_at=None)


def erase_case(case: Case, confirmed_code: str) -> None:
    """Remove a case for good, with record sets, sheets and their history, pictures and their bytes, and its prints.

    Raises WrongCode unless the code is typed. The coded patient stays.
    """
    if confirmed_code.strip().upper() != case.code:
        raise WrongCode
    with transaction.atomic():
        files = files_of(RecordItem.objects.filter(record_set__case=case))
        Case.objects.filter(pk=case.pk).delete()
        remove_files(files)
        job_services.forget(str(case.public_id))
