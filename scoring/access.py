"""Who may see which kept scores and tallies: those of sheets that `portfolio.access` shows them."""

from django.db.models import QuerySet

from portfolio.access import Asker, visible_sheets
from scoring.models import ScoreRun, TypedTally


def visible_runs(user: Asker) -> QuerySet[ScoreRun]:
    """Kept scores of visible sheets."""
    return ScoreRun.objects.filter(sheet__in=visible_sheets(user))


def visible_tallies(user: Asker) -> QuerySet[TypedTally]:
    """Typed tallies of visible sheets."""
    return TypedTally.objects.filter(sheet__in=visible_sheets(user))
