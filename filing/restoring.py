"""Restore a backup into an empty installation, or leave it as empty as it was.

Everything is read out into a folder `.restoring-…` of the data folder first, compared, and only then put in place;
then migrations, the rows of each table, the health check and the proofs of other rooms (one case printed) must agree.
While the folder `.restoring-…` stands, what is in the data folder is not whole: `serve` and the next restore refuse it.
"""

import os
import shutil
import tarfile
import tempfile
from collections.abc import Callable, Iterator
from contextlib import contextmanager
from dataclasses import dataclass
from datetime import datetime
from pathlib import Path

from django.conf import settings
from django.core.management import call_command
from django.db import DatabaseError
from django.db.migrations.loader import MigrationLoader

from filing import database_copy, folder, health
from filing.backup import app_version
from filing.backup_file import BESIDE, SHOWN, BackupRefused, Manifest, name_at_work, read_out
from filing.models import HealthCheck

WORK_PREFIX = ".restoring-"
UNMINDED = frozenset({".preparing", "static", "home"})
"""What `serve` makes anew in a data folder; a folder with nothing else counts as empty."""

UNFINISHED_WORDS = (
    "A restore into {data} was cut off, or still goes on: what is there is not whole. Once none goes on, empty the "
    "folder and the database and restore again."
)
NO_FAULT_OF_A_BACKUP = frozenset({"space", "leavings"})
"""What a health check may find wrong without the backup being at fault."""


@dataclass(frozen=True, slots=True)
class Restored:
    """What stands now, and what the backup said of itself."""

    checked: HealthCheck
    manifest: Manifest


def restore(
    source: Path,
    at: datetime,
    phrase: str = "",
    *,
    with_print: bool = True,
    progress: Callable[[str], None] = lambda words: None,
) -> Restored:
    """Fill an empty data folder and an empty database from a backup, and prove that it is sound.

    Raises BackupRefused, with folder and database as empty as before, if anything in the backup is missing, changed,
    of another kind of database or from a newer version, or if a check is not good. `with_print` off leaves out the
    trial print, for a machine that cannot print.
    """
    data = Path(settings.DATA_DIR)
    if not source.is_file():
        raise BackupRefused(f"{source} is no file. Name the file that `backup` has written.")
    _refuse_unless_empty(data)
    was_there = data.is_dir()
    data.mkdir(parents=True, exist_ok=True, mode=0o700)
    try:
        with tempfile.TemporaryDirectory(dir=data, prefix=WORK_PREFIX) as name:
            work = Path(name)
            progress("Reading the backup and comparing every part with its checksum")
            manifest = read_out(source, phrase, work)
            _refuse_unless_fitting(manifest, work)
            with _back_to_empty_on_fault(data):
                checked = _put_in_place(manifest, work, data, at, with_print=with_print, progress=progress)
    except BaseException:
        if not was_there:
            shutil.rmtree(data, ignore_errors=True)
        raise
    return Restored(checked, manifest)


def unfinished_restore(data: Path) -> bool:
    """Whether a restore into this folder goes on or was killed: what is there is not whole."""
    return data.is_dir() and any(data.glob(f"{WORK_PREFIX}*"))


def _refuse_unless_empty(data: Path) -> None:
    if unfinished_restore(data):
        raise BackupRefused(UNFINISHED_WORDS.format(data=data))
    found = sorted(path.name for path in data.iterdir() if path.name not in UNMINDED) if data.is_dir() else []
    if found:
        raise BackupRefused(
            f"{data} is not empty ({', '.join(found[:SHOWN])}). Name a folder that is, in FOLIOWRIGHT_DATA."
        )
    try:
        empty = database_copy.is_empty()
    except DatabaseError as fault:
        raise BackupRefused(f"The database does not answer, see FOLIOWRIGHT_DATABASE: {fault}") from fault
    if not empty:
        raise BackupRefused("The database holds tables already. Name an empty one in FOLIOWRIGHT_DATABASE.")


def _refuse_unless_fitting(manifest: Manifest, work: Path) -> None:
    here = database_copy.name_in_backup()
    if not (work / here).exists():
        wanted = (
            "leave FOLIOWRIGHT_DATABASE empty"
            if manifest.database.startswith("SQLite")
            else "name an empty PostgreSQL database in FOLIOWRIGHT_DATABASE"
        )
        raise BackupRefused(
            f"The backup is of {manifest.database}, and the database here is {database_copy.version()}. A backup is "
            f"restored into the kind of database it was made of: {wanted}."
        )
    known = MigrationLoader(None).disk_migrations
    newer = [f"{app}.{name}" for app, name in manifest.migrations if (app, name) not in known]
    if newer:
        raise BackupRefused(
            f"The backup is of version {manifest.app}, which is newer than this one ({app_version()}): here is no "
            f"{', '.join(newer[:SHOWN])}{' …' if len(newer) > SHOWN else ''}. Restore it with that version."
        )


@contextmanager
def _back_to_empty_on_fault(data: Path) -> Iterator[None]:
    try:
        yield
    except BaseException as fault:
        _empty_again(data)
        if isinstance(fault, OSError | database_copy.CopyFailed | DatabaseError | tarfile.TarError):
            raise BackupRefused(f"The restore was rolled back: {fault}") from fault
        raise


def _empty_again(data: Path) -> None:
    database_copy.empty_again()
    shutil.rmtree(data / "files", ignore_errors=True)
    for name in BESIDE:
        (data / name).unlink(missing_ok=True)


def _put_in_place(
    manifest: Manifest,
    work: Path,
    data: Path,
    at: datetime,
    *,
    with_print: bool,
    progress: Callable[[str], None],
) -> HealthCheck:
    progress("Putting files and database in place")
    for name in manifest.members:
        if name.startswith("files/"):
            folder.put_back(name.removeprefix("files/"), work / name_at_work(name))
        elif name in BESIDE:
            os.rename(work / name, data / name)
    database_copy.put_back(work / database_copy.name_in_backup())
    counted = database_copy.row_counts()
    if counted != manifest.rows:
        tables = sorted(
            table
            for table in counted.keys() | manifest.rows.keys()
            if counted.get(table) != manifest.rows.get(table)
        )
        raise BackupRefused(
            f"The restore was rolled back: {', '.join(tables[:SHOWN])} do not have the rows of the manifest."
        )
    progress("Bringing the database to this version")
    call_command("migrate", interactive=False, verbosity=0)
    progress("Reading every file" + (" and printing one case" if with_print else ""))
    checked = health.check(at, with_proofs=with_print)
    bad = "; ".join(
        result.words
        for result in health.results(checked)
        if not result.good and result.what not in NO_FAULT_OF_A_BACKUP
    )
    if bad:
        raise BackupRefused(f"The restore was rolled back, because the health check found: {bad}")
    return checked
