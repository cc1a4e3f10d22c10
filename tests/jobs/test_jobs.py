"""Asking, doing, cancelling and taking up jobs."""

from __future__ import annotations

import threading
from concurrent.futures import ThreadPoolExecutor
from datetime import timedelta

import pytest
from django.db import connection
from django.utils import timezone
from django_tasks_db.models import DBTaskResult

from filing.models import HealthCheck, StoredFile
from filing.selectors import open_bytes
from jobs import handle, housekeeping, services, work
from jobs.handle import Cancelled, JobFailed, JobHandle
from jobs.models import Job
from jobs.registry import UnknownKind
from tests.factories.accounts import person
from tests.factories.jobs import NOON, asked, job_of

pytestmark = pytest.mark.django_db


def test_a_job_is_done_and_its_result_kept() -> None:
    job = asked(person())
    work.run_job(job.pk)
    job.refresh_from_db()
    assert (job.state, job.percent) == ("done", 100)
    assert job.result is not None
    with open_bytes(job.result) as stream:
        assert stream.read() == b"stirred"


def test_asking_twice_makes_one_job_while_the_first_is_unfinished() -> None:
    who = person()
    first = asked(who)
    assert asked(who).pk == first.pk
    assert DBTaskResult.objects.count() == 1
    work.run_job(first.pk)
    assert asked(who).pk != first.pk


@pytest.mark.django_db(transaction=True)
def test_clicks_at_once_make_one_job() -> None:
    who = person()
    together = threading.Barrier(4)

    def click(_: int) -> int:
        together.wait()
        try:
            return asked(who).pk
        finally:
            connection.close()

    with ThreadPoolExecutor(4) as pool:
        numbers = set(pool.map(click, range(4)))
    assert len(numbers) == 1
    assert Job.objects.count() == DBTaskResult.objects.count() == 1


def test_two_people_have_jobs_of_their_own() -> None:
    assert asked(person()).pk != asked(person()).pk


def test_an_unknown_kind_is_refused() -> None:
    with pytest.raises(UnknownKind):
        asked(person(), "unheard_of")
    assert not Job.objects.exists()


def test_a_job_is_done_once_however_often_it_stands_in_the_queue() -> None:
    job = asked(person())
    work.run_job(job.pk)
    work.run_job(job.pk)
    assert StoredFile.objects.count() == 1


def test_words_for_the_person_are_kept_when_work_fails() -> None:
    job = asked(person(), "too_dry")
    work.run_job(job.pk)
    job.refresh_from_db()
    assert (job.state, job.message) == ("failed", "The plaster is too dry: add water and run it again.")


def test_a_fault_in_the_work_ends_the_job_without_its_inner_words() -> None:
    job = asked(person(), "crumble")
    work.run_job(job.pk)
    job.refresh_from_db()
    assert (job.state, job.message) == ("failed", work.FAULT_WORDS)


def test_a_kind_that_is_gone_ends_the_job() -> None:
    job = job_of(person())
    work.run_job(job.pk)
    job.refresh_from_db()
    assert job.state == "failed"


def test_a_waiting_job_is_cancelled_at_once_and_never_done() -> None:
    who = person()
    job = services.cancel(who, asked(who), NOON)
    assert job.state == "cancelled"
    work.run_job(job.pk)
    assert not StoredFile.objects.exists()


def test_a_running_job_stops_at_its_next_step() -> None:
    who = person()
    job = job_of(who, state="running", heartbeat=NOON)
    hand = JobHandle(job)
    hand.progress(10, "Pouring")
    assert services.cancel(who, job, NOON).state == "running"
    with pytest.raises(Cancelled):
        hand.progress(20)
    job.refresh_from_db()
    assert (job.percent, job.message) == (10, "Pouring")


def test_a_job_cancelled_at_the_last_moment_leaves_no_result(monkeypatch: pytest.MonkeyPatch) -> None:
    who = person()
    job = asked(who)
    real = JobHandle.progress

    def cancelled_afterwards(self: JobHandle, percent: int, message: str = "") -> None:
        real(self, percent, message)
        Job.objects.filter(pk=job.pk).update(cancel_asked=True)

    monkeypatch.setattr(JobHandle, "progress", cancelled_afterwards)
    work.run_job(job.pk)
    job.refresh_from_db()
    assert (job.state, job.result) == ("cancelled", None)
    assert not StoredFile.objects.exists()


def test_somebody_elses_job_is_not_cancelled() -> None:
    job = asked(person())
    with pytest.raises(PermissionError):
        services.cancel(person(), job, NOON)


def test_a_finished_job_stays_done_when_cancelled() -> None:
    who = person()
    job = asked(who)
    work.run_job(job.pk)
    assert services.cancel(who, job, NOON).state == "done"


def test_a_server_that_stops_ends_the_work_with_words() -> None:
    hand = JobHandle(job_of(person(), state="running", heartbeat=NOON))
    handle.stopping.set()
    try:
        with pytest.raises(JobFailed, match="Run it again"):
            hand.progress(10)
    finally:
        handle.stopping.clear()


def test_a_job_without_a_heartbeat_is_failed_and_one_with_it_goes_on() -> None:
    who = person()
    lost = job_of(who, state="running", heartbeat=NOON)
    alive = job_of(who, subject="other", state="running", heartbeat=NOON + timedelta(seconds=40))
    services.recover(NOON + timedelta(seconds=45))
    lost.refresh_from_db()
    alive.refresh_from_db()
    assert (lost.state, lost.message) == ("failed", services.LOST_WORDS)
    assert alive.state == "running"
    with pytest.raises(Cancelled):
        JobHandle(lost).progress(50)


def test_a_job_that_was_taken_up_and_never_begun_is_queued_anew() -> None:
    job = asked(person())
    DBTaskResult.objects.update(status="RUNNING")
    services.recover(NOON + timedelta(seconds=61))
    job.refresh_from_db()
    assert DBTaskResult.objects.ready().get().pk == job.queued_as
    services.recover(NOON + timedelta(seconds=200))
    assert DBTaskResult.objects.count() == 2


def test_a_forgotten_subject_leaves_no_job_and_no_result() -> None:
    who = person()
    work.run_job(asked(who).pk)
    asked(who)
    services.forget("subject")
    assert not Job.objects.exists()
    assert not StoredFile.objects.exists()


def test_old_jobs_are_cleared_away_with_their_results() -> None:
    job = asked(person())
    work.run_job(job.pk)
    assert services.clear_old(timezone.now() + timedelta(days=29)) == 0
    assert services.clear_old(timezone.now() + timedelta(days=31)) == 1
    assert not StoredFile.objects.exists()


def test_the_daily_round_checks_health_once_a_day() -> None:
    for hours in (0, 1, 24):
        housekeeping.daily(NOON + timedelta(hours=hours))
    assert HealthCheck.objects.count() == 2
