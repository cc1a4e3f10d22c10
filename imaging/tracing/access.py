"""Who may see which tracings: those of pictures that `portfolio.access` shows them."""

from django.db.models import QuerySet

from imaging.models import Tracing
from portfolio.access import Asker, visible_items


def visible_tracings(user: Asker) -> QuerySet[Tracing]:
    """Tracings of visible pictures."""
    return Tracing.objects.filter(item__in=visible_items(user))
