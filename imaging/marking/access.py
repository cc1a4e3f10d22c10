"""Who may see which marks: those on pictures that `portfolio.access` shows them."""

from django.db.models import QuerySet

from imaging.models import Marking
from portfolio.access import Asker, visible_items


def visible_markings(user: Asker) -> QuerySet[Marking]:
    """Marks on visible pictures."""
    return Marking.objects.filter(item__in=visible_items(user))
