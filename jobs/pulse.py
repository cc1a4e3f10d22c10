"""The worker's sign of life: an empty file of the data folder, touched in each of its rounds.

One for each machine (or container), so that a worker elsewhere does not stand for one that is gone here.
"""

import socket
import time
from pathlib import Path

SILENT_SECONDS = 60.0
"""Several rounds long: a worker silent for so long is gone, or cannot reach its database."""

FORGOTTEN_SECONDS = 24 * 60 * 60.0
"""After so long the file of a machine that was ended without a word is cleared away."""


def file(data: Path) -> Path:
    return data / f"worker-alive-{socket.gethostname()[:80]}"


def beat(data: Path) -> None:
    """The worker of this machine works now."""
    file(data).touch()
    for other in data.glob("worker-alive-*"):
        if other.stat().st_mtime < time.time() - FORGOTTEN_SECONDS:
            other.unlink(missing_ok=True)


def end(data: Path) -> None:
    """The worker ends as it was told to."""
    file(data).unlink(missing_ok=True)


def is_alive(data: Path, at: float) -> bool:
    """Whether a worker of this machine has given a sign lately; `at` in seconds as of time.time()."""
    try:
        return file(data).stat().st_mtime > at - SILENT_SECONDS
    except FileNotFoundError:
        return False
