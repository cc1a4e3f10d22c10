"""Backups in the folder `backups` of the data folder, from where an administrator takes them elsewhere."""

import shutil
from collections.abc import Callable
from datetime import datetime, timedelta
from pathlib import Path
from typing import BinaryIO
from uuid import uuid4

from django.conf import settings

from filing import backup, services
from filing.models import Backup

KEPT = 3
"""The newest stay; each is as large as the installation."""

KEPT_FOR = timedelta(days=30)
"""Older ones go, so that what was erased here is erased there too."""


def make(at: datetime, phrase: str, progress: Callable[[int, str], None]) -> Backup:
    """Make a backup and let the oldest go. Raises backup_file.BackupRefused."""
    _root().mkdir(mode=0o700, exist_ok=True)
    public_id = uuid4()
    made = backup.make(_place(str(public_id)), at, phrase, progress)
    row = Backup.objects.create(
        public_id=public_id, made_at=at, size=made.size, files=made.files, sealed=made.sealed
    )
    for old in Backup.objects.order_by("-made_at", "-pk")[KEPT:]:
        _let_go(old)
    return row


def let_go_of_old(at: datetime) -> int:
    """Remove backups made more than KEPT_FOR before `at`, and what was cut off a day before it; how many backups."""
    old = list(Backup.objects.filter(made_at__lt=at - KEPT_FOR))
    for row in old:
        _let_go(row)
    whole = {f"{public_id}.backup" for public_id in Backup.objects.values_list("public_id", flat=True)}
    for path in _root().iterdir() if _root().is_dir() else ():
        if path.name not in whole and path.stat().st_mtime < (at - services.LONGEST_LEFT).timestamp():
            shutil.rmtree(path) if path.is_dir() else path.unlink()
    return len(old)


def _let_go(row: Backup) -> None:
    _place(str(row.public_id)).unlink(missing_ok=True)
    row.delete()


def all_kept() -> tuple[Backup, ...]:
    """Those whose bytes are there, the newest first; a restored database names others."""
    rows = Backup.objects.order_by("-made_at", "-pk")
    return tuple(row for row in rows if _place(str(row.public_id)).exists())


def file_of(row: Backup) -> Path:
    """Where the backup lies, for the rehearsal."""
    return _place(str(row.public_id))


def open_bytes(row: Backup) -> BinaryIO:
    """The backup as a stream; raises FileNotFoundError."""
    return _place(str(row.public_id)).open("rb")


def _root() -> Path:
    return Path(settings.DATA_DIR) / "backups"


def _place(public_id: str) -> Path:
    return _root() / f"{public_id}.backup"
