"""Who may see which scales: those of pictures that `portfolio.access` shows them."""

from django.db.models import QuerySet

from imaging.models import Calibration
from portfolio.access import Asker, visible_items


def visible_calibrations(user: Asker) -> QuerySet[Calibration]:
    """Statements about the scale of visible pictures."""
    return Calibration.objects.filter(item__in=visible_items(user))
