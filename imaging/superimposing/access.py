"""Who may see which marks on stable structures: those of tracings that the person may see."""

from django.db.models import QuerySet

from imaging.models import StableMarks
from imaging.tracing.access import visible_tracings
from portfolio.access import Asker


def visible_stable_marks(user: Asker) -> QuerySet[StableMarks]:
    """Marks of visible tracings."""
    return StableMarks.objects.filter(tracing__in=visible_tracings(user))
