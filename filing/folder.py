"""Bytes on disk: the folder `files` of the data folder, where each file has a random name and appears whole.

A file is written to `files/incoming`, forced to disk, and renamed to its place `files/ab/cd/abcd…` on the same
volume; a name that stands in its place is therefore whole. Only this room knows paths.
"""

import fcntl
import hashlib
import os
import secrets
from collections.abc import Iterable, Iterator
from contextlib import contextmanager, suppress
from dataclasses import dataclass
from datetime import datetime
from pathlib import Path

from django.conf import settings

INCOMING = "incoming"
HOLD = ".held"
PIECE_BYTES = 1024 * 1024


@dataclass(frozen=True, slots=True)
class Written:
    """Bytes that stand on disk under this key."""

    key: str
    sha256: str
    size: int


def root() -> Path:
    """The folder of all stored bytes; it need not exist yet."""
    return Path(settings.DATA_DIR) / "files"


def place(key: str) -> Path:
    """Where the bytes of a key stand, two levels of folders deep."""
    return root() / key[:2] / key[2:4] / key


def write(chunks: Iterable[bytes]) -> Written:
    """Put bytes on disk under a new random key; on any fault nothing is left, and the fault is passed on."""
    incoming = root() / INCOMING
    _make_folder(incoming)
    key = secrets.token_hex(20)
    temporary = incoming / key
    digest = hashlib.sha256()
    size = 0
    try:
        handle = os.open(temporary, os.O_WRONLY | os.O_CREAT | os.O_EXCL, 0o600)
        with os.fdopen(handle, "wb") as file:
            for chunk in chunks:
                digest.update(chunk)
                size += len(chunk)
                file.write(chunk)
            file.flush()
            os.fsync(file.fileno())
        target = place(key)
        _make_folder(target.parent)
        os.rename(temporary, target)
        _force_folder(target.parent)
    except BaseException:
        with suppress(OSError):
            temporary.unlink(missing_ok=True)
        raise
    return Written(key, digest.hexdigest(), size)


def erase(key: str) -> bool:
    """Take the bytes of a key off the disk, unless they are held: then the sweep does it; whether it was done."""
    _make_folder(root())
    with (root() / HOLD).open("a") as lock:
        try:
            fcntl.flock(lock, fcntl.LOCK_SH | fcntl.LOCK_NB)
        except BlockingIOError:
            return False
        target = place(key)
        target.unlink(missing_ok=True)
        with suppress(FileNotFoundError):
            _force_folder(target.parent)
    return True


@contextmanager
def held() -> Iterator[None]:
    """While this lasts no bytes are erased, by whatever process: a backup is copying them."""
    _make_folder(root())
    with (root() / HOLD).open("a") as lock:
        fcntl.flock(lock, fcntl.LOCK_EX)
        yield


def digest_of(key: str) -> tuple[str, int] | None:
    """SHA-256 and size of the bytes that stand there now; None where they are missing."""
    digest = hashlib.sha256()
    size = 0
    try:
        with place(key).open("rb") as file:
            while piece := file.read(PIECE_BYTES):
                digest.update(piece)
                size += len(piece)
    except FileNotFoundError:
        return None
    return digest.hexdigest(), size


def keys() -> Iterator[str]:
    """The key of every file that stands in its place."""
    for path in root().glob("??/??/*"):
        if path.parent.parent.name != INCOMING and path.is_file():
            yield path.name


def unfinished() -> Iterator[str]:
    """The key of every file whose writing was cut off, or goes on."""
    incoming = root() / INCOMING
    if incoming.is_dir():
        yield from (path.name for path in incoming.iterdir() if path.is_file())


def erase_unfinished(key: str) -> None:
    (root() / INCOMING / key).unlink(missing_ok=True)


def older_than(key: str, moment: datetime, *, is_unfinished: bool = False) -> bool:
    """Were the bytes last written before this moment? False where they are gone."""
    path = root() / INCOMING / key if is_unfinished else place(key)
    try:
        return path.stat().st_mtime < moment.timestamp()
    except FileNotFoundError:
        return False


def _make_folder(folder: Path) -> None:
    """Make a folder with its parents, each known to the disk before anything is put in it."""
    if folder.is_dir():
        return
    _make_folder(folder.parent)
    folder.mkdir(mode=0o700, exist_ok=True)
    _force_folder(folder.parent)


def _force_folder(folder: Path) -> None:
    handle = os.open(folder, os.O_RDONLY | os.O_DIRECTORY)
    try:
        os.fsync(handle)
    finally:
        os.close(handle)


def put_back(key: str, source: Path) -> None:
    """Move a whole file of the same volume to the place of a key: the way back from a backup."""
    target = place(key)
    _make_folder(target.parent)
    os.rename(source, target)
    _force_folder(target.parent)
