"""Adding, changing and deleting single rows of the log."""

import uuid
from collections.abc import Sequence
from datetime import datetime

from django.core.exceptions import ValidationError
from django.db import transaction

from accounts.models import User
from portfolio.access import visible_cases
from portfolio.case_log.answers import AnswerRefused, answered, contradictions, put_in
from portfolio.case_log.models import LogAction
from portfolio.case_log.rows import STATE, STATES, answers_of, kept, moved, words
from portfolio.case_log.services.answers import Added, Changed, Entry, Refused, Saved
from portfolio.case_log.services.keeping import known, line, lock, step, write
from portfolio.codes import ALPHABET, LENGTH, is_code, new_code
from portfolio.models import Case, Portfolio
from portfolio.searching import folded
from portfolio.services.patients import PatientDetails, create_patient
from portfolio.services.saving import OutOfDate, checked, make_once

CODE_RULE = (
    f"A code has {LENGTH} characters out of {ALPHABET[0]}–{ALPHABET[7]} and the letters {ALPHABET[8:]}; those left out "
    "are easily mistaken. Leave it empty to have one drawn."
)
CODE_IN_USE = "This code is in use. Take another one, or leave it empty to have one drawn."


def add_row(
    by: User, portfolio: Portfolio, public_id: uuid.UUID, code: str, request_key: str, at: datetime
) -> Added | Refused:
    """A possible case with a new coded patient and no records yet; the same public id again gives the same row."""
    code = code.strip().upper()
    if code and not is_code(code):
        return Refused({"code": CODE_RULE})

    def make() -> Case:
        locked = lock(portfolio.pk)
        patient = create_patient(by, locked, PatientDetails())
        case = Case(patient=patient, public_id=public_id, code=code or new_code())
        case.searchable = folded(case.code)
        checked(case).save()
        line(step(by, locked, LogAction.ADD, request_key, at), case, None, kept(case.state, case.estimate))
        return case

    try:
        return Added(make_once(visible_cases(by), public_id, make))
    except ValidationError as refusal:
        if "code" not in getattr(refusal, "error_dict", {}):
            raise
        return Refused({"code": CODE_IN_USE})
    except OutOfDate:
        return Refused({"": "This page is out of date. Open it again."})


def save_fields(
    by: User, case: Case, entries: Sequence[Entry], plane: str, request_key: str, at: datetime
) -> Saved | Changed | Refused:
    """Save texts typed into fields of one row, all or none; `plane` is the mandibular plane in force.

    Raises Case.DoesNotExist for a row deleted meanwhile, KeyError for an unknown field.
    """
    with transaction.atomic():
        portfolio = lock(case.patient.portfolio_id)
        row = Case.objects.select_for_update(no_key=True).get(pk=case.pk, deleted_at__isnull=True)
        if known(portfolio, request_key):
            return Saved(row)
        old = kept(row.state, row.estimate)
        theirs = {e.key: old.get(e.key, "") for e in entries if old.get(e.key, "") != e.seen}
        new, faults, said = _put_in(old, entries, plane)
        # what another window saved just the same is no conflict
        if any(new.get(key, "") != value for key, value in theirs.items()) or (theirs and faults):
            return Changed(row, theirs)
        if faults:
            return Refused(faults)
        if moved(old, new):
            write(row, new)
            line(step(by, portfolio, LogAction.EDIT, request_key, at), row, old, new)
        return Saved(row, said)


def _put_in(
    old: dict[str, str], entries: Sequence[Entry], plane: str
) -> tuple[dict[str, str], dict[str, str], dict[str, str]]:
    """The row with the texts put in, faults by field, and what else there is to say by field."""
    state, answers = old[STATE], answers_of(old)
    faults: dict[str, str] = {}
    said: dict[str, str] = {}
    for entry in entries:
        if entry.key == STATE:
            if entry.typed in STATES:
                state = entry.typed
            else:
                faults[STATE] = f"A case is {', '.join(STATES.values())}."
            continue
        try:
            found = answered(entry.key, entry.typed)
        except AnswerRefused as refusal:
            faults[entry.key] = str(refusal)
            continue
        if found.was_rounded:
            said[entry.key] = f"{' '.join(entry.typed.split())} recorded as {words(entry.key, found.value)}"
        before = answers.open_teeth
        answers = put_in(answers, entry.key, found.value, plane)
        if before and not answers.open_teeth and entry.key == "overbite":
            said[entry.key] = "the number of open teeth went with the open bite"
    if not faults:
        typed_last = entries[-1].key if entries else ""
        faults = {
            (key if any(e.key == key for e in entries) else typed_last): text
            for key, text in contradictions(answers)
        }
    return {STATE: state, **answers.as_json()}, faults, said


def delete_row(by: User, case: Case, request_key: str, at: datetime) -> Case:
    """Put a case among the deleted ones as a step of the log that can be taken back; raises Case.DoesNotExist."""
    with transaction.atomic():
        portfolio = lock(case.patient.portfolio_id)
        rows = Case.objects.select_for_update(no_key=True)
        if known(portfolio, request_key):
            return rows.get(pk=case.pk)
        row = rows.get(pk=case.pk, deleted_at__isnull=True)
        row.deleted_at = at
        row.save(update_fields=["deleted_at"])
        line(step(by, portfolio, LogAction.DELETE, request_key, at), row, kept(row.state, row.estimate), None)
        return row
