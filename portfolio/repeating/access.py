"""Who may see which repeats: the reader's own, of records that `portfolio.access` shows."""

from django.db.models import QuerySet

from portfolio.access import Asker, visible_record_sets
from portfolio.models import Sheet, SheetPurpose
from portfolio.repeating.models import RepeatSheet


def visible_repeat_sheets(user: Asker) -> QuerySet[RepeatSheet]:
    """The person's own repeats of visible records: open, handed in and given up."""
    return RepeatSheet.objects.filter(sheet__record_set__in=visible_record_sets(user), sheet__reader=user.pk)


def open_repeat_sheets(user: Asker) -> QuerySet[RepeatSheet]:
    """Those that are being measured."""
    return visible_repeat_sheets(user).filter(sheet__sealed=False)


def first_sheets(user: Asker) -> QuerySet[Sheet]:
    """The person's own working sheets of visible records, which can be repeated."""
    return Sheet.objects.filter(
        record_set__in=visible_record_sets(user), reader=user.pk, purpose=SheetPurpose.WORKING
    )
