"""What is wrong with a backup or a machine is refused in words, and the machine is as empty as before."""

from __future__ import annotations

import tarfile
from collections.abc import Callable
from pathlib import Path
from typing import Any

import pytest
from django.utils import timezone
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

from filing import backup, folder
from filing.backup_file import BackupRefused, read_out
from filing.models import StoredFile
from tests.filing.machine import (
    PHRASE,
    Machine,
    Parts,
    filled,
    parts_of,
    places,
    put_together,
    spoiled,
    with_manifest,
)

pytestmark = [pytest.mark.django_db(transaction=True), pytest.mark.usefixtures("live")]


@pytest.fixture(scope="module")
def kept() -> list[bytes]:
    """The backup that the first test made; the next ones spoil copies of it."""
    return []


@pytest.fixture
def made(tmp_path: Path, kept: list[bytes]) -> Path:
    """A plain backup of a filled app."""
    if kept:
        (tmp_path / "b").write_bytes(kept[0])
    else:
        filled()
        backup.make(tmp_path / "b", timezone.now())
        kept.append((tmp_path / "b").read_bytes())
    return tmp_path / "b"


def read(archive: Path, phrase: str = "") -> None:
    """Read a backup out to a new folder, which is what a restore begins with."""
    work = archive.parent / "work"
    work.mkdir()
    try:
        read_out(archive, phrase, work)
    finally:
        for file in work.iterdir():
            file.unlink()
        work.rmdir()


def test_a_missing_a_short_and_a_wrong_phrase_are_each_told(
    tmp_path: Path, machine: Machine, key_file: Path
) -> None:
    filled()
    archive = str(tmp_path / "b")
    backup.make(tmp_path / "b", timezone.now(), PHRASE)
    assert "give the file with its pass phrase by --key-file" in machine.refused("restore", archive)
    key_file.write_text("another phrase altogether")
    assert "pass phrase is wrong" in machine.refused("restore", archive, "--key-file", str(key_file))
    key_file.write_text("short")
    assert "at least 12 are needed" in machine.refused("restore", archive, "--key-file", str(key_file))
    absent = str(tmp_path / "absent")
    assert "cannot be read" in machine.refused("restore", archive, "--key-file", absent)


def test_a_plain_backup_in_the_place_of_an_encrypted_one_is_refused(
    made: Path, machine: Machine, key_file: Path
) -> None:
    said = machine.refused("restore", str(made), "--key-file", str(key_file))
    assert "this backup is not encrypted" in said
    assert "leave out --key-file" in said


def test_a_backup_of_a_newer_version_is_refused_and_names_what_is_unknown(
    made: Path, machine: Machine
) -> None:
    def newer(manifest: dict[str, Any]) -> None:
        manifest["app"] = "9.0"
        manifest["migrations"].append(["filing", "0999_of_tomorrow"])

    with_manifest(made, newer)
    said = machine.refused("restore", str(made))
    assert "version 9.0, which is newer than this one" in said
    assert "filing.0999_of_tomorrow" in said
    assert "Restore it with that version" in said


def test_another_format_is_refused(made: Path, machine: Machine) -> None:
    with_manifest(made, lambda manifest: manifest.update(format=3))
    assert "has format 3; this version of Foliowright reads format 2" in machine.refused("restore", str(made))


def test_a_backup_of_the_other_kind_of_database_is_refused_and_says_what_is_allowed(
    made: Path, machine: Machine
) -> None:
    parts = parts_of(made)
    here = parts[0][0].name
    other = {"database.sqlite3": "database.pgdump", "database.pgdump": "database.sqlite3"}[here]
    kind = "SQLite 3.45.0" if other.endswith("sqlite3") else "PostgreSQL 17.1"
    parts[0][0].name = other
    put_together(made, parts)

    def swapped(manifest: dict[str, Any]) -> None:
        manifest["members"][other] = manifest["members"].pop(here)
        manifest["database"] = kind

    with_manifest(made, swapped)
    said = machine.refused("restore", str(made))
    assert f"The backup is of {kind}, and the database here is" in said
    assert "FOLIOWRIGHT_DATABASE" in said


