"""Rows of a file put into the log in one step: new cases made, known ones changed, or nothing at all."""

from collections.abc import Iterable, Mapping, Sequence
from datetime import datetime

from django.db import IntegrityError, transaction

from accounts.models import User
from portfolio.case_log.answers import Answers, contradictions, put_in
from portfolio.case_log.models import LogAction, LogChange, LogLine
from portfolio.case_log.rows import STATE, ImportRow, answers_of, kept, moved
from portfolio.case_log.services.answers import Imported, Refused
from portfolio.case_log.services.keeping import AT_ONCE, known, lock, put, step
from portfolio.case_log.services.saving import CODE_IN_USE, CODE_RULE
from portfolio.codes import is_code, new_code
from portfolio.models import Case, CaseState, Patient, Portfolio
from portfolio.searching import folded


def standing_rows(portfolio: Portfolio, codes: Iterable[str], *, locked: bool = False) -> dict[str, Case]:
    """Cases of the portfolio that are not deleted, by those of the codes that they have."""
    wanted = set(codes)
    every = Case.objects.select_for_update(of=("self",), no_key=True) if locked else Case.objects.all()
    rows = every.filter(patient__portfolio=portfolio, deleted_at__isnull=True)
    return {case.code: case for case in rows if case.code in wanted}


def merged(old: Mapping[str, str] | None, values: Mapping[str, str], plane: str) -> dict[str, str]:
    """A row with the columns of a file put in; columns that the file does not have stay as they are."""
    before = old or {STATE: CaseState.POSSIBLE}
    return {STATE: values.get(STATE) or before[STATE], **_answers(before, values, plane).as_json()}


def _answers(before: Mapping[str, str], values: Mapping[str, str], plane: str) -> Answers:
    """The answers of a row with a file's put in; they may contradict each other."""
    answers = answers_of(before)
    # the number of open teeth is put in behind the overbite, which may clear it
    for key in sorted(values, key=lambda name: name == "open_teeth"):
        # the same angle again keeps the plane that it was taken to
        if key != STATE and not (key == "sn_mp" and values[key] == answers.sn_mp):
            answers = put_in(answers, key, values[key], plane)
    return answers


def row_faults(
    portfolio: Portfolio, rows: Sequence[ImportRow], plane: str, *, locked: bool = False
) -> tuple[dict[int, list[tuple[str, str]]], dict[str, Case]]:
    """Line → column and words for what cannot be imported, and the cases that stand already, by code."""
    stand = standing_rows(portfolio, [row.code for row in rows], locked=locked)
    faults: dict[int, list[tuple[str, str]]] = {}
    seen: dict[str, int] = {}
    wanted = {row.code for row in rows if row.code} - set(stand)
    taken = _taken(wanted)
    for row in rows:
        found = faults.setdefault(row.line, [])
        if row.code and not is_code(row.code):
            found.append(("code", f'"{row.code[:20]}" is not a code. {CODE_RULE}'))
        elif row.code in taken:
            found.append(("code", CODE_IN_USE))
        if row.code and row.code in seen:
            found.append(("code", f"This code stands in line {seen[row.code]} already."))
        seen.setdefault(row.code, row.line)
        case = stand.get(row.code)
        before = kept(case.state, case.estimate) if case else {}
        found += list(contradictions(_answers(before, row.values, plane)))
    return {number: found for number, found in faults.items() if found}, stand


def _taken(codes: set[str]) -> set[str]:
    """Those of the codes that other cases have, whosever they are."""
    every = sorted(codes)
    found: set[str] = set()
    for start in range(0, len(every), AT_ONCE):
        part = every[start : start + AT_ONCE]
        found |= set(Case.objects.filter(code__in=part).values_list("code", flat=True))
    return found


def imported_before(portfolio: Portfolio, digest: str) -> LogChange | None:
    """The step that put the same bytes in, unless it was taken back or changed nothing."""
    rows = LogChange.objects.filter(
        portfolio=portfolio, digest=digest, undone_by__isnull=True, lines__isnull=False
    )
    return rows.exclude(digest="").order_by("-number").first()


def import_rows(
    by: User,
    portfolio: Portfolio,
    rows: Sequence[ImportRow],
    digest: str,
    plane: str,
    request_key: str,
    at: datetime,
) -> Imported | Refused:
    """Put all rows in, or none; the same bytes again change nothing until the import is taken back.

    `digest` is that of the file's bytes.
    """
    try:
        with transaction.atomic():
            locked = lock(portfolio.pk)
            if known(locked, request_key) or imported_before(locked, digest):
                return Imported(0, 0, again=True)
            faults, stand = row_faults(locked, rows, plane, locked=True)
            if faults:
                number, first = next(iter(faults.items()))
                return Refused({"": f"Line {number}, {first[0][0]}: {first[0][1]}"})
            change = step(by, locked, LogAction.IMPORT, request_key, at, digest=digest)
            changed = _change(change, [row for row in rows if row.code in stand], stand, plane)
            made = _make(change, [row for row in rows if row.code not in stand], plane)
            return Imported(made, changed, change.number)
    except IntegrityError:
        # a code was taken, or two drawn alike, between the look and the write
        return Refused({"": "Nothing was imported: a code was taken meanwhile. Send the file once more."})


def _change(change: LogChange, rows: Sequence[ImportRow], stand: Mapping[str, Case], plane: str) -> int:
    cases, lines = [], []
    for row in rows:
        case = stand[row.code]
        old = kept(case.state, case.estimate)
        new = merged(old, row.values, plane)
        if not moved(old, new):
            continue
        put(case, new)
        cases.append(case)
        lines.append(LogLine(change=change, case=case, old=old, new=new))
    Case.objects.bulk_update(cases, ["state", "estimate", "version"], batch_size=AT_ONCE)
    LogLine.objects.bulk_create(lines, batch_size=AT_ONCE)
    return len(cases)


def _make(change: LogChange, rows: Sequence[ImportRow], plane: str) -> int:
    patients = [Patient(portfolio=change.portfolio, code=new_code()) for _ in rows]
    for patient in patients:
        patient.searchable = folded(patient.code)
    Patient.objects.bulk_create(patients, batch_size=AT_ONCE)
    cases, lines = [], []
    for row, patient in zip(rows, patients, strict=True):
        new = merged(None, row.values, plane)
        case = Case(patient=patient, code=row.code or new_code(), state=new[STATE])
        case.estimate = answers_of(new).as_json() or None
        case.searchable = folded(case.code)
        cases.append(case)
        lines.append(LogLine(change=change, case=case, old=None, new=new))
    Case.objects.bulk_create(cases, batch_size=AT_ONCE)
    LogLine.objects.bulk_create(lines, batch_size=AT_ONCE)
    return len(cases)
