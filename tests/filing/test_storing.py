"""Storing, reading, removing, sweeping and checking files."""

from __future__ import annotations

import errno
import hashlib
import os
import stat
from collections.abc import Callable, Iterator
from contextlib import AbstractContextManager
from datetime import timedelta
from pathlib import Path
from typing import Any

import pytest
from django.db import transaction
from django.utils import timezone

from filing import folder, selectors, services
from filing.models import StoredFile
from tests.factories.accounts import person
from tests.factories.filing import stored_file

pytestmark = pytest.mark.django_db

Commits = Callable[..., AbstractContextManager[object]]


@pytest.fixture(autouse=True)
def data(settings: Any, tmp_path: Path) -> Path:
    settings.DATA_DIR = tmp_path
    return tmp_path


def on_disk() -> list[str]:
    return sorted(
        path.name for path in folder.root().rglob("*") if path.is_file() and path.name != folder.HOLD
    )


def grow_old() -> None:
    """Make everything in the folder two days old."""
    then = (timezone.now() - timedelta(days=2)).timestamp()
    for path in folder.root().rglob("*"):
        os.utime(path, (then, then))


def test_what_was_stored_is_read_again() -> None:
    row = services.store(person(), [b"gyp", b"sum"], media_type="image/png", role="original")
    with selectors.open_bytes(row) as stream:
        assert stream.read() == b"gypsum"
    assert (row.size, row.sha256) == (6, hashlib.sha256(b"gypsum").hexdigest())


def test_a_file_of_no_bytes_is_stored_too() -> None:
    row = services.store(person(), [], media_type="text/plain", role="result")
    assert row.size == 0
    assert services.check_files(timezone.now()).all_whole


def test_names_on_disk_are_random_and_readable_by_their_owner_only() -> None:
    who = person()
    rows = [stored_file(who, shown_name="Jane face.png") for _ in range(2)]
    assert on_disk() == sorted(row.storage_key for row in rows)
    assert rows[0].storage_key != rows[1].storage_key
    for row in rows:
        assert stat.S_IMODE(folder.place(row.storage_key).stat().st_mode) == 0o600


def test_an_unknown_role_is_refused_and_nothing_is_left() -> None:
    with pytest.raises(ValueError, match="spare"):
        services.store(person(), [b"x"], media_type="image/png", role="spare")
    assert on_disk() == []


def test_a_fault_while_bytes_arrive_leaves_nothing() -> None:
    def chunks() -> Iterator[bytes]:
        yield b"half"
        raise ConnectionResetError

    with pytest.raises(ConnectionResetError):
        services.store(person(), chunks(), media_type="image/png", role="original")
    assert on_disk() == []
    assert not StoredFile.objects.exists()


def test_a_full_disk_is_told_and_leaves_nothing(monkeypatch: pytest.MonkeyPatch) -> None:
    def full(handle: int) -> None:
        raise OSError(errno.ENOSPC, "No space left on device")

    monkeypatch.setattr(os, "fsync", full)
    folder.root().joinpath(folder.INCOMING).mkdir(parents=True)
    with pytest.raises(OSError, match="No space"):
        stored_file(person())
    assert on_disk() == []
    assert not StoredFile.objects.exists()


def test_bytes_are_forced_to_disk_before_they_get_their_name(monkeypatch: pytest.MonkeyPatch) -> None:
    order: list[str] = []
    real_fsync, real_rename = os.fsync, os.rename

    def fsync(handle: int) -> None:
        order.append("force")
        real_fsync(handle)

    def rename(source: Path, target: Path) -> None:
        order.append("rename")
        real_rename(source, target)

    who = person()
    stored_file(who)
    monkeypatch.setattr(os, "fsync", fsync)
    monkeypatch.setattr(os, "rename", rename)
    stored_file(who)
    assert order[0] == "force"
    assert order[-2:] == ["rename", "force"]


def test_bytes_go_once_the_removal_is_committed(
    django_capture_on_commit_callbacks: Commits,
) -> None:
    row = stored_file(person())
    with django_capture_on_commit_callbacks(execute=True):
        services.remove(row)
        assert on_disk() == [row.storage_key]
    assert on_disk() == []
    assert not StoredFile.objects.exists()


@pytest.mark.django_db(transaction=True)
def test_a_removal_that_is_rolled_back_keeps_row_and_bytes() -> None:
    row = stored_file(person())

    def broken_off() -> None:
        with transaction.atomic():
            services.remove(row)
            raise RuntimeError

    with pytest.raises(RuntimeError):
        broken_off()
    assert StoredFile.objects.exists()
    assert on_disk() == [row.storage_key]


def test_missing_bytes_are_told() -> None:
    row = stored_file(person())
    folder.erase(row.storage_key)
    with pytest.raises(selectors.BytesMissing):
        selectors.open_bytes(row)


@pytest.mark.django_db(transaction=True)
def test_young_leavings_stay_and_are_gone_within_a_day() -> None:
    written = folder.write([b"no row"])
    unfinished = folder.root() / folder.INCOMING / "cut-off"
    unfinished.write_bytes(b"ha")
    row = stored_file(person())
    services.sweep(timezone.now() + timedelta(hours=21))
    assert on_disk() == sorted([written.key, "cut-off", row.storage_key])
    swept = services.sweep(timezone.now() + timedelta(hours=23))
    assert (swept.unfinished_erased, swept.bytes_erased, swept.rows_removed) == (1, 1, 1)


def test_what_has_both_row_and_bytes_and_is_young_survives_the_sweep() -> None:
    row = stored_file(person())
    services.sweep(timezone.now())
    assert on_disk() == [row.storage_key]
    assert StoredFile.objects.filter(pk=row.pk, state="ok").exists()


def test_a_byte_that_changed_is_found() -> None:
    row = stored_file(person(), b"white")
    other = stored_file(person())
    place = folder.place(row.storage_key)
    place.write_bytes(b"whitf")
    checked = services.check_files(timezone.now())
    assert checked.files == 2
    assert [found.pk for found in checked.mismatched] == [row.pk]
    row.refresh_from_db()
    other.refresh_from_db()
    assert (row.state, other.state) == ("mismatch", "ok")
    assert row.checked_at is not None


def test_bytes_that_went_missing_are_found_and_those_that_came_back() -> None:
    row = stored_file(person(), b"white")
    folder.erase(row.storage_key)
    assert [found.pk for found in services.check_files(timezone.now()).missing] == [row.pk]
    place = folder.place(row.storage_key)
    place.write_bytes(b"white")
    assert services.check_files(timezone.now()).all_whole
    row.refresh_from_db()
    assert row.state == "ok"


def test_the_parts_of_a_check_cover_every_file_once() -> None:
    who = person()
    for _ in range(9):
        stored_file(who)
    assert sum(services.check_files(timezone.now(), part, 7).files for part in range(7)) == 9
    with pytest.raises(ValueError, match="0 to 6"):
        services.check_files(timezone.now(), 7, 7)
