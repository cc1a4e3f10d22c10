"""Writing: asking a colleague to take a coded patient over, and the answer."""

import uuid
from datetime import datetime

from django.db import IntegrityError, transaction
from django.db.models import F

from accounts.models import User
from jobs import services as job_services
from portfolio.models import Case, MoveAnswer, MoveRequest, Patient, Portfolio, RepeatSheet
from portfolio.moving.access import visible_moves
from portfolio.searching import folded
from portfolio.services.saving import OutOfDate, make_once


class CannotMove(Exception):
    """The patient cannot be handed over now; the text says why and what to do."""


REPEATED = "A case of this patient is being measured again. Hand the repeat in or give it up first."
ASKED_ALREADY = "Somebody has been asked for this patient already. Withdraw that request first."
NOT_OPEN = "This request is not open any more."


def ask(
    by: User,
    patient: Patient,
    email: str,
    note: str,
    *,
    private_along: bool,
    public_id: uuid.UUID,
    at: datetime,
) -> MoveRequest:
    """Ask a colleague with an account here; the same form again makes no second request.

    Raises CannotMove: nobody with this address, oneself, an open request, an open repeat; OutOfDate.
    """
    to = User.objects.filter(email=email.strip().lower(), is_active=True).first()
    if to is None:
        raise CannotMove(
            "Nobody with this e-mail address has an account here. Ask your administrator for it."
        )
    if to.pk == by.pk:
        raise CannotMove(
            "This is your own address. Give the one of the colleague who takes the patient over."
        )

    def make() -> MoveRequest:
        if _is_repeated(patient):
            raise CannotMove(REPEATED)
        row = MoveRequest(
            public_id=public_id,
            patient=patient,
            asked_by=by,
            asked_to=to,
            private_along=private_along,
            note=note,
            asked_at=at,
        )
        row.save(force_insert=True)
        return row

    try:
        return make_once(visible_moves(by), public_id, make)
    except OutOfDate as error:
        if isinstance(error.__cause__, IntegrityError) and _is_asked(patient):
            raise CannotMove(ASKED_ALREADY) from error
        raise


def accept(by: User, request: MoveRequest, into: Portfolio, at: datetime) -> Patient:
    """Take the patient over into one of the person's portfolios, all cases and consents with it.

    The asker sees nothing of it any more; prints made so far are removed.  Locator and kept birth date go along only if
    the asker said so.  Raises CannotMove where the request is not open any more, or a repeat is.
    """
    with transaction.atomic():
        patient = Patient.objects.select_for_update().select_related("portfolio").get(pk=request.patient_id)
        if patient.portfolio.owner_id != request.asked_by_id:
            raise CannotMove(NOT_OPEN)
        if _is_repeated(patient):
            raise CannotMove(REPEATED)
        _answer(request, MoveAnswer.ACCEPTED, at)
        private = {} if request.private_along else {"locator": "", "birth_date": None, "day_shift": None}
        locator = patient.locator if request.private_along else ""
        Patient.objects.filter(pk=patient.pk).update(
            portfolio=into,
            version=F("version") + 1,
            searchable=folded(f"{patient.code} {locator}"),
            **private,
        )
        for case in Case.objects.filter(patient=patient).values_list("public_id", flat=True):
            job_services.forget(str(case))
    patient.refresh_from_db()
    return patient


def decline(request: MoveRequest, at: datetime) -> None:
    """Leave the patient where it is. Raises CannotMove where the request is not open any more."""
    _answer(request, MoveAnswer.DECLINED, at)


def withdraw(request: MoveRequest, at: datetime) -> None:
    """Take the request back. Raises CannotMove where it is not open any more."""
    _answer(request, MoveAnswer.WITHDRAWN, at)


def _answer(request: MoveRequest, answer: MoveAnswer, at: datetime) -> None:
    """One answer wins in any database: the statement that writes it asks whether it is still open."""
    open_row = MoveRequest.objects.filter(pk=request.pk, answer=MoveAnswer.OPEN)
    if not open_row.update(answer=answer, answered_at=at):
        raise CannotMove(NOT_OPEN)


def _is_repeated(patient: Patient) -> bool:
    return RepeatSheet.objects.filter(sheet__record_set__case__patient=patient, sheet__sealed=False).exists()


def _is_asked(patient: Patient) -> bool:
    return MoveRequest.objects.filter(patient=patient, answer=MoveAnswer.OPEN).exists()
