"""Is the installation sound: database, migrations, every stored file, nothing left over, free space.

Rooms above name in settings what this room cannot know: FILE_NAMERS say which case a file belongs to, RESTORE_PROOFS
prove after a restore that the app can work with what came back.
"""

import shutil
from collections.abc import Callable, Sequence
from dataclasses import astuple, dataclass
from datetime import UTC, date, datetime, timedelta

from django.conf import settings
from django.db import IntegrityError, connection, transaction
from django.db.migrations.executor import MigrationExecutor
from django.utils.module_loading import import_string

from filing import services
from filing.models import HealthCheck, StoredFile

PARTS = 7
"""Nights in which the nightly check reads every file once."""

NIGHT_BEGINS = timedelta(hours=2)
"""The hour (UTC) from which a night's check is due; a server that was off then does it when it starts."""

LEAST_FREE_BYTES = 1024**3
SHOWN = 5


@dataclass(frozen=True, slots=True)
class Result:
    """One thing looked at: what, whether it is good, and in words what was found."""

    what: str
    good: bool
    words: str


def check(at: datetime, part: int = 0, parts: int = 1, *, with_proofs: bool = False) -> HealthCheck:
    """Look at everything, at one of `parts` shares of the files; the stored check."""
    found = [_database(), _migrations(), _files(at, part, parts), _leavings(at), _space()]
    if with_proofs:
        found += [_proof(name) for name in settings.RESTORE_PROOFS]
    row = HealthCheck(
        at=at,
        scope=HealthCheck.Scope.WHOLE if parts == 1 else HealthCheck.Scope.DAILY,
        day=None if parts == 1 else night_of(at),
        good=all(result.good for result in found),
        report=[list(astuple(result)) for result in found],
    )
    with transaction.atomic():
        row.save()
    return row


def night_of(at: datetime) -> date:
    """The day whose night it is: from 02:00 UTC on the new one."""
    return (at.astimezone(UTC) - NIGHT_BEGINS).date()


def daily(at: datetime) -> HealthCheck | None:
    """Once a night: sweep what cut-offs left, and check a seventh of the files; None where it is done already."""
    night = night_of(at)
    if HealthCheck.objects.filter(day=night).exists():
        return None
    services.sweep(at)
    try:
        return check(at, night.toordinal() % PARTS, PARTS)
    except IntegrityError:  # another worker was quicker
        return None


def results(row: HealthCheck) -> tuple[Result, ...]:
    """The report of a stored check."""
    return tuple(Result(str(what), bool(good), str(words)) for what, good, words in row.report)


def _database() -> Result:
    with connection.cursor() as cursor:
        if connection.vendor != "sqlite":
            cursor.execute("SELECT current_setting('server_version')")
            return Result("database", True, f"PostgreSQL {cursor.fetchone()[0]} answers.")
        cursor.execute("PRAGMA integrity_check(5)")
        found = [str(row[0]) for row in cursor.fetchall()]
        if found != ["ok"]:
            return Result("database", False, "The database is damaged: " + "; ".join(found))
        cursor.execute("PRAGMA foreign_key_check")
        broken = len(cursor.fetchall())
    if broken:
        return Result("database", False, f"{broken} rows point at rows that are missing.")
    return Result("database", True, "SQLite finds its file whole.")


def _migrations() -> Result:
    executor = MigrationExecutor(connection)
    waiting = executor.migration_plan(executor.loader.graph.leaf_nodes())
    if waiting:
        return Result("version", False, f"{len(waiting)} migrations have not been applied; start serve once.")
    return Result("version", True, "The database fits this version.")


def _files(at: datetime, part: int, parts: int) -> Result:
    checked = services.check_files(at, part, parts)
    share = "" if parts == 1 else f" (share {part + 1} of {parts})"
    if checked.all_whole:
        return Result("files", True, f"{checked.files} files whole{share}.")
    words = []
    for rows, what in ((checked.missing, "missing"), (checked.mismatched, "changed since they were stored")):
        if rows:
            words.append(f"{len(rows)} {what}: {_named(rows[:SHOWN])}{' …' if len(rows) > SHOWN else ''}")
    return Result("files", False, f"Of {checked.files} files{share} " + "; ".join(words))


def _named(rows: Sequence[StoredFile]) -> str:
    """Each file by its case, as far as a room knows it, and its public id."""
    belongs: dict[int, str] = {}
    for name in settings.FILE_NAMERS:
        namer: Callable[[Sequence[int]], dict[int, str]] = import_string(name)
        belongs |= namer([row.pk for row in rows])
    return ", ".join(f"{belongs.get(row.pk, 'no case')} (file {row.public_id})" for row in rows)


def _leavings(at: datetime) -> Result:
    """Bytes without a row and rows without use: none may be older than a day, as the sweep goes round hourly."""
    left = services.leavings(at - services.LONGEST_LEFT)
    if not left:
        return Result("leavings", True, "Nothing is left over on disk or in the database.")
    return Result(
        "leavings",
        False,
        f"{left} leavings are older than a day: bytes without a row, or rows that nothing uses. The worker clears "
        "them while Foliowright is served; `manage.py health --sweep` does it now.",
    )


def _proof(name: str) -> Result:
    proof: Callable[[], Result] = import_string(name)
    return proof()


def _space() -> Result:
    free = shutil.disk_usage(settings.DATA_DIR).free
    words = f"{free / 1024**3:.1f} GiB free in the data folder."
    return Result("space", free >= LEAST_FREE_BYTES, words)
