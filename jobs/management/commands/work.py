"""manage.py work: do the waiting jobs; `./foliowright serve` starts it beside the server and starts it anew."""

import logging
import os
import signal
import threading
from argparse import ArgumentParser
from datetime import datetime
from types import FrameType
from typing import Any

from django.conf import settings
from django.core.management.base import BaseCommand
from django.db import close_old_connections
from django.utils import timezone
from django.utils.crypto import get_random_string
from django_tasks_db.management.commands.db_worker import Worker

from jobs import handle, housekeeping, pulse, services

POLL_SECONDS = 0.5
ROUND_SECONDS = 10.0
logger = logging.getLogger("foliowright.jobs")


class StoppableWorker(Worker):
    """The queue's worker; told to end, it makes the job in hand stop at its next step.

    Ctrl-C reaches it twice, from the terminal and from its keeper; the second call changes nothing.
    """

    def shutdown(self, signum: int, frame: FrameType | None) -> None:
        if handle.stopping.is_set():
            return
        handle.stopping.set()
        super().shutdown(signum, frame)


class Command(BaseCommand):
    help = "Do waiting jobs until told to end (TERM, Ctrl-C); --batch ends when none waits."

    def add_arguments(self, parser: ArgumentParser) -> None:
        parser.add_argument("--batch", action="store_true", help="end when no job waits")

    def handle(self, *args: Any, **options: Any) -> None:
        logging.getLogger("django_tasks").setLevel(logging.ERROR)
        logging.getLogger("django_tasks_db").setLevel(logging.ERROR)
        worker = StoppableWorker(
            queue_names=["default"],
            interval=POLL_SECONDS,
            batch=options["batch"],
            backend_name="default",
            startup_delay=False,
            max_tasks=None,
            worker_id=get_random_string(32),
            excluded_queue_names=[],
        )
        worker.configure_signals()
        services.recover(timezone.now())
        if not options["batch"]:
            threading.Thread(target=_rounds, args=(os.getppid(),), name="housekeeping", daemon=True).start()
        try:
            worker.run()
        finally:
            pulse.end(settings.DATA_DIR)


def _rounds(parent: int) -> None:
    """Every few seconds: take up lost jobs, do what is due; end the worker when what started it is gone."""
    pause = threading.Event()
    last_hourly: datetime | None = None
    while True:
        try:
            services.recover(timezone.now())
            pulse.beat(settings.DATA_DIR)
            last_hourly = housekeeping.hourly(timezone.now(), last_hourly)
            housekeeping.daily(timezone.now())
        except Exception:
            logger.exception("Housekeeping was broken off")
        finally:
            close_old_connections()
        if pause.wait(ROUND_SECONDS):
            return
        if os.getppid() != parent:
            os.kill(os.getpid(), signal.SIGTERM)
            return
