"""Commands of manage.py without their start: a process that has loaded the app forks for each command.

The fork computes the settings anew from the environment it is given, as a process of its own would, and runs the command from
its words to its status. What must hold of real processes is tried with them (`Machine.manage_for_real`).

    python -m tests.filing.warm_manage     the server; it reads commands as lines of JSON and answers with their status
"""

from __future__ import annotations

import importlib
import json
import os
import subprocess
import sys
import traceback
from pathlib import Path
from typing import Any

PROJECT = Path(__file__).resolve().parents[2]
SETTINGS = "tests.settings"
COMPUTED = ("config.settings", SETTINGS)


class WarmManage:
    """Runs commands through one server, which is started at the first of them."""

    def __init__(self, folder: Path) -> None:
        self.said, self.complained = folder / "said", folder / "complained"
        self.server: subprocess.Popen[str] | None = None

    def run(self, arguments: list[str], environment: dict[str, str]) -> subprocess.CompletedProcess[str]:
        """As `subprocess.run` of manage.py with captured output."""
        if self.server is None:
            self.server = subprocess.Popen(
                [sys.executable, "-m", "tests.filing.warm_manage"],
                cwd=PROJECT,
                env={**environment, "DJANGO_SETTINGS_MODULE": SETTINGS},
                stdin=subprocess.PIPE,
                stdout=subprocess.PIPE,
                text=True,
            )
        assert self.server.stdin
        assert self.server.stdout
        asked = [arguments, environment, str(self.said), str(self.complained)]
        self.server.stdin.write(json.dumps(asked) + "\n")
        self.server.stdin.flush()
        status = int(self.server.stdout.readline())
        return subprocess.CompletedProcess(
            arguments, status, self.said.read_text(), self.complained.read_text()
        )

    def stop(self) -> None:
        if self.server is not None and self.server.stdin is not None:
            self.server.stdin.close()
            self.server.wait(20)


def serve() -> None:
    """Forks for each line and answers with the status in which the command ended."""
    import django
    from django.core.management import load_command_class

    django.setup()
    for name in ("backup", "health", "rehearse", "restore"):
        load_command_class("filing", name)
    for line in sys.stdin:
        asked = json.loads(line)
        pid = os.fork()
        if pid == 0:
            _run(*asked)
        _, status = os.waitpid(pid, 0)
        print(os.waitstatus_to_exitcode(status), flush=True)


def _run(arguments: list[str], environment: dict[str, str], said: str, complained: str) -> None:
    """In the fork: what `manage.py` does with these words, and the end of the process."""
    status = 1
    try:
        for number, place in ((0, os.devnull), (1, said), (2, complained)):
            handle = os.open(place, os.O_RDWR | os.O_CREAT | (os.O_TRUNC if number else 0))
            os.dup2(handle, number)
        os.environ.clear()
        os.environ.update(environment)
        _settle(environment["DJANGO_SETTINGS_MODULE"])
        from django.core.management import execute_from_command_line

        execute_from_command_line(["manage.py", *arguments])
        status = 0
    except SystemExit as ended:
        status = ended.code if isinstance(ended.code, int) else 1
    except BaseException:
        traceback.print_exc()
    finally:
        sys.stdout.flush()
        sys.stderr.flush()
        os._exit(status)


def _settle(module: str) -> None:
    """Settings and database of the environment as it is now."""
    from django.conf import settings
    from django.db import connections

    for name in COMPUTED:
        sys.modules.pop(name, None)
    fresh = importlib.import_module(module)
    for name in dir(fresh):
        if name.isupper():
            setattr(settings, name, getattr(fresh, name))
    handler: Any = connections
    handler.settings = handler.configure_settings(fresh.DATABASES)
    if hasattr(handler._connections, "default"):
        del connections["default"]


if __name__ == "__main__":
    serve()
