"""What a job's work holds in its hand: inputs to read, progress to tell, and the call to stop."""

import threading
from collections.abc import Mapping
from types import MappingProxyType
from typing import Any

from django.utils import timezone

from accounts.models import User
from jobs.models import Job

STOPPED_WORDS = "The server was stopped while this was running. Run it again."
stopping = threading.Event()
"""Set when this worker is told to end; the running work notices at its next word of progress."""


class Cancelled(Exception):
    """The person has cancelled the job, or it is no longer this worker's: stop, and leave nothing behind."""


class JobFailed(Exception):
    """The work cannot be done; the message says why and what to do, in words for the person who asked."""


class JobHandle:
    """One running job, as its work sees it."""

    def __init__(self, job: Job) -> None:
        self._number = job.pk
        self.subject: str = job.subject
        self.input_digest: str = job.input_digest
        self.options: Mapping[str, Any] = MappingProxyType(dict(job.options))
        self.asked_by: User = job.asked_by

    def progress(self, percent: int, message: str = "") -> None:
        """Tell how far the work is (0 to 100) and what it does now; call it often and outside transactions.

        Raises Cancelled once the person has cancelled, and JobFailed once the server is being stopped.
        """
        if stopping.is_set():
            raise JobFailed(STOPPED_WORDS)
        mine = Job.objects.filter(pk=self._number, state=Job.State.RUNNING, cancel_asked=False)
        shown = max(0, min(100, int(percent)))
        if not mine.update(percent=shown, message=message[:300], heartbeat=timezone.now()):
            raise Cancelled
