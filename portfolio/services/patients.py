"""Making, changing and removing coded patients and their consents."""

import uuid
from collections.abc import Sequence
from dataclasses import asdict, dataclass
from datetime import date, datetime

from django.db import transaction

from accounts.models import User
from jobs import withholding
from portfolio.access import visible_consents, visible_patients
from portfolio.codes import new_code
from portfolio.models import Case, Consent, Patient, Portfolio
from portfolio.searching import folded
from portfolio.services.saving import checked, make_once, save_version

PURPOSES = {
    "examination": "this board examination",
    "study_club": "study club",
    "teaching": "teaching",
    "audit": "program audit",
    "publication": "publication",
}
MEDIA = {
    "faces": "pictures of the face",
    "mouth": "pictures of the mouth",
    "radiographs": "radiographs",
    "casts": "casts and scans",
}


class StillHasCases(Exception):
    """A patient with cases, deleted ones included, cannot be removed."""


@dataclass(frozen=True, slots=True)
class PatientDetails:
    """What a patient's form holds; locator and birth date are private to the owner."""

    sex: str | None = None
    locator: str = ""
    birth_date: date | None = None


@dataclass(frozen=True, slots=True)
class ConsentDetails:
    """What a consent's form holds; the signed paper itself stays where it lies."""

    purposes: Sequence[str]
    media: Sequence[str]
    signer: str
    signed_on: date
    expires: date | None = None
    paper_lies: str = ""


def create_patient(
    by: User,
    portfolio: Portfolio,
    details: PatientDetails,
    *,
    public_id: uuid.UUID | None = None,
    code: str = "",
) -> Patient:
    """Make a coded patient; the same public id again gives the same patient."""
    public_id = public_id or uuid.uuid4()

    def make() -> Patient:
        patient = Patient(
            portfolio=portfolio, public_id=public_id, code=code or new_code(), **asdict(details)
        )
        patient.searchable = folded(f"{patient.code} {details.locator}")
        checked(patient).save()
        return patient

    return make_once(visible_patients(by), public_id, make)


def edit_patient(patient: Patient, details: PatientDetails, seen_version: int) -> None:
    """Save a patient's form; raises ChangedMeanwhile."""
    searchable = folded(f"{patient.code} {details.locator}")
    save_version(patient, seen_version, {**asdict(details), "searchable": searchable})


def remove_patient(patient: Patient) -> None:
    """Remove a patient without cases, with the consents; raises StillHasCases."""
    with transaction.atomic():
        locked = Patient.objects.select_for_update().get(pk=patient.pk)
        if locked.cases.exists():
            raise StillHasCases
        locked.delete()


def add_consent(
    by: User, patient: Patient, details: ConsentDetails, public_id: uuid.UUID | None = None
) -> Consent:
    """Record that a consent was signed; the same public id again gives the same consent."""
    public_id = public_id or uuid.uuid4()

    def make() -> Consent:
        consent = checked(Consent(patient=patient, public_id=public_id, **_consent_fields(details)))
        consent.save()
        return consent

    return make_once(visible_consents(by), public_id, make)


def edit_consent(consent: Consent, details: ConsentDetails, seen_version: int, at: datetime) -> int:
    """Correct what was noted of a consent; how many finished prints it no longer covers. Raises ChangedMeanwhile."""
    save_version(consent, seen_version, _consent_fields(details))
    return _withdraw_results(consent, at)


def withdraw_consent(consent: Consent, withdrawn_on: date | None, seen_version: int, at: datetime) -> int:
    """Record the day a consent was withdrawn, or with None that it was noted by mistake.

    Finished prints that no consent covers any more are removed; how many. Raises ChangedMeanwhile.
    """
    save_version(consent, seen_version, {"withdrawn_on": withdrawn_on})
    return _withdraw_results(consent, at)


def _withdraw_results(consent: Consent, at: datetime) -> int:
    cases = Case.objects.filter(patient=consent.patient).values_list("public_id", flat=True)
    return withholding.withdraw(at, [str(one) for one in cases])


def _consent_fields(details: ConsentDetails) -> dict[str, object]:
    return {
        "purposes": [key for key in PURPOSES if key in details.purposes],
        "media": [key for key in MEDIA if key in details.media],
        "signer": details.signer,
        "signed_on": details.signed_on,
        "expires": details.expires,
        "paper_lies": details.paper_lies,
    }
