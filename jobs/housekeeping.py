"""What the worker does by itself: every hour what must not stay, once a night the health check and old jobs."""

import logging
from collections.abc import Callable
from datetime import datetime, timedelta

from django.conf import settings
from django.utils.module_loading import import_string

from filing import health, kept_backups, trial_place
from filing import services as filing_services
from jobs import services, withholding


def daily(at: datetime) -> None:
    """Do what is due on this day, once."""
    if health.daily(at) is not None:
        services.clear_old(at)
        withholding.withdraw(at)


HOUR = timedelta(hours=1)
logger = logging.getLogger("foliowright.jobs")


def hourly(at: datetime, last: datetime | None) -> datetime:
    """If an hour has passed since `last`: sweep, let old backups go, and what rooms name; when it was done last.

    A fault in one piece of work does not keep the others from being done.
    """
    if last is not None and at - last < HOUR:
        return last
    works: list[Callable[[datetime], object]] = [
        filing_services.sweep,
        kept_backups.let_go_of_old,
        trial_place.clear_leavings,
        *(import_string(name) for name in settings.HOURLY_WORK),
    ]
    for work in works:
        try:
            work(at)
        except Exception:
            logger.exception("A piece of the hourly work was broken off")
    return at
