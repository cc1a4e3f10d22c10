"""A process killed before any line of storing or removing: nothing acknowledged is lost, nothing stays behind."""

from __future__ import annotations

import json
import os
import subprocess
import sys
from datetime import timedelta
from pathlib import Path
from typing import Any

import pytest
from django.db import connection
from django.utils import timezone

from filing import folder, services
from filing.models import StoredFile
from tests.factories.accounts import person
from tests.factories.filing import stored_file

pytestmark = pytest.mark.django_db(transaction=True)
PROJECT = Path(__file__).resolve().parents[2]
LEAST_LINES = 12
"""Fewer would mean that the lines are not seen."""


@pytest.fixture(autouse=True)
def data(settings: Any, tmp_path: Path) -> Path:
    settings.DATA_DIR = tmp_path
    return tmp_path


def killed_everywhere(data: Path, what: str) -> list[dict[str, Any]]:
    """One answer for each process: before which line it died, and what it had acknowledged."""
    name = str(connection.settings_dict["NAME"])
    connection.close()
    done = subprocess.run(
        [sys.executable, "-m", "tests.filing.killed", str(data), name, what],
        cwd=PROJECT,
        env={**os.environ, "DJANGO_SETTINGS_MODULE": "tests.settings"},
        capture_output=True,
        text=True,
    )
    assert done.returncode == 0, done.stderr
    return [json.loads(line) for line in done.stdout.splitlines()]


def keys_on_disk() -> set[str]:
    return {path.name for path in folder.root().rglob("*") if path.is_file() and path.name != folder.HOLD}


def sweep_and_find_all_whole() -> None:
    """What every kill must leave: after a day's sweep rows and bytes are the same files, and all are whole."""
    assert services.check_files(timezone.now()).all_whole
    StoredFile.objects.update(stored_at=timezone.now() + timedelta(hours=25))  # their users keep them
    services.sweep(timezone.now() + timedelta(hours=25))
    assert keys_on_disk() == set(StoredFile.objects.values_list("storage_key", flat=True))


def test_a_kill_while_storing_loses_nothing_acknowledged(data: Path) -> None:
    person()
    told = killed_everywhere(data, "store")
    assert len(told) > LEAST_LINES
    assert not told[-1]["died"]
    acknowledged = {answer["acknowledged"] for answer in told if answer["acknowledged"]}
    stored = {str(public_id) for public_id in StoredFile.objects.values_list("public_id", flat=True)}
    assert acknowledged <= stored
    assert len(keys_on_disk()) > len(stored), "no kill left anything to be swept"
    sweep_and_find_all_whole()


def test_a_kill_while_removing_leaves_whole_files_or_none(data: Path) -> None:
    who = person()
    for _ in range(40):
        stored_file(who)
    told = killed_everywhere(data, "remove")
    assert len(told) > 5
    assert not told[-1]["died"]
    gone = {answer["acknowledged"] for answer in told if answer["acknowledged"]}
    assert gone
    left = {str(public_id) for public_id in StoredFile.objects.values_list("public_id", flat=True)}
    assert not gone & left
    sweep_and_find_all_whole()
