"""The administrator's page: health, backups, and the jobs behind its buttons."""

from __future__ import annotations

from datetime import timedelta
from pathlib import Path
from typing import Any

import pytest
from django.template.defaultfilters import filesizeformat
from django.test import Client
from django.utils import timezone

from filing import folder, health, kept_backups, rehearsal
from filing.models import Backup, HealthCheck, Rehearsal
from filing.trial_place import trial_place
from jobs import work
from jobs.models import Job
from tests.factories.accounts import person, signed_in, signed_in_and_confirmed
from tests.factories.filing import kept_backup, stored_file
from tests.factories.imaging import taken
from tests.factories.portfolio import case_of, record_set_of
from tests.imaging.made_pictures import corner, jpeg

pytestmark = pytest.mark.django_db
PAGE = "/installation/"


@pytest.fixture(autouse=True)
def data(settings: Any, tmp_path: Path) -> Path:
    settings.DATA_DIR = tmp_path
    return tmp_path


def test_without_a_check_and_a_backup_the_page_says_so() -> None:
    text = signed_in(person(administrator=True)).get(PAGE).content.decode()
    assert "No check yet" in text
    assert "No backup has been made here yet" in text
    assert "not encrypted" in text


def test_a_lost_file_is_told_on_the_page() -> None:
    who = person(administrator=True)
    row = stored_file(who)
    folder.erase(row.storage_key)
    browser = signed_in(who)
    browser.post(f"{PAGE}health/")
    work.run_job(Job.objects.get().pk)
    text = browser.get(PAGE).content.decode()
    assert "not sound" in text
    assert str(row.public_id) in text
    assert HealthCheck.objects.get().scope == "whole"


def test_the_page_shows_the_last_check() -> None:
    health.check(timezone.now())
    assert "0 files whole" in signed_in(person(administrator=True)).get(PAGE).content.decode()


@pytest.mark.django_db(transaction=True)
def test_the_button_makes_a_backup_that_is_downloaded_after_the_password() -> None:
    who = person(administrator=True)
    browser = signed_in(who)
    answer = browser.post(f"{PAGE}backup/")
    job = Job.objects.get()
    assert answer.headers["Location"] == f"/jobs/{job.public_id}/"
    work.run_job(job.pk)
    job.refresh_from_db()
    assert job.state == "done", job.message
    address = f"{PAGE}backups/{Backup.objects.get().public_id}/"
    assert address in browser.get(PAGE).content.decode()
    assert "/accounts/reauthenticate/" in browser.get(address).headers["Location"]
    download = signed_in_and_confirmed(who).get(address)
    content = b"".join(download.streaming_content)  # type: ignore[attr-defined]
    assert b"manifest.json" in content
    assert download.headers["Content-Disposition"].startswith('attachment; filename="foliowright-')


@pytest.mark.django_db(transaction=True)
def test_with_a_pass_phrase_backups_of_the_page_are_encrypted(settings: Any, data: Path) -> None:
    settings.BACKUP_PHRASE = "alginate tray and wax"
    who = person(administrator=True)
    browser = signed_in(who)
    browser.post(f"{PAGE}backup/")
    work.run_job(Job.objects.get().pk)
    assert Backup.objects.get().sealed
    assert b"manifest.json" not in next((data / "backups").iterdir()).read_bytes()
    assert "are not encrypted" not in browser.get(PAGE).content.decode()


@pytest.mark.django_db(transaction=True)
def test_the_newest_backups_stay() -> None:
    for _ in range(kept_backups.KEPT + 2):
        kept_backups.make(timezone.now(), "", lambda percent, message: None)
    assert len(kept_backups.all_kept()) == Backup.objects.count() == kept_backups.KEPT


def test_a_backup_whose_bytes_are_elsewhere_is_not_offered(data: Path) -> None:
    row = kept_backup()
    (data / "backups" / f"{row.public_id}.backup").unlink()
    assert kept_backups.all_kept() == ()


def test_other_people_have_no_such_page() -> None:
    browser = signed_in(person())
    assert browser.get(PAGE).status_code == 404
    assert browser.post(f"{PAGE}rehearsal/").status_code == 404
    assert not Job.objects.exists()


def rehearsed(browser: Client, address: str) -> Job:
    """The job behind a button, done by a worker."""
    answer = browser.post(address)
    job = Job.objects.order_by("-pk")[0]
    assert answer.headers["Location"] == f"/jobs/{job.public_id}/"
    work.run_job(job.pk)
    job.refresh_from_db()
    return job


