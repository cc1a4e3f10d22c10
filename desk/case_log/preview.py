"""What importing a table would do to the log: rows beside what stands, faults by line, nothing stored."""

import hashlib
from collections.abc import Iterable, Mapping
from dataclasses import dataclass
from datetime import datetime

from desk.case_log.rows import Reading
from desk.case_log.table_file import Asked, TableFault, TableFile, column_name, labels, read_table
from desk.repeats.shut import SHUT_WORDS, open_cases
from portfolio.access import Asker
from portfolio.case_log.rows import ImportRow, answers_of, kept, label, moved, words
from portfolio.case_log.selectors import imported_at
from portfolio.case_log.services import merged, row_faults
from portfolio.models import Case, Portfolio
from scoring.indices.discrepancy.estimate import floor
from scoring.present import number_words

SHOWN = 100
"""So many rows, and faults, stand in a preview; of more the number is told."""


@dataclass(frozen=True, slots=True)
class PreviewRow:
    """One row of the file: what would become of it, its cells in words, the least total then."""

    line: int
    code: str
    kind: str
    cells: tuple[str, ...]
    changes: tuple[str, ...]
    least: str


@dataclass(frozen=True, slots=True)
class Preview:
    """A file against the log.  It can be imported when `can_import` says so."""

    file: TableFile
    headings: tuple[str, ...]
    rows: tuple[PreviewRow, ...]
    counts: tuple[tuple[str, int], ...]
    faults: tuple[TableFault, ...]
    more_faults: int
    more_rows: int
    again: datetime | None
    """When the same bytes were imported, unless that was taken back."""

    @property
    def can_import(self) -> bool:
        return bool(self.file.rows) and not (self.faults or self.file.questions or self.again)


def digest(content: bytes) -> str:
    """The name by which the same bytes are known again."""
    return hashlib.sha256(content).hexdigest()


def preview(user: Asker, portfolio: Portfolio, content: bytes, asked: Asked, reading: Reading) -> Preview:
    """What the bytes would do; reads only, in a number of queries that does not depend on the rows."""
    file = read_table(content, asked)
    stand: Mapping[str, Case] = {}
    faults = list(file.faults)
    if file.rows:
        found, stand = row_faults(portfolio, file.rows, reading.plane)
        faults += [
            TableFault(line, column_name(key), text) for line, every in found.items() for key, text in every
        ]
        faults += _shut(user, file.rows, stand)
        faults.sort(key=lambda fault: fault.line)
    kinds = [_kind(row, stand, reading) for row in file.rows]
    keys = [key for key in file.columns if key != "code"]
    shown_rows = zip(file.rows[:SHOWN], kinds, strict=False)
    return Preview(
        file=file,
        headings=tuple(labels(keys)),
        rows=() if faults else tuple(_row(row, kind, keys, stand, reading) for row, kind in shown_rows),
        counts=tuple((kind, kinds.count(kind)) for kind in ("new", "changed", "unchanged")),
        faults=tuple(faults[:SHOWN]),
        more_faults=max(0, len(faults) - SHOWN),
        more_rows=max(0, len(file.rows) - SHOWN),
        again=imported_at(portfolio, digest(content)),
    )


def _shut(user: Asker, rows: Iterable[ImportRow], stand: Mapping[str, Case]) -> Iterable[TableFault]:
    """Rows of cases that are being measured again: what stands in them must not be shown beside the file."""
    shut = set(open_cases(user))
    for row in rows:
        if row.code in stand and stand[row.code].pk in shut:
            yield TableFault(row.line, "code", f"Case {row.code} is {SHUT_WORDS}.")


def _kind(row: ImportRow, stand: Mapping[str, Case], reading: Reading) -> str:
    case = stand.get(row.code)
    if case is None:
        return "new"
    old = kept(case.state, case.estimate)
    return "changed" if moved(old, merged(old, row.values, reading.plane)) else "unchanged"


def _row(
    row: ImportRow, kind: str, keys: list[str], stand: Mapping[str, Case], reading: Reading
) -> PreviewRow:
    case = stand.get(row.code)
    old = kept(case.state, case.estimate) if case else None
    new = merged(old, row.values, reading.plane)
    changes = (
        f"{label(key)} {words(key, old.get(key, ''))} → {words(key, new.get(key, ''))}"
        for key in (moved(old, new) if old else ())
        if old and key != "plane"
    )
    least = floor(answers_of(new), reading.choices)
    return PreviewRow(
        line=row.line,
        code=row.code,
        kind=kind,
        cells=tuple(words(key, row.values[key]) if key in row.values else "" for key in keys),
        changes=tuple(changes),
        least="" if least is None else number_words(least),
    )
