"""Read jobs as the frozen values that pages show."""

from dataclasses import dataclass
from datetime import datetime
from uuid import UUID

from accounts.models import User
from jobs import registry
from jobs.access import visible_jobs
from jobs.models import Job
from jobs.services import LOST_WORDS, UNFINISHED
from jobs.withholding import why_withheld
from jobs.work import STALE

STATE_WORDS = {
    Job.State.WAITING: "Waiting for its turn",
    Job.State.RUNNING: "In the works",
    Job.State.DONE: "Done",
    Job.State.FAILED: "Failed",
    Job.State.CANCELLED: "Cancelled",
    Job.State.WITHDRAWN: "No longer handed out",
}

AGAIN = (Job.State.FAILED, Job.State.CANCELLED, Job.State.WITHDRAWN)


@dataclass(frozen=True, slots=True)
class ShownJob:
    """One job on a page; `unfinished` pages ask again every second."""

    public_id: UUID
    label: str
    state: str
    state_words: str
    percent: int
    message: str
    note: str
    unfinished: bool
    can_cancel: bool
    can_run_again: bool
    result_size: int | None
    page: str


def shown(job: Job, at: datetime) -> ShownJob:
    """What a page says of a job; one that has lost its worker is shown as failed already, and a result is withheld."""
    try:
        kind = registry.kind(job.kind)
    except registry.UnknownKind:
        kind = None
    state, message = Job.State(job.state), job.message
    if state == Job.State.RUNNING and job.heartbeat is not None and job.heartbeat < at - STALE:
        state, message = Job.State.FAILED, LOST_WORDS
    if state == Job.State.DONE and job.result is not None and (why := why_withheld(job, at)):
        state, message = Job.State.WITHDRAWN, why
    unfinished = state in UNFINISHED
    if unfinished and job.cancel_asked:
        message = "Being cancelled …"
    return ShownJob(
        public_id=job.public_id,
        label=kind.label if kind else "Work that this version no longer does",
        state=state.value,
        state_words=STATE_WORDS[state],
        percent=job.percent,
        message=message if message != STATE_WORDS[state] + "." else "",
        note=job.note,
        unfinished=unfinished,
        can_cancel=unfinished and not job.cancel_asked,
        can_run_again=kind is not None and state in AGAIN,
        result_size=job.result.size if job.result and state == Job.State.DONE else None,
        page=kind.page(job.subject) if kind and kind.page else "",
    )


def latest(user: User, kind: str, subject: str, at: datetime) -> ShownJob | None:
    """The person's last job of this kind about a subject, to be shown beside what it is about."""
    job = (
        visible_jobs(user)
        .filter(kind=kind, subject=subject)
        .select_related("result", "asked_by")
        .order_by("-asked_at", "-pk")
        .first()
    )
    return shown(job, at) if job else None
