"""Do one job from claim to end: whatever happens to the work, its row ends as done, failed or cancelled."""

import logging
import os
import socket
import threading
from collections.abc import Iterator
from contextlib import contextmanager
from datetime import timedelta

from django.db import connection
from django.utils import timezone

from filing import services as filing_services
from filing.models import StoredFile
from jobs import registry, withholding
from jobs.handle import STOPPED_WORDS, Cancelled, JobFailed, JobHandle
from jobs.models import Job

BEAT_SECONDS = 5.0
STALE = timedelta(seconds=30)
"""A running job without a beat for this long has lost its worker."""

FAULT_WORDS = "The work was broken off by a fault. Run it again; if that fails too, ask the administrator."
CANCELLED_WORDS = "Cancelled."
logger = logging.getLogger("foliowright.jobs")


def run_job(number: int) -> None:
    """Do the waiting job with this primary key; nothing happens if it is not waiting any more."""
    now = timezone.now()
    waiting = Job.objects.filter(pk=number, state=Job.State.WAITING)
    begun = {
        "state": Job.State.RUNNING,
        "percent": 0,
        "message": "",
        "heartbeat": now,
        "worker": this_worker(),
    }
    if not waiting.update(**begun):
        return
    job = Job.objects.select_related("asked_by").get(pk=number)
    result: StoredFile | None = None
    try:
        with _heart(number):
            result = registry.kind(job.kind).work(JobHandle(job))
        ended = _end(number, Job.State.DONE, "", result)
        if not ended:
            raise Cancelled
        withholding.withdraw_result(
            Job.objects.select_related("result", "asked_by").get(pk=number), timezone.now()
        )
    except Cancelled:
        _end(number, Job.State.CANCELLED, CANCELLED_WORDS)
        _throw_away(result)
    except JobFailed as failure:
        _end(number, Job.State.FAILED, str(failure))
    except (SystemExit, KeyboardInterrupt):
        _end(number, Job.State.FAILED, STOPPED_WORDS)
        raise
    except Exception:
        logger.exception("A job of kind %s was broken off", job.kind)
        _end(number, Job.State.FAILED, FAULT_WORDS)
        _throw_away(result)


def this_worker() -> str:
    """Name of this process among all machines that use the database."""
    return f"{socket.gethostname()[:80]}/{os.getpid()}"


def worker_is_gone(worker: str) -> bool:
    """Whether this machine knows that the process has ended; of other machines only heartbeats tell."""
    machine, _, number = worker.rpartition("/")
    if machine != socket.gethostname()[:80]:
        return False
    try:
        os.kill(int(number), 0)
    except ProcessLookupError:
        return True
    except PermissionError:
        return False
    return False


def _end(number: int, state: Job.State, message: str, result: StoredFile | None = None) -> bool:
    """Write how the job ended, if it is still running; a job cancelled meanwhile cannot end as done."""
    running = Job.objects.filter(pk=number, state=Job.State.RUNNING)
    changes: dict[str, object] = {"state": state, "message": message[:300], "ended_at": timezone.now()}
    if state == Job.State.DONE:
        running = running.filter(cancel_asked=False)
        changes |= {"percent": 100, "result": result}
    return bool(running.update(**changes))


def _throw_away(result: StoredFile | None) -> None:
    if result is not None:
        filing_services.remove(result)


@contextmanager
def _heart(number: int) -> Iterator[None]:
    """Renew the job's heartbeat from a thread of its own, so that long steps do not look dead."""
    over = threading.Event()

    def beat() -> None:
        while not over.wait(BEAT_SECONDS):
            try:
                Job.objects.filter(pk=number, state=Job.State.RUNNING).update(heartbeat=timezone.now())
            except Exception:
                logger.exception("A heartbeat was missed")
            finally:
                connection.close()

    thread = threading.Thread(target=beat, name="heartbeat", daemon=True)
    thread.start()
    try:
        yield
    finally:
        over.set()
        thread.join(BEAT_SECONDS)
