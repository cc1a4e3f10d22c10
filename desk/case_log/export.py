"""The log as CSV: our own column names, numbers with a decimal point, text that no spreadsheet takes for a formula."""

import csv
import io
from collections.abc import Iterable

from desk.case_log.rows import Reading
from desk.case_log.table_file import COLUMNS, TOLD_ONLY
from desk.change.export import harmless
from portfolio.ages import age_text
from portfolio.case_log.answers import FIELDS, Answers, read_answers
from portfolio.models import Case
from scoring.indices.discrepancy.estimate import floor
from scoring.shapes import plain


def template() -> str:
    """An empty table: the heading alone."""
    return _csv([COLUMNS])


def csv_text(cases: Iterable[Case], reading: Reading) -> str:
    """The heading and one row for each case; the least total stands last and is not read back."""
    return _csv([(*COLUMNS, TOLD_ONLY), *(_row(case, reading) for case in cases)])


def _row(case: Case, reading: Reading) -> tuple[str, ...]:
    answers, _ = read_answers(case.estimate)
    least = floor(answers, reading.choices)
    cells = [_cell(answers, field.key) for field in FIELDS]
    return (harmless(case.code), *cells, case.state, "" if least is None else plain(least))


def _cell(answers: Answers, key: str) -> str:
    """Numbers keep their sign as numbers do; everything else is a code or an age."""
    value = answers.text(key)
    return age_text(int(value)) if key == "age_months" and value else value


def _csv(rows: Iterable[Iterable[str]]) -> str:
    out = io.StringIO()
    csv.writer(out).writerows(rows)
    return out.getvalue()