@pytest.mark.parametrize("member", ["files/", "database", "secret-key"])
def test_a_changed_byte_is_named_and_nothing_restored(member: str, made: Path, machine: Machine) -> None:
    with tarfile.open(made) as opened:
        entry = next(one for one in opened.getmembers() if member in one.name and one.size)
    made.write_bytes(spoiled(made.read_bytes(), entry.offset_data))
    assert f"1 changed: {entry.name}" in machine.refused("restore", str(made))


def test_a_byte_changed_anywhere_is_noticed(made: Path) -> None:
    content = made.read_bytes()
    read(made)
    for place in places(made):
        made.write_bytes(spoiled(content, place))
        with pytest.raises(BackupRefused):
            read(made)


def test_a_byte_changed_anywhere_in_an_encrypted_backup_is_noticed(tmp_path: Path) -> None:
    filled()
    archive = tmp_path / "b"
    backup.make(archive, timezone.now(), PHRASE)
    content = archive.read_bytes()
    read(archive, PHRASE)
    for place in (21, 40, 44, 46, 60, len(content) // 2, len(content) - 17, len(content) - 1):
        archive.write_bytes(spoiled(content, place))
        with pytest.raises(BackupRefused):
            read(archive, PHRASE)
    archive.write_bytes(spoiled(content, 3))  # in the head: then it is no sealed backup any more
    with pytest.raises(BackupRefused):
        read(archive, PHRASE)


@settings(max_examples=60, suppress_health_check=[HealthCheck.function_scoped_fixture])
@given(data=st.data())
def test_a_backup_cut_off_or_lengthened_anywhere_is_refused(made: Path, data: st.DataObject) -> None:
    whole = made.with_name("whole")
    if not whole.exists():
        whole.write_bytes(made.read_bytes())
    content = whole.read_bytes()
    length = data.draw(st.integers(0, len(content) - 1))
    made.write_bytes(data.draw(st.sampled_from([content[:length], content + b"\0" * (length % 700 + 1)])))
    with pytest.raises(BackupRefused):
        read(made)


def test_a_backup_that_was_cut_off_restores_nothing(tmp_path: Path, machine: Machine, key_file: Path) -> None:
    filled()
    for phrase, arguments in (("", []), (PHRASE, ["--key-file", str(key_file)])):
        target = tmp_path / f"b{len(phrase)}"
        backup.make(target, timezone.now(), phrase)
        target.write_bytes(target.read_bytes()[: target.stat().st_size * 2 // 3])
        assert machine.refused("restore", str(target), *arguments)


def _without_a_file(parts: Parts) -> None:
    del parts[1]


def _with_a_file_more(parts: Parts) -> None:
    parts.insert(1, (tarfile.TarInfo(f"files/{'f' * 40}"), b"nobody's"))


def _with_a_path_outside(parts: Parts) -> None:
    parts.insert(1, (tarfile.TarInfo("../../outside"), b"out"))


def _with_a_link(parts: Parts) -> None:
    link = tarfile.TarInfo(f"files/{'e' * 40}")
    link.type, link.linkname = tarfile.SYMTYPE, "/etc/passwd"
    parts.insert(1, (link, b""))


def _with_a_file_twice(parts: Parts) -> None:
    parts.insert(2, parts[1])


def _without_a_manifest(parts: Parts) -> None:
    del parts[-1]


def _with_a_manifest_of_nothing(parts: Parts) -> None:
    parts[-1] = (parts[-1][0], b"[]")


def _with_half_a_manifest(parts: Parts) -> None:
    parts[-1] = (parts[-1][0], parts[-1][1][:-5])


@pytest.mark.parametrize(
    ("spoil", "words"),
    [
        (_without_a_file, "1 missing: files/"),
        (_with_a_file_more, f"1 not in its manifest: files/{'f' * 40}"),
        (_with_a_path_outside, "no backup of this app holds: '../../outside'"),
        (_with_a_link, f"no backup of this app holds: 'files/{'e' * 40}'"),
        (_with_a_file_twice, "no backup of this app holds: 'files/"),
        (_without_a_manifest, "ends before its manifest"),
        (_with_a_manifest_of_nothing, "manifest.json of the backup is damaged"),
        (_with_half_a_manifest, "manifest.json of the backup is damaged"),
    ],
)
def test_parts_that_do_not_belong_are_named(
    spoil: Callable[[Parts], None], words: str, made: Path, machine: Machine
) -> None:
    parts = parts_of(made)
    spoil(parts)
    put_together(made, parts)
    assert words in machine.refused("restore", str(made))
    assert not (machine.data.parent / "outside").exists()


@pytest.mark.parametrize("field", ["made_at", "app", "database", "settings", "migrations", "rows", "members"])
def test_a_manifest_without_one_of_its_fields_is_refused(field: str, made: Path) -> None:
    with_manifest(made, lambda manifest: manifest.pop(field))
    with pytest.raises(BackupRefused, match="damaged"):
        read(made)


def test_something_else_altogether_is_refused(tmp_path: Path, machine: Machine) -> None:
    (tmp_path / "b").write_bytes(b"once upon a time" * 1000)
    assert "cannot be read" in machine.refused("restore", str(tmp_path / "b"))
    assert "is no file" in machine.refused("restore", str(tmp_path / "absent"))
    assert "is no file" in machine.refused("restore", str(tmp_path))


def test_tables_with_other_rows_than_the_manifest_tells_are_rolled_back(made: Path, machine: Machine) -> None:
    with_manifest(made, lambda manifest: manifest["rows"].update(accounts_user=7))
    said = machine.refused("restore", str(made))
    assert "rolled back: accounts_user do not have the rows of the manifest" in said


def test_a_database_that_cannot_be_read_is_rolled_back(made: Path, machine: Machine) -> None:
    parts = parts_of(made)
    content = b"no database" * 100
    parts[0] = (parts[0][0], content)
    put_together(made, parts)
    import hashlib

    with_manifest(
        made,
        lambda manifest: manifest["members"].update(
            {parts[0][0].name: {"sha256": hashlib.sha256(content).hexdigest(), "size": len(content)}}
        ),
    )
    assert "rolled back" in machine.refused("restore", str(made))


def test_a_restore_whose_health_is_not_good_is_rolled_back(tmp_path: Path, machine: Machine) -> None:
    filled()
    lost = StoredFile.objects.first()
    assert lost is not None
    folder.erase(lost.storage_key)
    backup.make(tmp_path / "b", timezone.now())
    said = machine.refused("restore", str(tmp_path / "b"))
    assert "rolled back, because the health check found" in said
    assert str(lost.public_id) in said


def test_a_restore_after_which_nothing_can_be_printed_is_rolled_back(made: Path, machine: Machine) -> None:
    machine.environment["DJANGO_SETTINGS_MODULE"] = "tests.filing.unprintable"
    assert "the press is jammed" in machine.refused("restore", str(made))
    done = machine.manage("restore", str(made), "--without-print")
    assert done.returncode == 0, done.stderr


def test_a_folder_with_anything_in_it_is_refused_and_left_alone(made: Path, machine: Machine) -> None:
    (machine.data / "notes.txt").write_text("mine")
    done = machine.manage("restore", str(made))
    assert done.returncode == 1
    assert "is not empty (notes.txt)" in done.stderr
    assert "FOLIOWRIGHT_DATA" in done.stderr
    assert [path.name for path in machine.data.iterdir()] == ["notes.txt"]


def test_a_database_with_tables_is_refused_and_left_alone(made: Path, machine: Machine) -> None:
    assert machine.manage("migrate", "--verbosity=0").returncode == 0
    for path in machine.data.iterdir():
        if not path.name.startswith("foliowright.sqlite3"):
            path.unlink()
    before = machine.rows()
    done = machine.manage("restore", str(made))
    assert done.returncode == 1
    assert "not empty" in done.stderr or "holds tables already" in done.stderr
    assert machine.rows() == before


def test_a_restore_that_was_killed_is_neither_served_nor_restored_over(made: Path, machine: Machine) -> None:
    (machine.data / ".restoring-abc").mkdir()
    for arguments in (("restore", str(made)), ("serve", "--port", "8317")):
        done = machine.manage(*arguments)
        assert done.returncode == 1
        assert "was cut off, or still goes on: what is there is not whole" in done.stderr
    assert [path.name for path in machine.data.iterdir() if path.name != ".preparing"] == [".restoring-abc"]


def test_a_data_folder_that_was_not_there_is_not_there_after_a_refusal(made: Path, machine: Machine) -> None:
    made.write_bytes(made.read_bytes()[:-1])
    machine.data.rmdir()
    assert machine.manage("restore", str(made)).returncode == 1
    assert not machine.data.exists()
