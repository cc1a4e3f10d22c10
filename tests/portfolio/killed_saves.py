"""Saves a finding in processes that are killed at every line of saving in turn; run by a test.

    python -m tests.portfolio.killed_saves DATABASE SHEET

DATABASE is the name of the test database, SHEET the primary key of an empty sheet. Prints one JSON object a process:
whether it died, and the request key it acknowledged, if it did.
"""

from __future__ import annotations

import json
import sys

import django
from django.db import connections

from tests.filing.killed import killed_before_line

ROOMS = ("portfolio.services.findings", "portfolio.services.sheet_writing")


def main(database: str, number: str) -> None:
    django.setup()
    connections["default"].settings_dict["NAME"] = database
    from django.utils import timezone

    from portfolio.models import Finding, Sheet
    from portfolio.services import Entry, Recorded, record_findings

    attempt, died = 0, True

    def save() -> str:
        sheet = Sheet.objects.select_related("reader").get(pk=number)
        row = Finding.objects.filter(sheet=sheet, quantity="overjet").first()
        entry = Entry("overjet", "11", typed=f"{attempt % 9 + 1}", seen=row.changed_in if row else 0)
        key = f"attempt-{attempt}"
        answer = record_findings(sheet.reader, sheet, [entry], key, timezone.now())
        assert isinstance(answer, Recorded), answer
        return key

    while died:
        attempt += 1
        connections.close_all()
        died, acknowledged = killed_before_line(attempt, save, ROOMS)
        print(json.dumps({"died": died, "acknowledged": acknowledged}), flush=True)


if __name__ == "__main__":
    main(*sys.argv[1:])
