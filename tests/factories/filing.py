"""Makes stored files for tests."""

from __future__ import annotations

from pathlib import Path

from django.conf import settings
from django.utils import timezone

from accounts.models import User
from filing import services
from filing.health import Result
from filing.models import Backup, StoredFile


def stored_file(owner: User, content: bytes = b"plaster", **named: str) -> StoredFile:
    """A file with these bytes, as the app stores it."""
    details = {"media_type": "image/png", "role": "original", "shown_name": "front.png", **named}
    return services.store(owner, [content], **details)


def kept_backup(content: bytes = b"a backup", *, sealed: bool = True) -> Backup:
    """A backup as it stands in the folder, of these bytes."""
    row = Backup.objects.create(made_at=timezone.now(), size=len(content), files=0, sealed=sealed)
    folder = Path(settings.DATA_DIR) / "backups"
    folder.mkdir(parents=True, exist_ok=True)
    (folder / f"{row.public_id}.backup").write_bytes(content)
    return row


def jammed_press() -> Result:
    """A proof that is not good, for restores whose print fails."""
    return Result("print", False, "A case could not be printed: the press is jammed.")
