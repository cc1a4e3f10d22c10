"""A copy of the whole database by the database's own backup call, and the way back into an empty database."""

import os
import re
import shutil
import sqlite3
import subprocess
from collections.abc import Mapping
from contextlib import closing
from pathlib import Path
from typing import Any

from django.db import connection, transaction


class CopyFailed(Exception):
    """The database could not be copied or put back; the message holds the words of its own program."""


def name_in_backup() -> str:
    return "database.sqlite3" if connection.vendor == "sqlite" else "database.pgdump"


def version() -> str:
    """Kind and version of the database."""
    if connection.vendor == "sqlite":
        return f"SQLite {sqlite3.sqlite_version}"
    with connection.cursor() as cursor:
        cursor.execute("SELECT current_setting('server_version')")
        return f"PostgreSQL {cursor.fetchone()[0]}"


def copy_to(target: Path) -> dict[str, int]:
    """Write a consistent copy while the app goes on working; rows of each table in that very copy."""
    if connection.vendor == "sqlite":
        with (
            closing(sqlite3.connect(str(connection.settings_dict["NAME"]))) as live,
            closing(sqlite3.connect(target)) as copy,
        ):
            live.backup(copy)
            with connection.cursor() as cursor:
                tables = connection.introspection.table_names(cursor)
            return {table: copy.execute(_count(table)).fetchone()[0] for table in tables}
    # The dump sees the same moment as the counts: the transaction only reads, and lasts as long as the dump.
    with transaction.atomic(), connection.cursor() as cursor:
        cursor.execute("SET TRANSACTION ISOLATION LEVEL REPEATABLE READ, READ ONLY")
        cursor.execute("SELECT pg_export_snapshot()")
        moment = str(cursor.fetchone()[0])
        counted = row_counts()
        _run(
            "pg_dump",
            "--format=custom",
            "--no-owner",
            "--no-privileges",
            f"--snapshot={moment}",
            f"--file={target}",
        )
    return counted


def row_counts() -> dict[str, int]:
    """Rows of each table as they stand now."""
    with connection.cursor() as cursor:
        counted = {}
        for table in connection.introspection.table_names(cursor):
            cursor.execute(_count(table))
            counted[table] = int(cursor.fetchone()[0])
    return counted


def _count(table: str) -> str:
    return f"SELECT COUNT(*) FROM {connection.ops.quote_name(table)}"  # noqa: S608


def is_empty() -> bool:
    """Whether the database holds no table."""
    if connection.vendor == "sqlite" and not Path(str(connection.settings_dict["NAME"])).exists():
        return True
    empty = not connection.introspection.table_names()
    connection.close()
    return empty


def put_back(source: Path) -> None:
    """Fill the empty database from a copy; either all of it or nothing stands there afterwards."""
    connection.close()
    if connection.vendor == "sqlite":
        target = Path(str(connection.settings_dict["NAME"]))
        shutil.move(source, target)
        return
    _run(
        "pg_restore", "--no-owner", "--no-privileges", "--single-transaction", "--exit-on-error", str(source)
    )


def empty_again() -> None:
    """Take everything out of a database that was empty before `put_back`."""
    if connection.vendor == "sqlite":
        connection.close()
        name = str(connection.settings_dict["NAME"])
        for ending in ("", "-wal", "-shm"):
            Path(name + ending).unlink(missing_ok=True)
        return
    with connection.cursor() as cursor:
        for table in connection.introspection.table_names(cursor):
            cursor.execute(f"DROP TABLE IF EXISTS {connection.ops.quote_name(table)} CASCADE")
    connection.close()


def _run(program: str, *arguments: str) -> None:
    settings: Mapping[str, Any] = connection.settings_dict
    environment = dict(os.environ)
    for name, key in (("PGHOST", "HOST"), ("PGPORT", "PORT"), ("PGUSER", "USER"), ("PGPASSWORD", "PASSWORD")):
        if settings.get(key):
            environment[name] = str(settings[key])
    command = [str(_newest(program)), f"--dbname={settings['NAME']}", *arguments]
    done = subprocess.run(command, env=environment, capture_output=True, text=True)  # noqa: S603
    if done.returncode:
        raise CopyFailed(f"{program}: {done.stderr.strip()[-500:]}")


def _newest(program: str) -> Path:
    """The program of the highest PostgreSQL version installed: an older one refuses a newer server."""
    found = [
        (int(path.parts[-3]), path)
        for path in Path("/usr/lib/postgresql").glob(f"*/bin/{program}")
        if re.fullmatch(r"\d+", path.parts[-3])
    ]
    if found:
        return max(found)[1]
    elsewhere = shutil.which(program)
    if elsewhere is None:
        raise CopyFailed(f"{program} is not installed. Install it: apt-get install postgresql-client")
    return Path(elsewhere)
