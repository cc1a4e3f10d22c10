"""Answers to the page of the case log as plain JSON: what stands now, what was refused, what another window saved."""

from collections.abc import Iterable, Mapping
from typing import Any

from django.template.loader import render_to_string

from desk.case_log.page import undoable
from desk.case_log.rows import LogRow, Reading, columns, field_states, log_rows, reading_of
from portfolio.access import Asker
from portfolio.case_log.answers import BY_KEY, shown
from portfolio.case_log.rows import words
from portfolio.case_log.services import Changed, Undone
from portfolio.models import Case, Portfolio


def saved_answer(user: Asker, portfolio: Portfolio, case: Case, said: Mapping[str, str]) -> dict[str, Any]:
    """The row as it stands after a save."""
    reading = reading_of(portfolio)
    row = log_rows(user, [case], reading)[0]
    return {
        "fields": field_states(row),
        "figure": render_to_string("desk/case_log/figure.html", {"row": row}),
        "why": render_to_string("desk/case_log/why.html", {"row": row}),
        "said": dict(said),
        "undo": _undo(user, portfolio),
    }


def rows_answer(
    user: Asker, portfolio: Portfolio, cases: Iterable[Case], gone: Iterable[str] = (), text: str = ""
) -> dict[str, Any]:
    """Whole rows to put into the page, and those to take out of it."""
    reading = reading_of(portfolio)
    return {
        "rows": [
            {"id": str(row.public_id), "html": _row(row, reading)}
            for row in log_rows(user, list(cases), reading)
        ],
        "gone": list(gone),
        "words": text,
        "undo": _undo(user, portfolio),
    }


def undone_answer(user: Asker, portfolio: Portfolio, answer: Undone) -> dict[str, Any]:
    """What an undo did."""
    return rows_answer(user, portfolio, answer.cases, answer.gone, answer.words)


def changed_answer(answer: Changed) -> dict[str, Any]:
    """What other windows have made of the fields meanwhile."""
    return {
        "theirs": {
            key: {
                "value": value,
                "text": shown(key, value) if key in BY_KEY else value,
                "words": words(key, value),
            }
            for key, value in answer.stored.items()
        }
    }


def _row(row: LogRow, reading: Reading) -> str:
    return render_to_string("desk/case_log/row.html", {"row": row, "columns": columns(reading)})


def _undo(user: Asker, portfolio: Portfolio) -> dict[str, Any]:
    found = undoable(user, portfolio)
    return {"number": found.number, "words": found.words} if found else {"number": 0, "words": ""}
