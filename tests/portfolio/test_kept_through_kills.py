"""A save that was acknowledged is there after the process was killed; one that was cut off left nothing half."""

from __future__ import annotations

import json
import os
import subprocess
import sys
from pathlib import Path

import pytest
from django.db import connection

from portfolio.models import Finding, SheetChange
from tests.factories.accounts import person
from tests.factories.portfolio import sheet_of

PROJECT = Path(__file__).resolve().parents[2]


@pytest.mark.django_db(transaction=True)
def test_a_kill_at_any_line_of_saving_loses_nothing_acknowledged_and_saves_nothing_half() -> None:
    sheet = sheet_of(person())
    name = str(connection.settings_dict["NAME"])
    connection.close()
    done = subprocess.run(
        [sys.executable, "-m", "tests.portfolio.killed_saves", name, str(sheet.pk)],
        cwd=PROJECT,
        env={**os.environ, "DJANGO_SETTINGS_MODULE": "tests.settings"},
        capture_output=True,
        text=True,
    )
    assert done.returncode == 0, done.stderr
    told = [json.loads(line) for line in done.stdout.splitlines()]
    assert len(told) > 12, "fewer would mean that the lines are not seen"
    assert not told[-1]["died"]
    acknowledged = {answer["acknowledged"] for answer in told if answer["acknowledged"]}
    assert acknowledged
    changes = SheetChange.objects.filter(sheet=sheet)
    assert acknowledged <= set(changes.values_list("request_key", flat=True))
    sheet.refresh_from_db()
    assert sheet.version == changes.count()
    last = changes.order_by("-number").first()
    assert last is not None
    assert Finding.objects.get(sheet=sheet, quantity="overjet").changed_in == last.number


@pytest.mark.django_db(transaction=True)
def test_postgresql_answers_a_save_once_it_is_on_disk() -> None:
    """SQLite's part of this promise is held in tests/config/test_security.py."""
    if connection.vendor == "sqlite":
        return
    with connection.cursor() as cursor:
        cursor.execute("SHOW synchronous_commit")
        assert cursor.fetchone()[0] == "on"
