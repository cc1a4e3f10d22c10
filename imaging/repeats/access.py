"""Who may see which repeats: the reader's own, of pictures that `portfolio.access` shows."""

from django.db.models import QuerySet

from imaging.models import RepeatTracing
from portfolio.access import Asker, visible_items


def visible_repeats(user: Asker) -> QuerySet[RepeatTracing]:
    """The person's own repeats of visible pictures, finished or not."""
    return RepeatTracing.objects.filter(tracing__item__in=visible_items(user), tracing__reader=user.pk)
