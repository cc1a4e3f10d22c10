"""The data folder of one installation: who may use it, one preparation at a time, collected static files."""

import contextlib
import fcntl
import hashlib
import os
import secrets
import tempfile
from collections.abc import Iterator
from pathlib import Path

from django.contrib.auth import get_user_model
from django.contrib.staticfiles.finders import get_finders
from django.core.management import call_command
from django.db import connection

DEMO_FILE = "demo-password"
# An `import` line in a comment of the first names a file that does not exist; the second are for prints.
UNUSED = ["django_htmx/ext/*", "*.ttf"]
UNMISTAKABLE = "abcdefghjkmnpqrstuvwxyz23456789"


class NotTheDemo(Exception):
    """The data folder or database holds accounts that the demo did not make."""


@contextlib.contextmanager
def one_at_a_time(data: Path) -> Iterator[None]:
    """Two starts on one data folder prepare it one after the other; the lock ends with the process."""
    data.mkdir(parents=True, exist_ok=True, mode=0o700)
    with (data / ".preparing").open("w") as file:
        fcntl.flock(file, fcntl.LOCK_EX)
        yield


def write_whole(target: Path, text: str) -> None:
    """Write a small file so that it appears whole, readable by its owner only."""
    handle, name = tempfile.mkstemp(dir=target.parent, prefix=f".{target.name}-")
    try:
        with os.fdopen(handle, "w", encoding="utf-8") as file:
            file.write(text)
            file.flush()
            os.fsync(file.fileno())
        os.replace(name, target)
    except BaseException:
        os.unlink(name)
        raise


def migrate() -> None:
    call_command("migrate", interactive=False, verbosity=0)
    call_command("createcachetable", verbosity=0)


def collect_static(root: Path) -> None:
    """Collect the static files unless nothing has changed since they were last collected here."""
    digest = hashlib.sha256()
    for finder in get_finders():
        for path, storage in finder.list([]):
            stat = os.stat(storage.path(path))
            digest.update(f"{path} {stat.st_size} {stat.st_mtime_ns}\n".encode())
    stamp = root / ".collected"
    if stamp.exists() and stamp.read_text() == digest.hexdigest():
        return
    stamp.unlink(missing_ok=True)
    call_command("collectstatic", interactive=False, verbosity=0, ignore_patterns=UNUSED)
    write_whole(stamp, digest.hexdigest())


def demo_password(data: Path) -> str:
    """The demo's password in this data folder, made at the first start; call `refuse_foreign_accounts` before."""
    target = data / DEMO_FILE
    if not target.exists():
        groups = ("".join(secrets.choice(UNMISTAKABLE) for _ in range(4)) for _ in range(4))
        write_whole(target, f"{'-'.join(groups)}\n{_database_mark()}\n")
    return target.read_text(encoding="utf-8").split("\n")[0]


def refuse_foreign_accounts(data: Path) -> None:
    """Raise NotTheDemo where somebody has an account in a database that the demo did not begin; changes nothing."""
    target = data / DEMO_FILE
    begun_here = target.exists() and target.read_text(encoding="utf-8").split("\n")[1:2] == [_database_mark()]
    people = get_user_model()
    if begun_here or people._meta.db_table not in connection.introspection.table_names():
        return
    if people._default_manager.exists():
        raise NotTheDemo(
            f"{data} already holds accounts that are not the demo's, so the demo leaves it alone. Serve it with "
            "./foliowright serve, or name another folder for the demo in FOLIOWRIGHT_DATA."
        )


def _database_mark() -> str:
    """Tells databases apart, so that a password file does not vouch for another database."""
    settings = connection.settings_dict
    named = "|".join(str(settings.get(key, "")) for key in ("ENGINE", "HOST", "PORT", "NAME"))
    return hashlib.sha256(named.encode()).hexdigest()[:16]
