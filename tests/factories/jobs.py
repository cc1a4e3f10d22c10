"""Makes jobs for tests, and kinds of jobs that do something small."""

from __future__ import annotations

import os
import time
from datetime import UTC, datetime
from pathlib import Path
from typing import Any

from accounts.models import User
from filing import services as filing_services
from filing.models import StoredFile
from jobs import services
from jobs.handle import JobFailed, JobHandle
from jobs.models import Job
from jobs.registry import Kind

NOON = datetime(2026, 3, 2, 12, tzinfo=UTC)


def job_of(who: User, **fields: Any) -> Job:
    """A job row as it stands, of a kind that no room offers."""
    details = {"kind": "trial", "subject": "subject", "input_digest": "digest", "asked_at": NOON, **fields}
    return Job.objects.create(asked_by=who, **details)


def asked(who: User, kind: str = "stir", **options: Any) -> Job:
    """A job asked for as the app does."""
    return services.ask(who, kind, "subject", "digest", NOON, options)


def _stir(handle: JobHandle) -> StoredFile:
    handle.progress(50, "Stirring")
    return filing_services.store(
        handle.asked_by, [b"stirred"], media_type="text/plain", role="result", shown_name="stirred.txt"
    )


def _crumble(handle: JobHandle) -> None:
    raise ZeroDivisionError("plaster")


def _too_dry(handle: JobHandle) -> None:
    raise JobFailed("The plaster is too dry: add water and run it again.")


def _wait(handle: JobHandle) -> None:
    """Goes on until it is told to stop; leaves its process id in the file named by the options."""
    if "file" in handle.options:
        Path(handle.options["file"]).write_text(str(os.getpid()))
    for percent in range(1200):
        handle.progress(min(percent, 99), "Setting")
        time.sleep(0.05)


STIR = Kind("stir", "Stirring of plaster", _stir, page=lambda subject: f"/{subject}/")
CRUMBLE = Kind("crumble", "Crumbling of plaster", _crumble)
TOO_DRY = Kind("too_dry", "Dry plaster", _too_dry)
WAIT = Kind("wait", "Setting of plaster", _wait)
