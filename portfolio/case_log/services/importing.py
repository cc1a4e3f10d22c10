"""Rows of a file put into the log in one step: new cases made, known ones changed, or nothing at all."""

import re
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass, replace
from datetime import datetime

from django.db import IntegrityError, transaction

from accounts.models import User
from portfolio.case_log.answers import EMPTY, Answers, contradictions
from portfolio.case_log.models import LogAction, LogChange, LogLine
from portfolio.case_log.rows import STATE, ImportRow, answers_of, kept, moved
from portfolio.case_log.services.answers import Imported, Refused
from portfolio.case_log.services.keeping import AT_ONCE, known, lock, put, step
from portfolio.case_log.services.saving import CODE_IN_USE, CODE_RULE
from portfolio.codes import is_code, new_code
from portfolio.models import Case, CaseState, Patient, Portfolio
from portfolio.searching import folded

_A_NUMBER = re.compile(r"[0-9]([.,][0-9]+)?E[+][0-9]+", re.ASCII)
MEANWHILE = "Nothing was imported: the log was changed meanwhile. Send the table once more."


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
    """The answers of a row with a file's put in, by the manners of `put_in`; they may contradict each other."""
    answers = answers_of(before) if before else EMPTY
    put = {key: value for key, value in values.items() if key != STATE}
    # the same angle again keeps the plane that it was taken to
    if "sn_mp" in put and put["sn_mp"] != answers.sn_mp:
        put["plane"] = plane
    changed = replace(answers, **put)
    if "overbite" in put and not changed.is_open and "open_teeth" not in put:
        changed = replace(changed, open_teeth="")
    return changed


def row_faults(
    portfolio: Portfolio, rows: Sequence[ImportRow], plane: str
) -> tuple[dict[int, list[tuple[str, str]]], dict[str, Case]]:
    """Line → column and words for what cannot be imported, and the cases that stand already, by code."""
    stand = standing_rows(portfolio, [row.code for row in rows])
    faults: dict[int, list[tuple[str, str]]] = {}
    seen: dict[str, int] = {}
    wanted = {row.code for row in rows if row.code} - set(stand)
    taken = _taken(wanted)
    for row in rows:
        found = faults.setdefault(row.line, [])
        if row.code and not is_code(row.code):
            made_a_number = " A spreadsheet has turned it into a number: make the column text."
            hint = made_a_number if _A_NUMBER.fullmatch(row.code) else ""
            found.append(("code", f'"{row.code[:20]}" is not a code.{hint} {CODE_RULE}'))
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


@dataclass(frozen=True, slots=True)
class _Made:
    """New rows, ready to be stored: everything that takes time was done before anything is locked."""

    patients: list[Patient]
    cases: list[Case]
    news: list[dict[str, str]]


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
    faults, stood = row_faults(portfolio, rows, plane)
    if faults and not imported_before(portfolio, digest):
        number, first = next(iter(faults.items()))
        return Refused({"": f"Line {number}, {first[0][0]}: {first[0][1]}"})
    made = _made(portfolio, [row for row in rows if row.code not in stood], plane)
    known_rows = [row for row in rows if row.code in stood]
    try:
        with transaction.atomic():
            locked = lock(portfolio.pk)
            if known(locked, request_key) or imported_before(locked, digest):
                return Imported(0, 0, again=True)
            stand = standing_rows(locked, stood, locked=True) if stood else {}
            if set(stand) != set(stood) or _contradicted(known_rows, stand, plane):
                return Refused({"": MEANWHILE})
            change = step(by, locked, LogAction.IMPORT, request_key, at, digest=digest)
            changed = _change(change, known_rows, stand, plane)
            _store(change, made)
            return Imported(len(made.cases), changed, change.number)
    except IntegrityError:
        # a code was taken, or two drawn alike, between the look and the write
        return Refused({"": MEANWHILE})


def _contradicted(rows: Sequence[ImportRow], stand: Mapping[str, Case], plane: str) -> bool:
    cases = ((row, stand[row.code]) for row in rows)
    return any(
        True
        for row, case in cases
        for _ in contradictions(_answers(kept(case.state, case.estimate), row.values, plane))
    )


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


def _made(portfolio: Portfolio, rows: Sequence[ImportRow], plane: str) -> _Made:
    patients, cases, news = [], [], []
    for row in rows:
        patient = Patient(portfolio=portfolio, code=new_code())
        patient.searchable = folded(patient.code)
        estimate = _answers({}, row.values, plane).as_json()
        state = row.values.get(STATE) or str(CaseState.POSSIBLE)
        case = Case(patient=patient, code=row.code or new_code(), state=state, estimate=estimate or None)
        case.searchable = folded(case.code)
        patients.append(patient)
        cases.append(case)
        news.append({STATE: state, **estimate})
    return _Made(patients, cases, news)


def _store(change: LogChange, made: _Made) -> None:
    Patient.objects.bulk_create(made.patients, batch_size=AT_ONCE)
    Case.objects.bulk_create(made.cases, batch_size=AT_ONCE)
    pairs = zip(made.cases, made.news, strict=True)
    lines = [LogLine(change=change, case=case, old=None, new=new) for case, new in pairs]
    LogLine.objects.bulk_create(lines, batch_size=AT_ONCE)
