"""Writing a portfolio's own norms: putting one in force, taking the published one back, and undoing that."""

from dataclasses import asdict
from datetime import datetime

from django.db import IntegrityError, transaction

from accounts.models import User
from imaging.models import OwnNorm
from imaging.norms.places import Figures, Place
from portfolio.models import Portfolio
from portfolio.services.saving import ChangedMeanwhile, checked, save_version


def keep(
    by: User, portfolio: Portfolio, place: Place, figures: Figures, seen_version: int, at: datetime
) -> None:
    """Put the portfolio's own norm in force; `seen_version` is 0 where there was none. Raises ChangedMeanwhile."""
    row = _at(portfolio, place)
    fields = {**asdict(figures), "in_force": True, "by": by, "at": at}
    if row is not None:
        save_version(row, seen_version, fields)
        return
    if seen_version:
        raise ChangedMeanwhile
    fresh = checked(OwnNorm(portfolio=portfolio, **asdict(place), **fields))
    try:
        with transaction.atomic():
            fresh.save(force_insert=True)
    except IntegrityError as error:
        raise ChangedMeanwhile from error


def set_in_force(
    by: User, portfolio: Portfolio, place: Place, seen_version: int, at: datetime, *, own: bool
) -> None:
    """Let the published norm count again, or the own one that was set aside; raises ChangedMeanwhile."""
    row = _at(portfolio, place)
    if row is None:
        raise ChangedMeanwhile
    save_version(row, seen_version, {"in_force": own, "by": by, "at": at})


def _at(portfolio: Portfolio, place: Place) -> OwnNorm | None:
    return OwnNorm.objects.filter(portfolio=portfolio, **asdict(place)).first()
