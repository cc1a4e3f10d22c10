"""Who may see the history of which case logs: the owner of the portfolio."""

from django.db.models import QuerySet

from portfolio.access import Asker, visible_portfolios
from portfolio.case_log.models import LogChange


def visible_log_changes(user: Asker) -> QuerySet[LogChange]:
    """Changes of the case logs of the person's portfolios."""
    return LogChange.objects.filter(portfolio__in=visible_portfolios(user))
