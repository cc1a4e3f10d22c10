"""Fills a database with invented cases and measures their caseload; run by `bench/caseload.py`.

Baselines, in the same run: for the page, one query that reads totals of the same rows and adds them up in
Python; for scoring anew, scoring the same sheets with nothing but the rules, read from memory.
"""

import os
import resource
import time
from collections.abc import Iterator
from decimal import Decimal
from itertools import islice

import django

django.setup()

from django.conf import settings  # noqa: E402
from django.core.management import call_command  # noqa: E402
from django.test import Client  # noqa: E402
from django.utils import timezone  # noqa: E402

from accounts.models import User  # noqa: E402
from desk.change.many import Wanted, many  # noqa: E402
from desk.change.rescoring import RESCORING, ask, stale_sheets  # noqa: E402
from jobs.handle import JobHandle  # noqa: E402
from jobs.models import Job  # noqa: E402
from portfolio.models import Case, Finding, Patient, Portfolio, RecordSet, Sheet  # noqa: E402
from portfolio.selectors import readings_of  # noqa: E402
from running.data_folder import collect_static  # noqa: E402
from scoring import registry  # noqa: E402
from scoring.models import StandingScore  # noqa: E402

CASES = int(os.environ.get("BENCH_CASES", "6000"))
WANTED_SECONDS, WANTED_MB, WANTED_ANEW = 6, 400, 60
TOGETHER = 500
STATED = ("posterior_open_bite", "crossbite", "gap", "missing", "impacted")
CONTACTS = ("13-12", "12-11", "11-21", "21-22", "22-23", "43-42", "42-41", "41-31", "31-32", "32-33")
MEGABYTE = 1024


def findings(number: int, final: bool) -> Iterator[tuple[str, str, str]]:
    """What PAR needs, varying with the case."""
    worse = 0 if final else number % 9
    for tooth in ("12", "11", "21", "22"):
        yield "overjet", tooth, str(2 + worse)
        yield "overbite", tooth, "2"
    for tooth in ("13", "23"):
        yield "overjet", tooth, "2"
    for contact in CONTACTS:
        yield "contact_offset", contact, f"0.{number % 8}" if final else f"{number % 5}.5"
    for side in ("right", "left"):
        yield (
            "buccal_interdigitation",
            side,
            "fitted" if final else ("fitted", "off", "cusp_to_cusp")[number % 3],
        )
    yield "overbite_cover", "mouth", "30"
    yield "midline_offset", "mouth", "0"
    for quantity in STATED:
        yield quantity, "mouth", "none"


def fill(owner: User) -> None:
    """Cases with an initial and a final sheet each."""
    portfolio = Portfolio.objects.create(owner=owner, name="Invented caseload")
    numbers = iter(range(CASES))
    while chunk := list(islice(numbers, TOGETHER)):
        patients = Patient.objects.bulk_create(Patient(portfolio=portfolio) for _ in chunk)
        cases = Case.objects.bulk_create(Case(patient=patient) for patient in patients)
        sets = RecordSet.objects.bulk_create(
            RecordSet(case=case, stage=stage) for case in cases for stage in ("initial", "final")
        )
        sheets = Sheet.objects.bulk_create(Sheet(record_set=one, reader=owner, version=1) for one in sets)
        Finding.objects.bulk_create(
            Finding(
                sheet=sheet,
                quantity=quantity,
                site=site,
                value=value,
                state="free" if value == "none" and site == "mouth" else "measured",
                changed_in=1,
            )
            for place, sheet in enumerate(sheets)
            for quantity, site, value in findings(chunk[place // 2], place % 2 == 1)
        )


def peak_mb() -> float:
    return resource.getrusage(resource.RUSAGE_SELF).ru_maxrss / MEGABYTE


def main() -> None:
    call_command("migrate", verbosity=0)
    call_command("createcachetable", verbosity=0)
    collect_static(settings.STATIC_ROOT)
    owner = User.objects.create_user("director@quillhaven.example", password="an invented word 7")
    start = time.perf_counter()
    fill(owner)
    print(f"{CASES} cases filled in {time.perf_counter() - start:.0f} s")
    anew(owner)
    figures(owner)


def anew(owner: User) -> None:
    """Scoring PAR for every sheet as the job does it, against the rules alone."""
    sheets = list(Sheet.objects.select_related("record_set")[:400])
    read = list(readings_of(sheets).values())
    start = time.perf_counter()
    for one in read:
        registry.score("par", one, detail="totals")
    bare = (time.perf_counter() - start) / len(read) * 2 * CASES
    job = ask(owner, "par", timezone.now())
    Job.objects.filter(pk=job.pk).update(state=Job.State.RUNNING)
    start = time.perf_counter()
    RESCORING.work(JobHandle(job))
    took = time.perf_counter() - start
    left = len(stale_sheets(owner, "par"))
    print(
        f"PAR scored anew for {2 * CASES} sheets: {took:.1f} s (wanted: under {WANTED_ANEW} s), {took / bare:.1f} times "
        f"the rules alone ({bare:.1f} s); {left} left"
    )


def figures(owner: User) -> None:
    """The caseload's page from stored scores, against one query that adds up."""
    start = time.perf_counter()
    rows = StandingScore.objects.filter(index="par").values_list("sheet", "sheet_version", "total_hundredths")
    total = sum((Decimal(hundredths or 0) for _, _, hundredths in rows.iterator()), Decimal(0))
    bare = time.perf_counter() - start
    start = time.perf_counter()
    found = many(owner, Wanted())
    summed = time.perf_counter() - start
    client = Client(headers={"Host": "127.0.0.1"})
    client.force_login(owner, backend="allauth.account.auth_backends.AuthenticationBackend")
    client.get("/account/")  # the first request of a process loads pages and templates
    start = time.perf_counter()
    answer = client.get("/changes/")
    page = time.perf_counter() - start
    assert found.par is not None
    assert found.before is not None
    assert answer.status_code == 200
    print(f"one query that adds up {total} hundredths (baseline): {bare:.2f} s")
    print(
        f"figures of {found.par.n} cases: {summed:.2f} s, the whole page {page:.2f} s (wanted: under {WANTED_SECONDS} s), "
        f"{page / bare:.1f} times the baseline; peak {peak_mb():.0f} MB (wanted: under {WANTED_MB})"
    )


main()
