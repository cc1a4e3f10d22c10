"""Taking one step of the log back: whole, or not at all with words."""

from collections.abc import Mapping, Sequence
from datetime import datetime

from django.db import transaction
from django.db.models import Model, QuerySet

from accounts.models import User
from portfolio.case_log.models import LogAction, LogChange, LogLine
from portfolio.case_log.rows import change_words, kept, moved
from portfolio.case_log.services.answers import Refused, Undone
from portfolio.case_log.services.keeping import AT_ONCE, known, lock, put, step
from portfolio.models import Case, Patient, Portfolio

NAMED = 5
"""So many codes stand in words; of more only the number is told."""


def undo(by: User, portfolio: Portfolio, number: int, request_key: str, at: datetime) -> Undone | Refused:
    """Take the step of this number back: rows stand as before it, rows it made go, a row it deleted is there again.

    Refused in words when a row was changed since, or something hangs on a row that would go.
    """
    with transaction.atomic():
        locked = lock(portfolio.pk)
        if known(locked, request_key):
            return Undone((), (), "This was taken back already.")
        change = LogChange.objects.filter(portfolio=locked, number=number).first()
        if change is None or change.action == LogAction.UNDO:
            return Refused({"": "There is no such step to take back."})
        if LogChange.objects.filter(undoes=change).exists():
            return Refused({"": "This was taken back already."})
        lines = list(LogLine.objects.filter(change=change).select_related("case__patient").order_by("pk"))
        if not lines:
            return Refused({"": "Its cases were erased; there is nothing to take back."})
        if words := _in_the_way(change, lines):
            return Refused({"": words})
        undoing = step(by, locked, LogAction.UNDO, request_key, at, undoes=change)
        return _taken_back(change, undoing, lines)


def _in_the_way(change: LogChange, lines: Sequence[LogLine]) -> str:
    """Why the step cannot be taken back, or an empty text."""
    if change.action == LogAction.DELETE:
        back = [one.case.code for one in lines if one.case.deleted_at is None]
        return f"Case {_named(back)} is back already." if back else ""
    gone = [one.case.code for one in lines if one.case.deleted_at is not None]
    if gone:
        return f"Deleted since: {_named(gone)}. Restore {'it' if len(gone) == 1 else 'them'} first; nothing was taken back."
    since = [one.case.code for one in lines if _was_changed(one)]
    if since:
        return f"Changed since: {_named(since)}. Nothing was taken back."
    held = _more_than_the_log(Case.objects.filter(log_lines__change=change, log_lines__old__isnull=True))
    if held:
        return f"More hangs by now on {_named(sorted(held))}: records, consents or the like. Nothing was taken back."
    return ""


def _named(codes: Sequence[str]) -> str:
    first = ", ".join(codes[:NAMED])
    return first if len(codes) <= NAMED else f"{first} and {len(codes) - NAMED} more"


def _was_changed(one: LogLine) -> bool:
    """Whether a row holds something else now than the step left, where the step touched it."""
    now = kept(one.case.state, one.case.estimate)
    new: Mapping[str, str] = one.new or {}
    touched = (*now, *new) if one.old is None else moved(one.old, new)
    return any(now.get(key, "") != new.get(key, "") for key in touched)


def _more_than_the_log(cases: QuerySet[Case]) -> set[str]:
    """Codes of cases on which, or on whose patients, other rows hang than those of the log."""
    held = set(cases.exclude(note="").values_list("code", flat=True))
    held |= set(cases.exclude(patient__version=1).values_list("code", flat=True))
    held |= {code for code in _related(Case, cases, "") if code}
    patients = Patient.objects.filter(cases__in=cases)
    held |= {code for code in _related(Patient, patients, "cases__") if code}
    return held


def _related(model: type[Model], rows: QuerySet[Case] | QuerySet[Patient], way: str) -> set[str]:
    """Codes of cases whose row of this model has others pointing at it, whichever room they are of."""
    found: set[str] = set()
    for relation in model._meta.related_objects:
        if relation.related_model in (LogLine, Case):
            continue
        others = relation.related_model._base_manager.filter(**{f"{relation.field.name}__in": rows})
        found |= set(others.values_list(f"{relation.field.name}__{way}code", flat=True))
    return found


def _taken_back(change: LogChange, undoing: LogChange, lines: Sequence[LogLine]) -> Undone:
    words = change_words(lines[0].old, lines[0].new)
    code = lines[0].case.code
    told = f"{code}: {words}" if len(lines) == 1 else f"an import of {len(lines)} rows"
    made = [one.case for one in lines if one.old is None]
    stands: list[Case] = []
    history: list[LogLine] = []
    for one in lines:
        if one.old is None:
            continue
        case, old, now = one.case, one.old, kept(one.case.state, one.case.estimate)
        if change.action == LogAction.DELETE:
            case.deleted_at = None
            history.append(LogLine(change=undoing, case=case, old=None, new=old))
        else:
            touched = moved(old, one.new or {})
            back = {key: value for key, value in now.items() if key not in touched}
            back |= {key: old[key] for key in touched if old.get(key)}
            put(case, back)
            history.append(LogLine(change=undoing, case=case, old=now, new=back))
        stands.append(case)
    Case.objects.bulk_update(stands, ["state", "estimate", "version", "deleted_at"], batch_size=AT_ONCE)
    LogLine.objects.bulk_create(history, batch_size=AT_ONCE)
    gone = tuple(str(case.public_id) for case in made)
    _remove(made)
    return Undone(tuple(stands), gone, f"Taken back: {told}.")


def _remove(made: Sequence[Case]) -> None:
    """Cases that a step of the log made go for good, with the coded patients made for them."""
    patients = [case.patient_id for case in made]
    Case.objects.filter(pk__in=[case.pk for case in made]).delete()
    Patient.objects.filter(pk__in=patients, cases__isnull=True).delete()
