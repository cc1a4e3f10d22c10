"""Reading the history of a case log: what can be taken back next, and what was imported."""

from dataclasses import dataclass
from datetime import datetime

from django.db.models import Count, Q, QuerySet

from portfolio.access import Asker
from portfolio.case_log.access import visible_log_changes
from portfolio.case_log.models import LogAction, LogLine
from portfolio.case_log.rows import change_words
from portfolio.case_log.services.importing import imported_before as _before
from portfolio.models import Portfolio, RepeatSheet


@dataclass(frozen=True, slots=True)
class Undoable:
    """The step that is taken back next: its number and what it did."""

    number: int
    words: str


@dataclass(frozen=True, slots=True)
class ImportStep:
    """An import that stands in the log."""

    number: int
    at: datetime
    by_name: str
    made: int
    changed: int


def next_undo(
    user: Asker, portfolio: Portfolio, but: QuerySet[RepeatSheet, int] | None = None
) -> Undoable | None:
    """The newest step that was not taken back and whose cases still are; None where there is none.

    Of steps that touch a case in `but` (primary keys) nothing is told and nothing offered.
    """
    rows = visible_log_changes(user).filter(portfolio=portfolio, undone_by__isnull=True, lines__isnull=False)
    rows = rows.exclude(action=LogAction.UNDO)
    if but is not None:
        rows = rows.exclude(lines__case__in=but)
    change = rows.order_by("-number").distinct().first()
    if change is None:
        return None
    lines = LogLine.objects.filter(change=change).select_related("case")
    if change.action == LogAction.IMPORT:
        return Undoable(change.number, f"import of {lines.count()} rows")
    one = lines[0]
    return Undoable(change.number, f"{one.case.code}, {change_words(one.old, one.new)}")


def touches(user: Asker, portfolio: Portfolio, number: int, cases: QuerySet[RepeatSheet, int]) -> bool:
    """Whether a step of the log changed one of the cases, given by primary keys."""
    rows = visible_log_changes(user).filter(portfolio=portfolio, number=number)
    return rows.filter(lines__case__in=cases).exists()


def imports(user: Asker, portfolio: Portfolio) -> tuple[ImportStep, ...]:
    """Imports that changed something and were not taken back, newest first."""
    rows = visible_log_changes(user).filter(
        portfolio=portfolio, action=LogAction.IMPORT, undone_by__isnull=True, lines__isnull=False
    )
    counted = rows.annotate(
        made=Count("lines", filter=Q(lines__old__isnull=True)),
        changed=Count("lines", filter=Q(lines__old__isnull=False)),
    )
    return tuple(
        ImportStep(row.number, row.at, str(row.by), row.made, row.changed)
        for row in counted.select_related("by").order_by("-number")
    )


def imported_at(portfolio: Portfolio, digest: str) -> datetime | None:
    """When the same bytes were imported, unless that was taken back."""
    found = _before(portfolio, digest)
    return found.at if found else None
