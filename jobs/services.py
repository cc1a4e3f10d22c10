"""Ask for a job, cancel it, take it up after a killed worker, and forget it."""

from collections.abc import Mapping
from datetime import datetime, timedelta
from typing import Any
from uuid import UUID

from django.db import IntegrityError, transaction
from django.db.models import Q
from django_tasks_db.models import DBTaskResult

from accounts.models import User
from filing import services as filing_services
from jobs import registry
from jobs.models import Job
from jobs.tasks import do_job
from jobs.work import CANCELLED_WORDS, STALE, worker_is_gone

UNFINISHED = (Job.State.WAITING, Job.State.RUNNING)
LOST_WORDS = "The work stopped before it was finished. Run it again."
CHANGED_NOTE = "What this is about was changed since it was first asked for: this is how it is now."
UNCLAIMED = timedelta(seconds=60)
KEPT = timedelta(days=30)
"""How long ended jobs and their results stay."""


def ask(
    by: User,
    kind: str,
    subject: str,
    input_digest: str,
    at: datetime,
    options: Mapping[str, Any] | None = None,
) -> Job:
    """The person's unfinished job with these inputs, made and queued if there is none.

    `options` is handed to the work and must be told apart by `input_digest` (at most 64 characters). Raises
    registry.UnknownKind.
    """
    registry.kind(kind)
    same = Job.objects.filter(
        kind=kind, subject=subject, input_digest=input_digest, asked_by=by, state__in=UNFINISHED
    )
    while True:
        unfinished = same.first()
        if unfinished is not None:
            return unfinished
        try:
            with transaction.atomic():
                job = Job.objects.create(
                    kind=kind,
                    subject=subject,
                    input_digest=input_digest,
                    options=dict(options or {}),
                    asked_by=by,
                    asked_at=at,
                )
                _queue(job)
                return job
        except IntegrityError:  # the second click was quicker
            if not same.exists():
                continue


def ask_again(job: Job, at: datetime) -> Job:
    """The job that does anew what an ended one was about, as it is now; its note says so if that has changed.

    Raises registry.UnknownKind, and JobFailed with words when it cannot be done.
    """
    kind = registry.kind(job.kind)
    if kind.again is None:
        return ask(job.asked_by, job.kind, job.subject, job.input_digest, at, job.options)
    anew = kind.again(job, at)
    if anew.input_digest != job.input_digest:
        anew.note = CHANGED_NOTE
        anew.save(update_fields=["note"])
    return anew


def cancel(by: User, job: Job, at: datetime) -> Job:
    """Cancel a job of one's own: at once while it waits or has lost its worker, else at its next step.

    A job that has ended stays as it is. Raises PermissionError for somebody else's job.
    """
    if job.asked_by_id != by.pk:
        raise PermissionError("Only the person who asked for a job cancels it.")
    mine = Job.objects.filter(pk=job.pk)
    ended = {"state": Job.State.CANCELLED, "message": CANCELLED_WORDS, "ended_at": at, "cancel_asked": True}
    stopped = mine.filter(state=Job.State.WAITING).update(**ended)
    stopped = stopped or mine.filter(state=Job.State.RUNNING, heartbeat__lt=at - STALE).update(**ended)
    if not stopped:
        mine.filter(state=Job.State.RUNNING).update(cancel_asked=True)
    job.refresh_from_db()
    return job


def recover(at: datetime) -> int:
    """End jobs whose worker is gone, and queue anew those that a worker took up and never began; how many."""
    running = Job.objects.filter(state=Job.State.RUNNING)
    gone = [name for name in set(running.values_list("worker", flat=True)) if worker_is_gone(name)]
    lost = running.filter(Q(heartbeat__lt=at - STALE) | Q(worker__in=gone))
    count = lost.filter(cancel_asked=True).update(
        state=Job.State.CANCELLED, message=CANCELLED_WORDS, ended_at=at
    )
    count += lost.update(state=Job.State.FAILED, message=LOST_WORDS, ended_at=at)
    for job in Job.objects.filter(state=Job.State.WAITING, asked_at__lt=at - UNCLAIMED):
        if job.queued_as is None or not DBTaskResult.objects.ready().filter(pk=job.queued_as).exists():
            _queue(job)
            count += 1
    return count


def forget(subject: str) -> None:
    """Remove all ended jobs about a subject with their results, and cancel the others: it is being erased."""
    _remove(Job.objects.filter(subject=subject).exclude(state__in=UNFINISHED))
    Job.objects.filter(subject=subject, state=Job.State.WAITING).delete()
    Job.objects.filter(subject=subject, state=Job.State.RUNNING).update(cancel_asked=True)


def clear_old(at: datetime) -> int:
    """Remove jobs that ended more than KEPT ago, with their results and the queue's notes; how many jobs."""
    DBTaskResult.objects.finished().filter(finished_at__lt=at - KEPT).delete()
    DBTaskResult.objects.running().filter(started_at__lt=at - KEPT).delete()
    return _remove(Job.objects.filter(ended_at__lt=at - KEPT))


def _remove(jobs: Any) -> int:
    removed = 0
    for job in jobs.select_related("result"):
        with transaction.atomic():
            job.delete()
            if job.result is not None:
                filing_services.remove(job.result)
        removed += 1
    return removed


def _queue(job: Job) -> None:
    job.queued_as = UUID(str(do_job.enqueue(job.pk).id))
    job.save(update_fields=["queued_as"])
