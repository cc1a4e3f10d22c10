"""One step of the log under the lock of its portfolio: known requests, numbers, lines of history."""

from collections.abc import Mapping
from datetime import datetime

from accounts.models import User
from portfolio.case_log.models import LogAction, LogChange, LogLine
from portfolio.case_log.rows import STATE, answers_of
from portfolio.models import Case, Portfolio

AT_ONCE = 500
"""Rows written by one statement."""


def lock(portfolio_pk: int) -> Portfolio:
    """The portfolio, locked until the transaction that is open ends, so that steps of one log come one by one."""
    return Portfolio.objects.select_for_update(no_key=True).get(pk=portfolio_pk)


def known(portfolio: Portfolio, request_key: str) -> LogChange | None:
    """The step that the same request made before."""
    return LogChange.objects.filter(portfolio=portfolio, request_key=request_key).first()


def step(
    by: User,
    portfolio: Portfolio,
    action: LogAction,
    request_key: str,
    at: datetime,
    *,
    digest: str = "",
    undoes: LogChange | None = None,
) -> LogChange:
    """The next step in the history."""
    last = LogChange.objects.filter(portfolio=portfolio).order_by("-number").first()
    return LogChange.objects.create(
        portfolio=portfolio,
        number=last.number + 1 if last else 1,
        by=by,
        at=at,
        action=action,
        request_key=request_key,
        digest=digest,
        undoes=undoes,
    )


def line(change: LogChange, case: Case, old: Mapping[str, str] | None, new: Mapping[str, str] | None) -> None:
    """Keep what the step did to one case."""
    LogLine.objects.create(change=change, case=case, old=old, new=new)


def put(case: Case, row: Mapping[str, str]) -> None:
    """Put a row's state and answers into its case and raise the version, so that open forms notice; not yet stored."""
    case.state = row[STATE]
    case.estimate = answers_of(row).as_json() or None
    case.version += 1


def write(case: Case, row: Mapping[str, str]) -> None:
    """Store a row's state and answers in its case."""
    put(case, row)
    case.full_clean()
    case.save(update_fields=["state", "estimate", "version"])
