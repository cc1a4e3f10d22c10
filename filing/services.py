"""Store and remove files, sweep what a cut-off left behind, and check bytes against their checksums.

The order makes every cut-off harmless: bytes stand on disk before their row is committed, and a row is gone before
its bytes are; so a row always has its bytes, and bytes without a row are swept away within a day.
"""

from collections.abc import Iterable
from dataclasses import dataclass
from datetime import datetime, timedelta

from django.db import transaction
from django.db.models import Exists, ForeignObjectRel, OuterRef, ProtectedError, QuerySet, RestrictedError

from accounts.models import User
from filing import folder
from filing.models import StoredFile

GRACE = timedelta(hours=22)
"""How long bytes without a row, and rows that nothing points at, may stand: longer than any upload or job."""

LONGEST_LEFT = timedelta(hours=24)
"""Older than this nothing may be left over: the sweep comes every hour."""


@dataclass(frozen=True, slots=True)
class Swept:
    """What one sweep did: counts of each kind, and the rows it found without bytes."""

    unfinished_erased: int
    bytes_erased: int
    rows_removed: int
    rows_without_bytes: tuple[StoredFile, ...]


@dataclass(frozen=True, slots=True)
class Checked:
    """What a check of bytes against checksums found."""

    files: int
    missing: tuple[StoredFile, ...]
    mismatched: tuple[StoredFile, ...]

    @property
    def all_whole(self) -> bool:
        return not self.missing and not self.mismatched


def store(
    owner: User, chunks: Iterable[bytes], *, media_type: str, role: str, shown_name: str = ""
) -> StoredFile:
    """Put bytes on disk and make their row, in the caller's transaction if there is one.

    `role` is a value of `StoredFile.Role`. The file may be acknowledged once the caller's transaction is committed.
    If it is rolled back, the bytes are swept later. Raises OSError (disk full, no rights) with nothing left behind.
    """
    written = folder.write(chunks)
    try:
        with transaction.atomic():
            return StoredFile.objects.create(
                owner=owner,
                storage_key=written.key,
                sha256=written.sha256,
                size=written.size,
                media_type=media_type,
                role=StoredFile.Role(role),
                shown_name=shown_name[:255],
            )
    except Exception:
        folder.erase(written.key)
        raise


def remove(file: StoredFile) -> None:
    """Delete the row now and the bytes once that is committed.

    Raises RestrictedError or ProtectedError, with nothing changed, while a row that keeps the file points at it.
    """
    key = file.storage_key
    with transaction.atomic():
        file.delete()
        transaction.on_commit(lambda: folder.erase(key))


def sweep(at: datetime) -> Swept:
    """Clear what cut-offs left behind more than GRACE before `at`, both ways.

    Unfinished and unowned bytes are erased, rows that nothing points at are removed with their bytes, and rows whose
    bytes are missing are marked and reported, never removed.
    """
    before = at - GRACE
    unfinished = [key for key in folder.unfinished() if folder.older_than(key, before, is_unfinished=True)]
    for key in unfinished:
        folder.erase_unfinished(key)
    removed = _remove_rows_without_use(before)
    standing = set(folder.keys())
    known = set(StoredFile.objects.values_list("storage_key", flat=True))
    unowned = [key for key in standing - known if folder.older_than(key, before) and folder.erase(key)]
    lost = tuple(
        row
        for row in StoredFile.objects.filter(stored_at__lt=before).order_by("pk")
        if row.storage_key not in standing
    )
    StoredFile.objects.filter(pk__in=[row.pk for row in lost]).update(state=StoredFile.State.MISSING)
    return Swept(len(unfinished), len(unowned), removed, lost)


def leavings(before: datetime) -> int:
    """How many bytes without a row, unfinished bytes and rows that nothing points at are older than `before`."""
    unfinished = sum(folder.older_than(key, before, is_unfinished=True) for key in folder.unfinished())
    unowned = set(folder.keys()) - set(StoredFile.objects.values_list("storage_key", flat=True))
    old = sum(folder.older_than(key, before) for key in unowned)
    return unfinished + old + _rows_without_use(before).count()


def _rows_without_use(before: datetime) -> QuerySet[StoredFile]:
    """Rows older than `before` that no foreign key points at: what made them was cut off or is gone."""
    relations = [
        field
        for field in StoredFile._meta.get_fields(include_hidden=True)
        if isinstance(field, ForeignObjectRel) and isinstance(field.related_model, type)
    ]
    rows = StoredFile.objects.filter(stored_at__lt=before)
    for relation in relations:
        pointing = relation.related_model._base_manager.filter(**{relation.field.name: OuterRef("pk")})
        rows = rows.filter(~Exists(pointing))
    return rows


def _remove_rows_without_use(before: datetime) -> int:
    removed = 0
    for row in _rows_without_use(before):
        try:
            remove(row)
        except (RestrictedError, ProtectedError):  # taken into use since it was looked up
            continue
        removed += 1
    return removed


def check_files(at: datetime, part: int = 0, parts: int = 1) -> Checked:
    """Compare bytes with their checksums, for one of `parts` equal shares of all files; marks what it finds.

    A nightly check takes `part` 0 to 6 of 7 in turn; the whole is `parts` 1. Raises ValueError unless
    0 <= part < parts.
    """
    if not 0 <= part < parts:
        raise ValueError(f"Part {part} of {parts}; allowed: 0 to {parts - 1}.")
    counted = 0
    found: dict[str, list[StoredFile]] = {state: [] for state in StoredFile.State.values}
    for row in StoredFile.objects.order_by("pk").iterator():
        if row.pk % parts != part:
            continue
        counted += 1
        row.state = _state_now(row)
        row.checked_at = at
        # An update: a row removed meanwhile stays removed.
        if StoredFile.objects.filter(pk=row.pk).update(state=row.state, checked_at=at):
            found[row.state].append(row)
    return Checked(counted, tuple(found[StoredFile.State.MISSING]), tuple(found[StoredFile.State.MISMATCH]))


def _state_now(row: StoredFile) -> StoredFile.State:
    now = folder.digest_of(row.storage_key)
    if now is None:
        return StoredFile.State.MISSING
    return StoredFile.State.OK if now == (row.sha256, row.size) else StoredFile.State.MISMATCH
