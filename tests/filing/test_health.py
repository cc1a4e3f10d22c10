"""What a health check finds, when the nightly one is due, and what the worker clears away by the hour."""

from __future__ import annotations

from datetime import UTC, date, datetime, timedelta
from pathlib import Path
from typing import Any

import pytest
from django.utils import timezone

from filing import folder, health, kept_backups, result_lines, services
from filing.health import Result
from filing.models import Backup, HealthCheck, StoredFile
from imaging.services import make_lost_renditions_anew
from jobs import housekeeping
from portfolio.models import Case, RecordItem
from portfolio.services import delete_case, restore_case
from portfolio.services.retention import KEPT_AFTER_DELETION, erase_long_deleted
from tests.factories.accounts import person
from tests.factories.filing import kept_backup, stored_file
from tests.factories.imaging import taken
from tests.factories.portfolio import NOON, case_of, record_set_of
from tests.imaging.made_pictures import corner, jpeg

pytestmark = [pytest.mark.django_db, pytest.mark.usefixtures("live")]

EVENING = datetime(2026, 3, 2, 23, 30, tzinfo=UTC)


def found(row: HealthCheck, what: str) -> Result:
    return next(result for result in health.results(row) if result.what == what)


@pytest.fixture
def picture() -> RecordItem:
    who = person()
    return taken(who, record_set_of(case_of(who)), jpeg(corner()), "front.jpg")


def test_a_night_begins_at_two_and_has_one_check() -> None:
    first = health.daily(EVENING)
    assert first is not None
    assert first.day == date(2026, 3, 2)
    for minutes in (31, 120, 149):
        assert health.daily(EVENING + timedelta(minutes=minutes)) is None
    second = health.daily(EVENING + timedelta(minutes=150))
    assert second is not None
    assert second.day == date(2026, 3, 3)
    assert health.daily(EVENING + timedelta(hours=20)) is None


def test_a_server_that_was_off_at_night_checks_when_it_starts() -> None:
    health.daily(EVENING)
    late = health.daily(EVENING + timedelta(hours=15))
    assert late is not None
    assert late.day == date(2026, 3, 3)


def test_seven_nights_read_every_file_once() -> None:
    who = person()
    for _ in range(9):
        stored_file(who)
    read = 0
    for night in range(7):
        row = health.daily(timezone.now() + timedelta(days=night / 10**4) + timedelta(days=night))
        assert row is not None
        StoredFile.objects.update(stored_at=timezone.now() + timedelta(days=30))  # their users keep them
        read += int(found(row, "files").words.split()[0])
    assert read == 9


def test_a_changed_original_is_told_with_the_code_of_its_case(picture: RecordItem) -> None:
    assert picture.file is not None
    place = folder.place(picture.file.storage_key)
    place.write_bytes(place.read_bytes()[:-1] + b"!")
    row = health.check(timezone.now())
    assert not row.good
    words = found(row, "files").words
    assert f"case {picture.record_set.case.code} (file {picture.file.public_id})" in words
    assert "front.jpg" not in words


def test_a_lost_file_of_a_deleted_case_is_told_with_its_code_too(picture: RecordItem) -> None:
    delete_case(picture.record_set.case, NOON)
    assert picture.print_file is not None
    folder.erase(picture.print_file.storage_key)
    assert picture.record_set.case.code in found(health.check(timezone.now()), "files").words


def test_bytes_without_a_row_for_more_than_a_day_are_a_fault_and_the_hourly_sweep_prevents_it() -> None:
    folder.write([b"nobody's"])
    young = health.check(timezone.now() + timedelta(hours=23))
    assert found(young, "leavings").good
    old = health.check(timezone.now() + timedelta(hours=25))
    assert not found(old, "leavings").good
    assert "1 leavings are older than a day" in found(old, "leavings").words
    last = None
    for hour in range(26):
        last = housekeeping.hourly(timezone.now() + timedelta(hours=hour), last)
    assert found(health.check(timezone.now() + timedelta(hours=26)), "leavings").good


def test_a_row_that_nothing_uses_for_more_than_a_day_is_a_fault(
    django_capture_on_commit_callbacks: Any,
) -> None:
    stored_file(person())
    assert not found(health.check(timezone.now() + timedelta(hours=25)), "leavings").good
    with django_capture_on_commit_callbacks(execute=True):
        services.sweep(timezone.now() + timedelta(hours=25))
    assert found(health.check(timezone.now() + timedelta(hours=25)), "leavings").good


