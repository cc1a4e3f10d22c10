"""What every start makes for itself in seconds, made once and copied: a migrated database and collected static files.

Kept between runs in .pytest_cache. The database is made anew when a migration or a locked package changed; static files are
collected again by the rule of the app. First starts on nothing are tried in tests/browser/test_serving.py.
"""

from __future__ import annotations

import fcntl
import hashlib
import os
import shutil
import subprocess
import sys
import tempfile
from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path
from urllib.parse import urlsplit

import psycopg

PROJECT = Path(__file__).resolve().parent.parent
PLACE = PROJECT / ".pytest_cache" / "prepared"
DATABASE = "foliowright.sqlite3"
TEMPLATE = "migrated"


@contextmanager
def _alone() -> Iterator[None]:
    """Of several processes one makes it, and the others wait."""
    PLACE.mkdir(parents=True, exist_ok=True)
    with (PLACE / ".lock").open("w") as lock:
        fcntl.flock(lock, fcntl.LOCK_EX)
        yield


def _in_the_app(lines: str, data: Path, **more: str) -> None:
    kept = {key: text for key, text in os.environ.items() if not key.startswith(("FOLIOWRIGHT_", "DJANGO_"))}
    own = {"FOLIOWRIGHT_DATA": str(data), "DJANGO_SETTINGS_MODULE": "config.settings"}
    command = [sys.executable, "-c", f"import django; django.setup(); {lines}"]
    done = subprocess.run(command, cwd=PROJECT, env={**kept, **own, **more}, capture_output=True, text=True)
    assert done.returncode == 0, done.stderr


MIGRATE = "from running import data_folder; data_folder.migrate()"


def _digest() -> str:
    read = hashlib.sha256((PROJECT / "requirements.lock").read_bytes())
    for path in sorted(PROJECT.glob("*/migrations/*.py")):
        read.update(f"{path.relative_to(PROJECT)}\n".encode() + path.read_bytes())
    return read.hexdigest()[:20]


def migrated_file() -> Path:
    """A SQLite file with all tables and no rows but those that migrations make; to be copied."""
    kept = PLACE / f"{_digest()}.sqlite3"
    with _alone():
        if not kept.exists():
            for old in PLACE.glob("*.sqlite3"):
                old.unlink()
            with tempfile.TemporaryDirectory(dir=PLACE) as folder:
                _in_the_app(MIGRATE, Path(folder))
                os.replace(Path(folder) / DATABASE, kept)
    return kept


def copy_in_cluster(address: str, name: str) -> None:
    """In the cluster at this address: a database of this name like that, copied from a template that is migrated once."""
    with _alone(), psycopg.connect(address, autocommit=True) as connection:
        there = {found for (found,) in connection.execute("SELECT datname FROM pg_database")}
        if TEMPLATE not in there:
            connection.execute(f"CREATE DATABASE {TEMPLATE}".encode())
            template = urlsplit(address)._replace(path=f"/{TEMPLATE}").geturl()
            with tempfile.TemporaryDirectory() as folder:
                _in_the_app(MIGRATE, Path(folder), FOLIOWRIGHT_DATABASE=template)
        if name not in there:
            connection.execute(f"CREATE DATABASE {name} TEMPLATE {TEMPLATE}".encode())


def furnish(data: Path, *, database: bool = True) -> Path:
    """Make a data folder as any start but the first finds it: tables made, nobody entered, static files collected."""
    data.mkdir(mode=0o700, parents=True)
    if database:
        shutil.copyfile(migrated_file(), data / DATABASE)
    with _alone():
        _in_the_app(
            "from django.conf import settings; from running import data_folder;"
            " data_folder.collect_static(settings.STATIC_ROOT)",
            PLACE,
        )
        shutil.copytree(PLACE / "static", data / "static")
    return data
