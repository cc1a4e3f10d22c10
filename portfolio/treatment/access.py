"""Who may see which treatment events and statements: those of the cases that `portfolio.access` shows."""

from django.db.models import QuerySet

from portfolio.access import Asker, visible_cases
from portfolio.models import CaseStatements, TreatmentEvent


def visible_events(user: Asker) -> QuerySet[TreatmentEvent]:
    """Events of visible cases that are not removed."""
    return TreatmentEvent.objects.filter(case__in=visible_cases(user), removed_at__isnull=True)


def removed_events(user: Asker) -> QuerySet[TreatmentEvent]:
    """Removed events of visible cases, which may be put back or erased."""
    return TreatmentEvent.objects.filter(case__in=visible_cases(user), removed_at__isnull=False)


def visible_statements(user: Asker) -> QuerySet[CaseStatements]:
    """Statements about visible cases."""
    return CaseStatements.objects.filter(case__in=visible_cases(user))