def test_the_hourly_work_is_done_once_an_hour(monkeypatch: pytest.MonkeyPatch) -> None:
    done: list[datetime] = []
    monkeypatch.setattr(services, "sweep", done.append)
    last = None
    for minutes in (0, 10, 59, 60, 61, 125):
        last = housekeeping.hourly(NOON + timedelta(minutes=minutes), last)
    assert [(at - NOON).total_seconds() / 60 for at in done] == [0, 60, 125]


def test_a_fault_in_one_piece_of_hourly_work_does_not_stop_the_others(
    monkeypatch: pytest.MonkeyPatch,
) -> None:
    def broken(at: datetime) -> None:
        raise OSError("No space left on device")

    case = case_of(person())
    delete_case(case, NOON)
    monkeypatch.setattr(services, "sweep", broken)
    housekeeping.hourly(NOON + KEPT_AFTER_DELETION + timedelta(days=1), None)
    assert not Case.objects.filter(pk=case.pk).exists()


@pytest.mark.django_db(transaction=True)
def test_a_deleted_case_is_erased_with_its_bytes_after_the_stated_time(picture: RecordItem) -> None:
    case = picture.record_set.case
    kept = case_of(case.patient.portfolio.owner)
    delete_case(case, NOON)
    assert erase_long_deleted(NOON + KEPT_AFTER_DELETION) == 0
    assert erase_long_deleted(NOON + KEPT_AFTER_DELETION + timedelta(seconds=1)) == 1
    assert list(Case.objects.all()) == [kept]
    assert not StoredFile.objects.exists()
    assert list(folder.keys()) == []


def test_a_case_that_was_restored_is_not_erased() -> None:
    case = case_of(person())
    delete_case(case, NOON)
    restore_case(case)
    assert erase_long_deleted(NOON + timedelta(days=400)) == 0


def test_backups_expire_and_what_was_cut_off_beside_them_goes(settings: Any, tmp_path: Path) -> None:
    settings.DATA_DIR = tmp_path
    row = kept_backup()
    (tmp_path / "backups" / ".half.unfinished").write_text("ha")
    (tmp_path / "backups" / ".foliowright-abc").mkdir()
    assert kept_backups.let_go_of_old(timezone.now()) == 0
    assert len(list((tmp_path / "backups").iterdir())) == 3
    kept_backups.let_go_of_old(timezone.now() + timedelta(days=2))
    assert [path.name for path in (tmp_path / "backups").iterdir()] == [f"{row.public_id}.backup"]
    assert kept_backups.let_go_of_old(row.made_at + kept_backups.KEPT_FOR + timedelta(seconds=1)) == 1
    assert list((tmp_path / "backups").iterdir()) == []
    assert not Backup.objects.exists()


@pytest.mark.django_db(transaction=True)
def test_a_lost_rendition_is_made_anew_from_its_original_to_the_same_bytes(picture: RecordItem) -> None:
    assert picture.file is not None
    assert picture.screen_file is not None
    assert picture.print_file is not None
    original = (picture.file.sha256, folder.digest_of(picture.file.storage_key))
    before = (picture.screen_file.sha256, picture.print_file.sha256)
    folder.erase(picture.screen_file.storage_key)
    assert not health.check(timezone.now()).good
    assert make_lost_renditions_anew(timezone.now()) == 1
    picture.refresh_from_db()
    assert (picture.screen_file.sha256, picture.print_file.sha256) == before
    assert (picture.file.sha256, folder.digest_of(picture.file.storage_key)) == original
    assert health.check(timezone.now()).good
    assert make_lost_renditions_anew(timezone.now()) == 0


def test_a_rendition_is_not_made_from_an_original_that_has_changed(picture: RecordItem) -> None:
    assert picture.file is not None
    assert picture.screen_file is not None
    folder.place(picture.file.storage_key).write_bytes(b"something else")
    folder.erase(picture.screen_file.storage_key)
    health.check(timezone.now())
    assert make_lost_renditions_anew(timezone.now()) == 0


def test_results_are_read_from_their_lines_as_they_were_written() -> None:
    said = (
        Result("files", True, "12 files whole."),
        Result("a_long_name_of_a_result", False, "1 missing:  x"),
    )
    lines = [result_lines.line(one) for one in said]
    assert result_lines.read(["Restoring", *lines, "good"]) == (
        said[0],
        Result("a_long_name_of_a_result", False, "1 missing: x"),
    )
