"""Results that may not be handed out any more: refused at once, and removed for good."""

from collections.abc import Iterable
from datetime import datetime

from django.db import transaction

from filing import services as filing_services
from jobs import registry
from jobs.models import Job


def why_withheld(job: Job, at: datetime) -> str:
    """Why the result of a job may not be handed out at this time; empty while it may."""
    try:
        rule = registry.kind(job.kind).withheld
    except registry.UnknownKind:
        return ""
    return rule(job, at) if rule else ""


def withdraw(at: datetime, subjects: Iterable[str] | None = None) -> int:
    """Remove every result that may not be handed out any more, of these subjects or of all; how many."""
    done = Job.objects.filter(state=Job.State.DONE, result__isnull=False)
    if subjects is not None:
        done = done.filter(subject__in=list(subjects))
    return sum(withdraw_result(job, at) for job in done.select_related("result", "asked_by"))


def withdraw_result(job: Job, at: datetime) -> bool:
    """Remove the result of a done job if it may not be handed out any more; whether it was removed."""
    words = why_withheld(job, at)
    if not words or job.result is None:
        return False
    with transaction.atomic():
        mine = Job.objects.filter(pk=job.pk, state=Job.State.DONE, result=job.result)
        if not mine.update(state=Job.State.WITHDRAWN, message=words[:300], result=None):
            return False
        filing_services.remove(job.result)
    return True
