"""Setting an own figure for the error of a quantity by a method, taking the default back, and undoing that."""

from datetime import datetime

from django.db import IntegrityError, transaction

from accounts.models import User
from portfolio.error_figures.selectors import figures_of
from portfolio.models import ErrorFigure, Portfolio
from portfolio.services.saving import ChangedMeanwhile, checked


def set_figure(
    by: User, portfolio: Portfolio, quantity: str, method: str, sd: str, source: str, seen: int, at: datetime
) -> None:
    """Let an own figure count; `seen` is the number of the newest statement the page had seen, 0 for none.

    Raises ChangedMeanwhile when there is a newer one.
    """
    _state(by, portfolio, quantity, method, sd, source, seen, at)


def back_to_default(
    by: User, portfolio: Portfolio, quantity: str, method: str, seen: int, at: datetime
) -> None:
    """Let the default count again; the own figures stay in the history. Raises ChangedMeanwhile."""
    _state(by, portfolio, quantity, method, "", "", seen, at)


def own_again(by: User, portfolio: Portfolio, quantity: str, method: str, seen: int, at: datetime) -> None:
    """State the last own figure again after the default was taken back. Raises ChangedMeanwhile."""
    last = next((one for one in figures_of(portfolio, quantity, method) if one.sd), None)
    if last is None:
        raise ChangedMeanwhile
    _state(by, portfolio, quantity, method, last.sd, last.source, seen, at)


def _state(
    by: User, portfolio: Portfolio, quantity: str, method: str, sd: str, source: str, seen: int, at: datetime
) -> None:
    newest = next(iter(figures_of(portfolio, quantity, method)), None)
    if (newest.number if newest else 0) != seen:
        raise ChangedMeanwhile
    row = ErrorFigure(
        portfolio=portfolio,
        quantity=quantity,
        method=method,
        number=seen + 1,
        sd=sd,
        source=source,
        by=by,
        at=at,
    )
    try:
        with transaction.atomic():
            checked(row).save(force_insert=True)
    except IntegrityError as error:
        raise ChangedMeanwhile from error
