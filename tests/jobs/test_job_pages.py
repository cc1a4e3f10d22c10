"""The pages of one job."""

from __future__ import annotations

import pytest
from django.utils import timezone

from jobs import selectors, services, work
from jobs.models import Job
from tests.factories.accounts import person, signed_in
from tests.factories.jobs import NOON, asked, job_of

pytestmark = pytest.mark.django_db
SCRIPT = {"HX-Request": "true"}


def test_the_page_asks_again_while_the_job_is_unfinished_and_not_afterwards() -> None:
    who = person()
    job = asked(who)
    address = f"/jobs/{job.public_id}/"
    browser = signed_in(who)
    text = browser.get(address).content.decode()
    assert 'hx-trigger="every 1s"' in text
    assert "Waiting for its turn" in text
    work.run_job(job.pk)
    part = browser.get(address, headers=SCRIPT).content.decode()
    assert "hx-trigger" not in part
    assert "<html" not in part
    assert f"{address}result/" in part


def test_the_part_shows_percent_and_words_of_the_work() -> None:
    who = person()
    job = job_of(who, kind="stir", state="running", percent=42, message="Pouring", heartbeat=timezone.now())
    text = signed_in(who).get(f"/jobs/{job.public_id}/", headers=SCRIPT).content.decode()
    assert 'value="42"' in text
    assert "Pouring" in text


def test_a_job_that_lost_its_worker_offers_to_run_again() -> None:
    who = person()
    job = job_of(who, kind="stir", state="running", heartbeat=NOON)
    text = signed_in(who).get(f"/jobs/{job.public_id}/").content.decode()
    assert services.LOST_WORDS in text
    assert "Run again" in text
    assert "hx-trigger" not in text


def test_the_result_is_downloaded_under_its_name() -> None:
    who = person()
    job = asked(who)
    work.run_job(job.pk)
    answer = signed_in(who).get(f"/jobs/{job.public_id}/result/")
    assert answer.headers["Content-Disposition"] == 'attachment; filename="stirred.txt"'
    assert b"".join(answer.streaming_content) == b"stirred"  # type: ignore[attr-defined]


def test_there_is_no_result_before_the_end() -> None:
    who = person()
    job = asked(who)
    answer = signed_in(who).get(f"/jobs/{job.public_id}/result/")
    assert (answer.status_code, answer.headers["Location"]) == (302, f"/jobs/{job.public_id}/")


def test_cancelling_and_running_again_by_the_buttons() -> None:
    who = person()
    job = asked(who)
    browser = signed_in(who)
    assert "Cancelled" in browser.post(f"/jobs/{job.public_id}/cancel/", headers=SCRIPT).content.decode()
    answer = browser.post(f"/jobs/{job.public_id}/again/")
    second = Job.objects.get(state="waiting")
    assert answer.headers["Location"] == f"/jobs/{second.public_id}/"


def test_the_last_job_about_a_subject_is_shown_to_its_person_only() -> None:
    who = person()
    job = asked(who)
    found = selectors.latest(who, "stir", "subject", NOON)
    assert found is not None
    assert found.public_id == job.public_id
    assert selectors.latest(person(), "stir", "subject", NOON) is None
