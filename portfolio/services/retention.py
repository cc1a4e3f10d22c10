"""Deleted cases are kept for a stated time and then erased for good."""

from datetime import datetime, timedelta

from django.db import transaction

from portfolio.models import Case
from portfolio.services.cases import erase_case

KEPT_AFTER_DELETION = timedelta(days=30)
"""As long a deleted case can be restored."""


def erase_long_deleted(at: datetime) -> int:
    """Erase every case that was deleted more than KEPT_AFTER_DELETION before `at`, as its owner would; how many."""
    erased = 0
    due = Case.objects.filter(deleted_at__lt=at - KEPT_AFTER_DELETION)
    for number in list(due.order_by("pk").values_list("pk", flat=True)):
        with transaction.atomic():
            case = due.select_for_update().filter(pk=number).first()
            if case is None:  # restored or erased meanwhile
                continue
            erase_case(case, case.code)
        erased += 1
    return erased
