"""An empty machine to restore on, a filled app to back up, and ways to spoil a backup."""

from __future__ import annotations

import hashlib
import io
import json
import sqlite3
import subprocess
import sys
import tarfile
from collections.abc import Callable, Iterator
from contextlib import closing, contextmanager
from dataclasses import dataclass
from pathlib import Path
from typing import Any

import psycopg

from filing.backup_file import DIGEST_LINE_BYTES, DIGEST_WORD
from tests.factories.accounts import person
from tests.factories.filing import stored_file
from tests.filing.warm_manage import WarmManage

PROJECT = Path(__file__).resolve().parents[2]
PHRASE = "alginate tray and wax"

Parts = list[tuple[tarfile.TarInfo, bytes]]


@dataclass(frozen=True)
class Machine:
    """An empty machine: a data folder of its own, and on PostgreSQL a database of its own."""

    data: Path
    environment: dict[str, str]
    warm: WarmManage

    def manage(self, *arguments: str, **more: str) -> subprocess.CompletedProcess[str]:
        """A command on this machine, run by a fork of a loaded process."""
        return self.warm.run(list(arguments), {**self.environment, **more})

    def manage_for_real(self, *arguments: str) -> subprocess.CompletedProcess[str]:
        """The same as an administrator would give it."""
        return subprocess.run(
            [sys.executable, "manage.py", *arguments],
            cwd=PROJECT,
            env=self.environment,
            capture_output=True,
            text=True,
        )

    def refused(self, *arguments: str) -> str:
        """What a command says that must be refused in words, with the machine as empty as before."""
        done = self.manage(*arguments)
        assert done.returncode == 1, done.stdout
        assert "Traceback" not in done.stderr, done.stderr
        assert self.is_empty()
        return done.stderr

    @contextmanager
    def database(self) -> Iterator[Any]:
        """The database of the machine, as other programs open it."""
        if address := self.environment.get("FOLIOWRIGHT_DATABASE"):
            with psycopg.connect(address) as opened:
                yield opened
        else:
            with closing(sqlite3.connect(self.data / "foliowright.sqlite3")) as file:
                yield file

    def rows(self) -> list[list[str]]:
        """E-mail addresses and digests that stand in the database."""
        with self.database() as opened:
            return [
                sorted(text for (text,) in opened.execute(asked))
                for asked in ("SELECT email FROM accounts_user", "SELECT sha256 FROM filing_storedfile")
            ]

    def is_empty(self) -> bool:
        """Nothing in the folder, and, on PostgreSQL, no table."""
        if any(self.data.iterdir()):
            return False
        if "FOLIOWRIGHT_DATABASE" not in self.environment:
            return True
        with self.database() as opened:
            found = opened.execute("SELECT count(*) FROM pg_tables WHERE schemaname = 'public'").fetchone()
        return bool(found == (0,))


def filled() -> list[list[str]]:
    """People and files in the live app, as `Machine.rows` gives them."""
    who = person(email="ada@clinic.example")
    rows = [stored_file(who, content) for content in (b"upper cast", b"lower cast" * 200_000, b"")]
    return [["ada@clinic.example"], sorted(row.sha256 for row in rows)]


def parts_of(archive: Path) -> Parts:
    """The parts of a plain backup, manifest last."""
    with tarfile.open(archive) as opened:
        return [(one, opened.extractfile(one).read()) for one in opened]  # type: ignore[union-attr]


def put_together(archive: Path, parts: Parts) -> None:
    """Write a plain backup anew of these parts, with a digest line that fits: whatever is wrong is in the parts."""
    held = io.BytesIO()
    with tarfile.open(fileobj=held, mode="w", format=tarfile.PAX_FORMAT) as opened:
        for entry, content in parts:
            entry.size = len(content)
            opened.addfile(entry, io.BytesIO(content))
    whole = held.getvalue()
    archive.write_bytes(whole + DIGEST_WORD + hashlib.sha256(whole).hexdigest().encode() + b"\n")


def with_manifest(archive: Path, change: Callable[[dict[str, Any]], object]) -> None:
    """Change the manifest of a plain backup and put the backup together anew."""
    *parts, (entry, text) = parts_of(archive)
    manifest = json.loads(text)
    change(manifest)
    put_together(archive, [*parts, (entry, json.dumps(manifest).encode())])


def places(archive: Path) -> list[int]:
    """Offsets at which a byte is to be changed: in every header, content, padding, the manifest and the last line."""
    with tarfile.open(archive) as opened:
        entries = opened.getmembers()
    size = archive.stat().st_size
    found = {0, size - 1, size - DIGEST_LINE_BYTES, size - DIGEST_LINE_BYTES - 1, size - 70}
    for entry in entries:
        end = entry.offset_data + entry.size
        found |= {
            entry.offset + 3,
            entry.offset + 130,
            entry.offset + 156,
            entry.offset + 300,
            entry.offset + 510,
        }
        found |= {entry.offset_data, entry.offset_data + entry.size // 2, end - 1, end}
    return sorted(found)


def spoiled(content: bytes, place: int) -> bytes:
    """The bytes with one bit turned at this place."""
    return content[:place] + bytes([content[place] ^ 1]) + content[place + 1 :]
