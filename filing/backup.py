"""Make a backup of the whole installation, as one file, while the app goes on working.

The database comes first and removed bytes are held back meanwhile, so that every row of the copy has its bytes in the
backup. The format is told in `filing.backup_file`.
"""

import os
import tempfile
import tomllib
from collections.abc import Callable
from contextlib import suppress
from dataclasses import dataclass
from datetime import datetime
from pathlib import Path
from typing import BinaryIO, cast

from django.conf import settings
from django.db import connection
from django.db.migrations.recorder import MigrationRecorder

from filing import database_copy, folder
from filing.backup_file import BESIDE, BackupRefused, Manifest, Writer
from filing.sealed import SealingWriter

SETTINGS_KEPT = (
    "FOLIOWRIGHT_BACKUP_KEY_FILE",
    "FOLIOWRIGHT_DEBUG",
    "FOLIOWRIGHT_HOSTS",
    "FOLIOWRIGHT_HTTPS_PROXY",
    "FOLIOWRIGHT_LOG",
)
SETTINGS_LEFT_OUT = ("FOLIOWRIGHT_DATA", "FOLIOWRIGHT_DATABASE", "FOLIOWRIGHT_DATABASE_PASSWORD_FILE")
"""Variables that name the place restored to; the address of a database may hold a password."""


@dataclass(frozen=True, slots=True)
class Made:
    """A backup that stands whole on disk."""

    size: int
    files: int
    sealed: bool


def make(
    target: Path, at: datetime, phrase: str = "", progress: Callable[[int, str], None] | None = None
) -> Made:
    """Write a backup to a file that does not exist yet; it appears whole or not at all. Raises BackupRefused."""
    tell = progress or (lambda percent, message: None)
    if target.exists():
        raise BackupRefused(f"{target} exists already; name a file that does not.")
    if not target.parent.is_dir():
        raise BackupRefused(f"{target.parent} is no folder; make it or name another.")
    temporary = target.with_name(f".{target.name}.unfinished")
    try:
        with tempfile.TemporaryDirectory(dir=target.parent, prefix=".foliowright-") as work:
            handle = os.open(temporary, os.O_WRONLY | os.O_CREAT | os.O_TRUNC, 0o600)
            with os.fdopen(handle, "wb") as file, folder.held():
                sealing = SealingWriter(file, phrase) if phrase else None
                stream = cast(BinaryIO, sealing or file)
                files = _write(stream, Path(work) / database_copy.name_in_backup(), at, tell)
                if sealing:
                    sealing.finish()
                file.flush()
                os.fsync(file.fileno())
        os.rename(temporary, target)
    except (OSError, database_copy.CopyFailed) as fault:
        raise BackupRefused(f"No backup was made: {fault}") from fault
    finally:
        with suppress(OSError):
            temporary.unlink(missing_ok=True)
    return Made(target.stat().st_size, files, bool(phrase))


def _write(stream: BinaryIO, copy: Path, at: datetime, tell: Callable[[int, str], None]) -> int:
    tell(1, "Copying the database")
    counted = database_copy.copy_to(copy)
    keys = sorted(folder.keys())
    with Writer(stream) as writer:
        writer.add(copy.name, copy)
        for number, key in enumerate(keys):
            tell(5 + 90 * number // len(keys), f"Copying files, {number + 1} of {len(keys)}")
            writer.add(f"files/{key}", folder.place(key))
        for name in BESIDE:
            if (settings.DATA_DIR / name).exists():
                writer.add(name, settings.DATA_DIR / name)
        writer.finish(
            Manifest(
                made_at=at.isoformat(),
                app=app_version(),
                database=database_copy.version(),
                settings=settings_in_force(),
                migrations=tuple(sorted(MigrationRecorder(connection).applied_migrations())),
                rows=counted,
                members=writer.members,
            )
        )
    return len(keys)


def settings_in_force() -> dict[str, str]:
    """The environment variables that set this app up and hold no secret, for whoever sets it up anew."""
    return {name: os.environ[name] for name in SETTINGS_KEPT if os.environ.get(name)}


def app_version() -> str:
    """Version of this app, as pyproject.toml names it."""
    return str(tomllib.loads((settings.BASE_DIR / "pyproject.toml").read_text())["project"]["version"])
