"""Server time of saving one finding with its live lines, on SQLite as shipped with 50 cases.

The baseline is one bare insert and commit into a file with the same pragmas in the same run. Pages are
counted in queries, with 5 and with 50 cases.
"""

import atexit
import json
import os
import shutil
import sqlite3
import statistics
import tempfile
import time
import uuid
from pathlib import Path

FOLDER = Path(tempfile.mkdtemp(prefix="foliowright-bench-"))
atexit.register(shutil.rmtree, FOLDER, ignore_errors=True)
os.environ["FOLIOWRIGHT_DATA"] = str(FOLDER)
os.environ.pop("FOLIOWRIGHT_DATABASE", None)
os.environ.setdefault("DJANGO_SETTINGS_MODULE", "config.settings")

import django  # noqa: E402

django.setup()

from django.conf import settings  # noqa: E402
from django.core.management import call_command  # noqa: E402
from django.db import connection  # noqa: E402
from django.test import Client  # noqa: E402
from django.test.utils import CaptureQueriesContext  # noqa: E402
from django.utils import timezone  # noqa: E402

from accounts.models import User  # noqa: E402
from demo import filling, scenario  # noqa: E402
from portfolio import services  # noqa: E402
from portfolio.access import visible_portfolios, visible_sheets  # noqa: E402
from portfolio.models import Sheet  # noqa: E402
from running.data_folder import collect_static  # noqa: E402

SAVES = 200
WANTED_MS = 60
WANTED_QUERIES = 12


def add_cases(by: User, upto: int) -> None:
    """Cases with the same full sheet until there are `upto`."""
    portfolio = visible_portfolios(by).get()
    file = scenario.sheet_file("deep-overjet-initial")
    have = visible_sheets(by).filter(record_set__stage="initial").count()
    for number in range(have, upto):
        case = services.create_case(by, portfolio, services.CaseStart(age_months=160))
        sheet = visible_sheets(by).get(record_set__case=case)
        services.import_sheet(by, sheet, file, f"bench-{number}", timezone.now())


def bare_inserts() -> float:
    """Median milliseconds of one insert and commit with the shipped pragmas."""
    base = sqlite3.connect(FOLDER / "bare.sqlite3", isolation_level=None)
    base.execute("PRAGMA journal_mode=WAL")
    base.execute("PRAGMA synchronous=FULL")
    base.execute("CREATE TABLE finding (id INTEGER PRIMARY KEY, value TEXT)")
    times = []
    for number in range(SAVES):
        start = time.perf_counter()
        base.execute("BEGIN IMMEDIATE")
        base.execute("INSERT INTO finding (value) VALUES (?)", (str(number),))
        base.execute("COMMIT")
        times.append((time.perf_counter() - start) * 1000)
    base.close()
    return statistics.median(times)


def saves(client: Client, sheet: Sheet) -> float:
    """Median milliseconds of the whole request that saves one overjet and answers with live lines."""
    address = f"/sheets/{sheet.public_id}/findings/"
    seen = 1  # it came in by the import, the first change
    times = []
    for number in range(SAVES):
        entry = {"quantity": "overjet", "site": "11", "typed": f"{4 + number % 2}.5", "seen": seen}
        body = json.dumps({"request_key": str(uuid.uuid4()), "entries": [entry]})
        start = time.perf_counter()
        answer = client.post(
            address, body, content_type="application/json", headers={"X-Requested-With": "fetch"}
        )
        times.append((time.perf_counter() - start) * 1000)
        if answer.status_code != 200:
            raise RuntimeError(f"a save was answered {answer.status_code}: {answer.content[:300]!r}")
        seen = answer.json()["version"]
    return statistics.median(times)


def queries(client: Client, addresses: dict[str, str]) -> dict[str, int]:
    """How many queries each page costs, once its caches are warm."""
    counts = {}
    for name, address in addresses.items():
        client.get(address)
        with CaptureQueriesContext(
            connection,
        ) as captured:
            client.get(address)
        counts[name] = len(captured)
    return counts


def main() -> None:
    call_command("migrate", verbosity=0)
    call_command("createcachetable", verbosity=0)
    collect_static(settings.STATIC_ROOT)
    filling.fill("bench-bench-bench-bench", timezone.now())
    by = User.objects.get(email=scenario.CANDIDATE.email)
    client = Client(headers={"Host": "127.0.0.1"})
    client.force_login(by, backend="allauth.account.auth_backends.AuthenticationBackend")
    sheet = (
        visible_sheets(by)
        .filter(record_set__case__note=scenario.CASES[0].note, record_set__stage="initial")
        .get()
    )
    addresses = {
        "cases": "/",
        "case": f"/cases/{sheet.record_set.case.public_id}/",
        "measure": f"/sheets/{sheet.public_id}/measure/",
        "score": f"/sheets/{sheet.public_id}/scores/discrepancy/",
        "tally": f"/sheets/{sheet.public_id}/scores/discrepancy/tally/",
        "history": f"/sheets/{sheet.public_id}/history/",
    }
    add_cases(by, 5)
    few = queries(client, addresses)
    add_cases(by, 50)
    many = queries(client, addresses)
    for name, count in many.items():
        print(f"{name}: {count} queries with 50 cases, {few[name]} with 5 (asked: under {WANTED_QUERIES})")
    baseline = bare_inserts()
    print(f"bare insert and commit (baseline): {baseline:.2f} ms")
    median = saves(client, sheet)
    print(
        f"saving a finding with live lines: median {median:.1f} ms, {median / baseline:.0f} times the baseline (asked: under {WANTED_MS} ms)"
    )


if __name__ == "__main__":
    main()
