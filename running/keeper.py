"""Keeps the worker going beside the server: starts it, starts it anew when it dies, ends it with the server.

    python -m running.keeper PARENT

PARENT is the process id of the server. The keeper ends on TERM or Ctrl-C, and by itself once the server is gone,
however the server ended. It does without Django and waits only.
"""

import os
import signal
import subprocess
import sys
import threading
import time
from pathlib import Path
from types import FrameType

PROJECT = Path(__file__).resolve().parent.parent
LOOK_SECONDS = 0.5
LONGEST_PAUSE_SECONDS = 30.0
STEADY_SECONDS = 60.0
"""A worker that ran this long has not failed at its start: it is started anew without a pause."""

GRACE_SECONDS = 8.0
ENVIRONMENT_NAME = "FOLIOWRIGHT_KEEPER"


def start() -> None:
    """Start the keeper for this process, which may then become another program; its id goes into the environment."""
    command = [sys.executable, "-m", "running.keeper", str(os.getpid())]
    keeper = subprocess.Popen(command, cwd=PROJECT, stdin=subprocess.DEVNULL, stdout=subprocess.DEVNULL)
    os.environ[ENVIRONMENT_NAME] = str(keeper.pid)


def end() -> None:
    """End the keeper that `start` has begun, with its worker, and wait until both are gone."""
    number = int(os.environ.pop(ENVIRONMENT_NAME, "0"))
    if not number:
        return
    latest = time.monotonic() + GRACE_SECONDS + 2
    try:
        os.kill(number, signal.SIGTERM)
        while time.monotonic() < latest:
            try:
                if os.waitpid(number, os.WNOHANG)[0]:
                    return
            except ChildProcessError:  # the server has seen its end already
                return
            time.sleep(0.05)
        os.kill(number, signal.SIGKILL)
    except ProcessLookupError:
        return


def keep(server: int, command: list[str], over: threading.Event) -> None:
    """Run the command again and again until `over` is set or the server is not this process's parent any more."""
    pause = 0.0
    while not over.wait(pause) and os.getppid() == server:
        began = time.monotonic()
        worker = subprocess.Popen(command, cwd=PROJECT, stdin=subprocess.DEVNULL)
        while worker.poll() is None and os.getppid() == server and not over.wait(LOOK_SECONDS):
            pass
        if worker.poll() is None:
            _end(worker)
            return
        steady = time.monotonic() - began > STEADY_SECONDS
        pause = 0.0 if steady else min(max(pause * 2, 0.5), LONGEST_PAUSE_SECONDS)


def _end(worker: "subprocess.Popen[bytes]") -> None:
    worker.terminate()
    try:
        worker.wait(GRACE_SECONDS)
    except subprocess.TimeoutExpired:
        worker.kill()
        worker.wait()


def main() -> None:
    over = threading.Event()

    def stop(signum: int, frame: FrameType | None) -> None:
        over.set()

    signal.signal(signal.SIGTERM, stop)
    signal.signal(signal.SIGINT, stop)
    keep(int(sys.argv[1]), [sys.executable, "manage.py", "work"], over)


if __name__ == "__main__":
    main()
