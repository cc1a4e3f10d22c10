"""Stores and removes files in processes that are killed at every line of filing in turn; run by a test.

    python -m tests.filing.killed DATA DATABASE store|remove

DATABASE is the name of the test database. For each line that filing executes, a forked process does the operation
anew and kills itself right before that line. Prints one JSON object a process: what it acknowledged, if anything.
"""

from __future__ import annotations

import json
import os
import signal
import sys
from collections.abc import Callable
from pathlib import Path
from types import FrameType
from typing import Any

import django
from django.conf import settings
from django.db import connections, transaction

CONTENT = [b"plaster" * 5000, b" of ", b"paris"]


def killed_before_line(
    number: int, operation: Callable[[], str], rooms: tuple[str, ...] = ("filing",)
) -> tuple[bool, str]:
    """Do the operation in a forked process that dies before its number-th line of these rooms; (died, acknowledged)."""
    reading, writing = os.pipe()
    child = os.fork()
    if child == 0:
        seen = 0

        def trace(frame: FrameType, event: str, value: Any) -> Any:
            nonlocal seen
            name = str(frame.f_globals.get("__name__"))
            if not name.startswith(rooms):
                return None
            if event == "line":
                seen += 1
                if seen == number:
                    os.kill(os.getpid(), signal.SIGKILL)
            return trace

        sys.settrace(trace)
        acknowledged = operation()
        sys.settrace(None)
        os.write(writing, acknowledged.encode())
        os._exit(0)
    os.close(writing)
    with os.fdopen(reading) as told:
        acknowledged = told.read()
    _, status = os.waitpid(child, 0)
    assert os.WIFSIGNALED(status) or os.WEXITSTATUS(status) == 0, status
    return os.WIFSIGNALED(status), acknowledged


def main(data: str, database: str, what: str) -> None:
    django.setup()
    from accounts.models import User
    from filing import services
    from filing.models import StoredFile

    settings.DATA_DIR = Path(data)
    connections["default"].settings_dict["NAME"] = database

    def store() -> str:
        owner = User.objects.get()
        with transaction.atomic():
            row = services.store(owner, CONTENT, media_type="text/plain", role="original")
        return str(row.public_id)

    def remove() -> str:
        # A file of its own for every kill: the next one must not clear away what the last one left.
        row = StoredFile.objects.get(pk=first + number - 1)
        services.remove(row)
        return str(row.public_id)

    number, died = 0, True
    first = StoredFile.objects.order_by("pk").values_list("pk", flat=True).first() or 0
    connections.close_all()
    while died:
        number += 1
        died, acknowledged = killed_before_line(number, store if what == "store" else remove)
        print(json.dumps({"line": number, "died": died, "acknowledged": acknowledged}), flush=True)


if __name__ == "__main__":
    main(*sys.argv[1:])