@pytest.mark.django_db(transaction=True)
def test_the_button_rehearses_a_new_backup_and_the_page_shows_date_outcome_and_size() -> None:
    browser = signed_in(person(administrator=True))
    assert "No rehearsal yet" in browser.get(PAGE).content.decode()
    job = rehearsed(browser, f"{PAGE}rehearsal/")
    assert (job.state, job.message) == ("done", "")
    row = Rehearsal.objects.get()
    assert row.backup == Backup.objects.get()
    assert row.size == row.backup.size
    text = " ".join(browser.get(PAGE).content.decode().split())
    size = " ".join(filesizeformat(row.size).split())
    assert f"succeeded</span> on {row.at:%-d %b %Y, %H:%M} UTC, backup of {size}" in text
    assert "There is no case to print yet" in text
    assert text.count("succeeded</span>") == 2  # in the list of backups too


@pytest.mark.django_db(transaction=True)
def test_a_backup_of_the_list_is_rehearsed_and_a_failure_is_told(data: Path) -> None:
    browser = signed_in(person(administrator=True))
    kept = kept_backup(b"no backup at all", sealed=False)
    assert "not yet" in browser.get(PAGE).content.decode()
    job = rehearsed(browser, f"{PAGE}backups/{kept.public_id}/rehearsal/")
    assert (job.state, job.message) == ("failed", "The rehearsal failed; see what was found.")
    text = " ".join(browser.get(PAGE).content.decode().split())
    assert "failed</span> on" in text
    assert "<strong>Wrong:</strong>" in text
    assert Backup.objects.get() == kept


def test_a_double_click_asks_for_one_rehearsal() -> None:
    browser = signed_in(person(administrator=True))
    first = browser.post(f"{PAGE}rehearsal/").headers["Location"]
    assert browser.post(f"{PAGE}rehearsal/").headers["Location"] == first
    assert Job.objects.count() == 1


@pytest.mark.django_db(transaction=True)
def test_a_rehearsal_that_is_cancelled_leaves_nothing(monkeypatch: pytest.MonkeyPatch, data: Path) -> None:
    browser = signed_in(person(administrator=True))
    kept = kept_backups.make(timezone.now(), "", lambda percent, words: None)
    real = rehearsal._restore

    def and_then_cancel(*given: Any) -> None:
        browser.post(f"/jobs/{Job.objects.get().public_id}/cancel/")
        real(*given)

    monkeypatch.setattr(rehearsal, "_restore", and_then_cancel)
    assert rehearsed(browser, f"{PAGE}backups/{kept.public_id}/rehearsal/").state == "cancelled"
    assert not Rehearsal.objects.exists()
    assert not list(data.glob(".rehearsing-*"))


@pytest.mark.django_db(transaction=True)
def test_two_rehearsals_at_once_are_refused_in_words(data: Path) -> None:
    browser = signed_in(person(administrator=True))
    with trial_place():
        job = rehearsed(browser, f"{PAGE}rehearsal/")
    assert job.state == "failed"
    assert "going on already" in job.message


def test_a_rehearsal_of_a_backup_that_has_gone_is_told() -> None:
    browser = signed_in(person(administrator=True))
    kept = kept_backup()
    browser.post(f"{PAGE}backups/{kept.public_id}/rehearsal/")
    kept.delete()
    job = Job.objects.get()
    work.run_job(job.pk)
    job.refresh_from_db()
    assert job.message == "This backup is no longer kept here. Make a new one."


def test_an_encrypted_backup_without_its_phrase_is_told_before_anything_is_tried() -> None:
    browser = signed_in(person(administrator=True))
    job = rehearsed(browser, f"{PAGE}backups/{kept_backup().public_id}/rehearsal/")
    assert "was started without its pass phrase" in job.message
    assert not Rehearsal.objects.exists()


def test_a_backup_older_than_a_week_is_pointed_out() -> None:
    browser = signed_in(person(administrator=True))
    row = kept_backup()
    assert "more than a week old" not in browser.get(PAGE).content.decode()
    Backup.objects.filter(pk=row.pk).update(made_at=timezone.now() - timedelta(days=8))
    assert "more than a week old" in browser.get(PAGE).content.decode()


@pytest.mark.django_db(transaction=True)
def test_checking_everything_makes_lost_pictures_anew() -> None:
    who = person(administrator=True)
    item = taken(who, record_set_of(case_of(who)), jpeg(corner()), "front.jpg")
    assert item.screen_file is not None
    folder.erase(item.screen_file.storage_key)
    browser = signed_in(who)
    browser.post(f"{PAGE}health/")
    work.run_job(Job.objects.get().pk)
    assert Job.objects.get().state == "done"
    assert "not sound" not in browser.get(PAGE).content.decode()
