"""The worker that `serve` keeps does the nightly health check at its hour, and the page shows what it found."""

from __future__ import annotations

import os
from collections.abc import Callable
from datetime import UTC, date, datetime, timedelta
from pathlib import Path

import pytest
from django.core.management import call_command
from django.db import connection
from django.utils import timezone

from filing import folder
from filing.models import HealthCheck, StoredFile
from jobs.management.commands import work
from running import keeper
from tests.factories.accounts import person, signed_in
from tests.factories.filing import stored_file

pytestmark = pytest.mark.django_db(transaction=True)

LATE = datetime(2026, 3, 2, 23, 0, tzinfo=UTC)


class Clock:
    """A clock that goes on by an hour at every round of the worker and ends the worker after so many."""

    def __init__(self, rounds: int) -> None:
        self.now = LATE
        self.left = rounds

    def wait(self, seconds: float) -> bool:
        self.now += timedelta(hours=1)
        self.left -= 1
        return self.left == 0


@pytest.fixture
def rounds(monkeypatch: pytest.MonkeyPatch) -> Callable[[int], None]:
    """Runs so many rounds of the worker's housekeeping, one an hour from 23:00 on."""

    def run(number: int) -> None:
        clock = Clock(number)
        monkeypatch.setattr(timezone, "now", lambda: clock.now)
        monkeypatch.setattr("threading.Event", lambda: clock)
        work._rounds(os.getppid())
        monkeypatch.undo()

    return run


def test_the_worker_checks_at_two_in_the_night_and_not_before(rounds: Callable[[int], None]) -> None:
    rounds(1)  # 23:00, a first start: the night that is over has no check yet
    assert [row.day for row in HealthCheck.objects.all()] == [date(2026, 3, 2)]
    rounds(3)  # up to 01:00
    assert HealthCheck.objects.count() == 1
    rounds(4)  # up to 02:00
    row = HealthCheck.objects.get(day=date(2026, 3, 3))
    assert row.at == datetime(2026, 3, 3, 2, 0, tzinfo=UTC)
    rounds(20)
    assert HealthCheck.objects.count() == 2


def test_what_the_nightly_check_found_stands_on_the_page(rounds: Callable[[int], None]) -> None:
    who = person(administrator=True)
    rows = [stored_file(who) for _ in range(7)]  # one of them is in the share of this night
    for row in rows:
        folder.erase(row.storage_key)
    StoredFile.objects.update(stored_at=LATE)
    rounds(1)
    text = signed_in(who).get("/installation/").content.decode()
    assert "not sound" in text
    assert "2 Mar 2026, 23:00 UTC (daily, a seventh of the files)" in text
    assert "1 missing" in text


def test_serve_keeps_the_worker_that_goes_these_rounds(monkeypatch: pytest.MonkeyPatch) -> None:
    """The keeper's command is the worker, and the worker begins its rounds before it waits for jobs."""
    begun: list[str] = []
    kept: list[list[str]] = []
    monkeypatch.setattr(keeper, "keep", lambda server, command, over: kept.append(command))
    monkeypatch.setattr("signal.signal", lambda *given: None)
    monkeypatch.setattr("sys.argv", ["keeper", str(os.getppid())])
    keeper.main()
    assert kept[0][1:] == ["manage.py", "work"]
    monkeypatch.setattr(work, "_rounds", lambda parent: begun.append("rounds"))
    monkeypatch.setattr(work.StoppableWorker, "configure_signals", lambda self: None)
    monkeypatch.setattr(work.StoppableWorker, "run", lambda self: None)
    call_command("work")
    connection.close()
    assert begun == ["rounds"]


def test_the_first_check_follows_the_first_start(rounds: Callable[[int], None], tmp_path: Path) -> None:
    assert "No check yet" in signed_in(person(administrator=True)).get("/installation/").content.decode()
    rounds(1)
    assert HealthCheck.objects.count() == 1
