"""The worker beside the server: it does jobs, comes back when killed, and goes when the server goes."""

from __future__ import annotations

import os
import signal
import sqlite3
import subprocess
import sys
import time
from collections.abc import Callable, Iterator
from contextlib import closing
from pathlib import Path

import pytest

from tests.browser.serving import PROJECT, start, stop
from tests.prepared import furnish

PATIENCE_SECONDS = 30


class Installation:
    """A served app on its own data folder, asked through its own commands and looked at in its database."""

    def __init__(self, data: Path) -> None:
        self.data = data
        self.process, self.served = start(furnish(data), DJANGO_SETTINGS_MODULE="tests.jobs.settings")

    def run(self, lines: str) -> str:
        """What these lines print inside the app."""
        done = subprocess.run(
            [sys.executable, "manage.py", "shell", "--no-imports", "-c", lines],
            cwd=PROJECT,
            env={**os.environ, "FOLIOWRIGHT_DATA": str(self.data)},
            capture_output=True,
            text=True,
            check=True,
        )
        return done.stdout.strip()

    def ask(self, kind: str, **options: str) -> None:
        self.run(
            "from django.utils import timezone\n"
            "from accounts.models import User\n"
            "from jobs import services\n"
            "who = User.objects.first() or User.objects.create_user('ada@clinic.example')\n"
            f"services.ask(who, {kind!r}, 'subject', 'digest', timezone.now(), {options!r})"
        )

    def last_job(self) -> dict[str, str]:
        ((state, message),) = self.rows("SELECT state, message FROM jobs_job ORDER BY id DESC LIMIT 1")
        return {"state": state, "message": message}

    def rows(self, asked: str) -> list[tuple[str, ...]]:
        with closing(sqlite3.connect(self.data / "foliowright.sqlite3")) as opened:
            return opened.execute(asked).fetchall()

    def begin_long_job(self) -> int:
        """Ask for work that does not end; the process id of its worker."""
        file = self.data.parent / "worker"
        file.unlink(missing_ok=True)
        self.ask("wait", file=str(file))
        wait_until(lambda: file.exists() and file.read_text() != "")
        return int(file.read_text())


def wait_until(true: Callable[[], bool]) -> None:
    latest = time.monotonic() + PATIENCE_SECONDS
    while not true():
        assert time.monotonic() < latest, "it did not come about"
        time.sleep(0.1)


def is_alive(number: int) -> bool:
    """Whether a process runs; one that has ended and was not yet fetched by its parent does not."""
    try:
        return Path(f"/proc/{number}/stat").read_text().rpartition(")")[2].split()[0] != "Z"
    except FileNotFoundError:
        return False


@pytest.fixture
def installation(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Iterator[Installation]:
    monkeypatch.setenv("DJANGO_SETTINGS_MODULE", "tests.jobs.settings")
    made = Installation(tmp_path / "data")
    yield made
    if made.process.poll() is None:
        stop(made.process)


def test_a_killed_worker_comes_back_and_its_job_is_told_as_failed(installation: Installation) -> None:
    os.kill(installation.begin_long_job(), signal.SIGKILL)
    wait_until(lambda: installation.last_job()["state"] == "failed")
    assert "Run it again" in installation.last_job()["message"]
    installation.ask("stir")
    wait_until(lambda: installation.last_job()["state"] == "done")


def test_stopping_the_server_ends_the_worker_and_tells_its_job(installation: Installation) -> None:
    worker = installation.begin_long_job()
    assert stop(installation.process) == 0
    assert not is_alive(worker)
    assert installation.last_job()["state"] == "failed"
    assert "server was stopped" in installation.last_job()["message"]


def test_the_worker_goes_when_the_server_is_killed(installation: Installation) -> None:
    worker = installation.begin_long_job()
    installation.process.kill()
    installation.process.wait()
    wait_until(lambda: not is_alive(worker))
    assert not is_alive(worker)


def test_the_worker_of_serve_does_the_nightly_check_and_the_page_shows_it(installation: Installation) -> None:
    """At a first start the night that is over has no check yet, so it follows at once."""
    shown = (
        "from django.test import Client\nfrom accounts.models import User\n"
        "who = User.objects.filter(administrator=True).first()"
        " or User.objects.create_user('head@clinic.example', administrator=True)\n"
        "browser = Client(HTTP_HOST='localhost')\nbrowser.force_login(who)\n"
        "print(browser.get('/installation/').content.decode())"
    )
    wait_until(lambda: bool(installation.rows("SELECT id FROM filing_healthcheck")))
    page = installation.run(shown)
    assert "(daily, a seventh of the files)" in page
    assert "sound</span>" in page
