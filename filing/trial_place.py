"""An empty place for a trial: a data folder of its own and a database of its own, both gone afterwards.

The folder lies in the data folder, so that patients' records do not leave its volume. Only one trial goes on at a
time: it locks the data folder, and so do the programs it starts; what a killed trial left is cleared by the next one
and by the worker.
"""

import fcntl
import os
import secrets
import shutil
from collections.abc import Iterator
from contextlib import contextmanager
from dataclasses import dataclass
from datetime import datetime
from pathlib import Path
from urllib.parse import quote, urlencode

from django.conf import settings
from django.db import DatabaseError, connection

PREFIX = ".rehearsing-"
DATABASE_PREFIX = "foliowright_rehearsal_"
DATABASE_FILE = "database"
"""Holds the name of the trial's database on PostgreSQL, for whoever clears up after a kill."""

OF_THE_PRESENT = frozenset(
    {"FOLIOWRIGHT_DATABASE", "FOLIOWRIGHT_DATABASE_PASSWORD_FILE", "FOLIOWRIGHT_DATA", "FOLIOWRIGHT_KEEPER"}
)
"""Variables that lead to the present installation, which a trial must not touch."""


class NoPlace(Exception):
    """There is no place for a trial; the message says what it needs."""


class Busy(Exception):
    """Another trial goes on."""


@dataclass(frozen=True, slots=True)
class TrialPlace:
    """The folder of the trial, the environment of programs that work there, and the lock they are to hold."""

    folder: Path
    environment: dict[str, str]
    lock: int
    words: str

    @property
    def data(self) -> Path:
        """The empty data folder."""
        return self.folder / "data"


@contextmanager
def trial_place() -> Iterator[TrialPlace]:
    """Make an empty place and clear it away however the trial ends. Raises NoPlace and Busy."""
    with _alone() as lock:
        if lock is None:
            raise Busy("A rehearsal is going on already. Wait until it has ended.")
        _clear()
        place = Path(settings.DATA_DIR) / f"{PREFIX}{secrets.token_hex(8)}"
        place.mkdir(mode=0o700)
        try:
            (place / "data").mkdir(mode=0o700)
            (place / "temporary").mkdir(mode=0o700)
            yield _furnished(place, lock)
        finally:
            _clear()


def clear_leavings(at: datetime) -> int:
    """Clear away what killed trials left before now; how many. Does nothing while a trial goes on."""
    if not Path(settings.DATA_DIR).is_dir():
        return 0
    with _alone() as lock:
        return 0 if lock is None else _clear()


@contextmanager
def _alone() -> Iterator[int | None]:
    """A lock on the data folder itself, as an open handle; None where somebody holds it."""
    handle = os.open(settings.DATA_DIR, os.O_RDONLY | os.O_DIRECTORY)
    try:
        try:
            fcntl.flock(handle, fcntl.LOCK_EX | fcntl.LOCK_NB)
        except BlockingIOError:
            yield None
        else:
            yield handle
    finally:
        os.close(handle)


def _furnished(place: Path, lock: int) -> TrialPlace:
    kept = {name: value for name, value in os.environ.items() if name not in OF_THE_PRESENT}
    environment = {
        **kept,
        "FOLIOWRIGHT_DATA": str(place / "data"),
        "TMPDIR": str(place / "temporary"),
        "PYTHONUTF8": "1",
    }
    words = "An empty data folder"
    if connection.vendor == "postgresql":
        name = f"{DATABASE_PREFIX}{secrets.token_hex(8)}"
        (place / DATABASE_FILE).write_text(name)
        _make_database(name)
        environment["FOLIOWRIGHT_DATABASE"] = address(name)
        return TrialPlace(
            place, environment, lock, f"{words} and an empty PostgreSQL database on the same server."
        )
    return TrialPlace(place, environment, lock, f"{words} with a SQLite file of its own.")


def _make_database(name: str) -> None:
    quoted = connection.ops.quote_name
    with connection.cursor() as cursor:
        cursor.execute(
            "SELECT rolname, rolcreatedb OR rolsuper FROM pg_catalog.pg_roles WHERE rolname = current_user"
        )
        user, allowed = cursor.fetchone()
        if not allowed:
            raise NoPlace(
                f"A rehearsal restores into a database of its own, and the database user {user} may not make one. "
                f"An administrator of the server allows it with: ALTER ROLE {quoted(user)} CREATEDB"
            )
        cursor.execute(
            "SELECT pg_encoding_to_char(encoding), datcollate, datctype FROM pg_catalog.pg_database"
            " WHERE datname = current_database()"
        )
        encoding, collate, kind = cursor.fetchone()
        try:
            cursor.execute(
                f"CREATE DATABASE {quoted(name)} TEMPLATE template0 ENCODING %s LC_COLLATE %s LC_CTYPE %s",
                [encoding, collate, kind],
            )
        except DatabaseError as fault:
            raise NoPlace(f"The database server made no database for the rehearsal: {fault}") from fault


def address(name: str) -> str:
    """The address of another database on the server in use, as FOLIOWRIGHT_DATABASE takes it."""
    here = connection.settings_dict
    user, password = quote(str(here["USER"] or ""), safe=""), quote(str(here["PASSWORD"] or ""), safe="")
    credentials = f"{user}:{password}" if password else user
    port = f":{here['PORT']}" if here.get("PORT") else ""
    options = {
        key: value
        for key, value in (here.get("OPTIONS") or {}).items()
        if isinstance(value, str) and key != "host"
    }
    if here.get("HOST"):
        options["host"] = str(here["HOST"])
    return f"postgresql://{credentials}@{port}/{name}" + (f"?{urlencode(options)}" if options else "")


def _clear() -> int:
    """Remove all trial folders and their databases; the lock is held."""
    cleared = 0
    for place in Path(settings.DATA_DIR).glob(f"{PREFIX}*"):
        note = place / DATABASE_FILE
        if note.is_file() and (name := note.read_text()).startswith(DATABASE_PREFIX):
            with connection.cursor() as cursor:
                cursor.execute(f"DROP DATABASE IF EXISTS {connection.ops.quote_name(name)} WITH (FORCE)")
        shutil.rmtree(place)
        cleared += 1
    return cleared
