"""The file of a backup: what stands in it and in which order, and how it is read without trusting it.

A backup is a tar stream, sealed (`filing.sealed`) when a pass phrase is given: first a copy of the database
(`database.sqlite3` or `database.pgdump`), then the bytes of all stored files (`files/<key>`), the secret key, and last
`manifest.json` with the time, the versions of app and database, the settings, the migrations applied, the rows of
each table, and SHA-256 and size of everything before it. Behind the end of the tar stands one line,
`FOLIOWRIGHT SHA-256 <64 hexadecimal digits>`, over every byte before it, so that no byte of a backup can change
without being noticed. Ordinary tar programs read a backup that is not sealed and pass over that line.
"""

import hashlib
import io
import json
import os
import re
import tarfile
from dataclasses import asdict, dataclass
from pathlib import Path
from typing import Any, BinaryIO, cast

from filing.sealed import HEAD, SealedReader, Unsealable

FORMAT = 2
MANIFEST = "manifest.json"
BESIDE = ("secret-key", "demo-password")
"""Small files of the data folder without which the rest is of little use."""

MEMBER = re.compile(
    r"files/[0-9a-f]{40}|database\.(?:sqlite3|pgdump)|secret-key|demo-password|manifest\.json"
)
DIGEST_WORD = b"FOLIOWRIGHT SHA-256 "
DIGEST_LINE_BYTES = len(DIGEST_WORD) + 64 + 1
PIECE_BYTES = 1024 * 1024
SHOWN = 5


class BackupRefused(Exception):
    """The backup cannot be made or restored; the message says why and what to do. Nothing was changed."""


@dataclass(frozen=True, slots=True)
class Member:
    """SHA-256 and size in bytes of one part."""

    sha256: str
    size: int


@dataclass(frozen=True, slots=True)
class Manifest:
    """What a backup says of itself; `rows` by table, `members` by name, `settings` by environment variable."""

    made_at: str
    app: str
    database: str
    settings: dict[str, str]
    migrations: tuple[tuple[str, str], ...]
    rows: dict[str, int]
    members: dict[str, Member]

    def text(self) -> bytes:
        """The manifest as it is written."""
        return json.dumps({"format": FORMAT, **asdict(self)}, indent=1).encode()


def manifest_of(text: bytes) -> Manifest:
    """A manifest from its text; raises BackupRefused for another format or a shape this app does not write."""
    try:
        read = json.loads(text)
        if read["format"] != FORMAT:
            raise BackupRefused(
                f"The backup has format {read['format']}; this version of Foliowright reads format {FORMAT}. "
                "Restore it with the version that made it."
            )
        return Manifest(
            made_at=str(read["made_at"]),
            app=str(read["app"]),
            database=str(read["database"]),
            settings={str(name): str(value) for name, value in read["settings"].items()},
            migrations=tuple((str(app), str(name)) for app, name in read["migrations"]),
            rows={str(table): int(count) for table, count in read["rows"].items()},
            members={
                str(name): Member(str(one["sha256"]), int(one["size"]))
                for name, one in read["members"].items()
            },
        )
    except (ValueError, TypeError, LookupError, AttributeError) as fault:
        raise BackupRefused(
            f"{MANIFEST} of the backup is damaged: it is not as this app writes it."
        ) from fault


class Writer:
    """Writes the parts of a backup to a stream; `finish` writes the manifest and the digest line.

    To be used in a `with` block: after a fault in it nothing more is written.
    """

    def __init__(self, stream: BinaryIO) -> None:
        self._stream = _Digesting(stream)
        self._archive = tarfile.open(  # noqa: SIM115 closed by finish
            fileobj=cast(Any, self._stream), mode="w|", format=tarfile.PAX_FORMAT
        )
        self.members: dict[str, Member] = {}

    def __enter__(self) -> "Writer":
        return self

    def __exit__(self, *fault: object) -> None:
        self._stream.over = True

    def add(self, name: str, path: Path) -> None:
        """Add the bytes of a file; raises OSError."""
        with path.open("rb") as file:
            entry = _entry(name, os.fstat(file.fileno()).st_size)
            counted = _Digesting(file)
            self._archive.addfile(entry, cast(Any, counted))
        self.members[name] = Member(counted.digest.hexdigest(), entry.size)

    def finish(self, manifest: Manifest) -> None:
        text = manifest.text()
        self._archive.addfile(_entry(MANIFEST, len(text)), io.BytesIO(text))
        self._archive.close()
        self._stream.write(DIGEST_WORD + self._stream.digest.hexdigest().encode() + b"\n")


def _entry(name: str, size: int) -> tarfile.TarInfo:
    entry = tarfile.TarInfo(name)
    entry.size = size
    entry.mode = 0o600
    return entry


class _Digesting:
    """Passes bytes on in either direction and keeps their digest."""

    def __init__(self, file: BinaryIO) -> None:
        self._file = file
        self.digest = hashlib.sha256()
        self.over = False

    def read(self, size: int = -1) -> bytes:
        data = self._file.read(size)
        self.digest.update(data)
        return data

    def write(self, data: bytes) -> int:
        if self.over:  # the archive says goodbye when it is thrown away
            return len(data)
        self.digest.update(data)
        return self._file.write(data)


class _UpToTheDigestLine:
    """Reads everything but the last line of a stream; `refuse_unless_whole` holds that line against the rest."""

    def __init__(self, source: BinaryIO) -> None:
        self._source = source
        self._ready = bytearray()
        self._digest = hashlib.sha256()

    def read(self, size: int) -> bytes:
        while len(self._ready) < size + DIGEST_LINE_BYTES:
            more = self._source.read(PIECE_BYTES)
            if not more:
                break
            self._ready += more
        given = bytes(self._ready[: max(0, min(size, len(self._ready) - DIGEST_LINE_BYTES))])
        del self._ready[: len(given)]
        self._digest.update(given)
        return given

    def refuse_unless_whole(self) -> None:
        while self.read(PIECE_BYTES):
            pass
        if bytes(self._ready) != DIGEST_WORD + self._digest.hexdigest().encode() + b"\n":
            raise BackupRefused(
                "The backup was changed or cut off: its last line does not fit what stands before it. Use another one."
            )


def read_out(source: Path, phrase: str, work: Path) -> Manifest:
    """Write every part of a backup to a folder as `work/<name with - for />`, compared with manifest and digest line.

    Raises BackupRefused for anything that is missing, changed, added, cut off or not as this app writes it.
    """
    try:
        with source.open("rb") as file:
            stream = _UpToTheDigestLine(_opened(file, phrase))
            found = _members(stream, work)
            if MANIFEST not in found:
                raise BackupRefused(
                    "The backup ends before its manifest: it was cut off or changed. Use another one."
                )
            manifest = manifest_of((work / MANIFEST).read_bytes())
            del found[MANIFEST]
            _refuse_unless_same(found, manifest.members)
            stream.refuse_unless_whole()
    except (OSError, tarfile.TarError, Unsealable, ValueError, LookupError, ArithmeticError) as fault:
        raise BackupRefused(f"The backup cannot be read: {fault}") from fault
    return manifest


def _opened(file: BinaryIO, phrase: str) -> BinaryIO:
    is_sealed = file.read(len(HEAD)) == HEAD
    file.seek(0)
    if is_sealed and not phrase:
        raise BackupRefused("The backup is encrypted; give the file with its pass phrase by --key-file.")
    if phrase and not is_sealed:
        raise BackupRefused(
            "A pass phrase was given, but this backup is not encrypted: it may not be the one you mean. "
            "If it is, leave out --key-file."
        )
    return cast(BinaryIO, SealedReader(file, phrase)) if is_sealed else file


def _members(stream: _UpToTheDigestLine, work: Path) -> dict[str, Member]:
    found: dict[str, Member] = {}
    with tarfile.open(fileobj=cast(Any, stream), mode="r|") as archive:
        for entry in archive:
            plain = entry.type == tarfile.REGTYPE and not entry.pax_headers
            if not plain or not MEMBER.fullmatch(entry.name) or entry.name in found:
                raise BackupRefused(
                    f"The backup holds a part that no backup of this app holds: {entry.name[:100]!r}. Use another one."
                )
            found[entry.name] = _take_out(archive, entry, work / name_at_work(entry.name))
    return found


def name_at_work(name: str) -> str:
    """Name of a part in the folder it is read out to."""
    return name.replace("/", "-")


def _take_out(archive: tarfile.TarFile, entry: tarfile.TarInfo, target: Path) -> Member:
    content = archive.extractfile(entry)
    assert content is not None
    digest = hashlib.sha256()
    handle = os.open(target, os.O_WRONLY | os.O_CREAT | os.O_EXCL, 0o600)
    with os.fdopen(handle, "wb") as file:
        while piece := content.read(PIECE_BYTES):
            digest.update(piece)
            file.write(piece)
        file.flush()
        os.fsync(file.fileno())
    return Member(digest.hexdigest(), entry.size)


def _refuse_unless_same(found: dict[str, Member], named: dict[str, Member]) -> None:
    kinds = {
        "missing": named.keys() - found.keys(),
        "not in its manifest": found.keys() - named.keys(),
        "changed": {name for name in found.keys() & named.keys() if found[name] != named[name]},
    }
    said = [f"{len(names)} {what}: {_listed(names)}" for what, names in kinds.items() if names]
    if said:
        raise BackupRefused(
            f"The parts of the backup are not those of its manifest. {'; '.join(said)}. Use another one."
        )


def _listed(names: set[str]) -> str:
    return ", ".join(sorted(names)[:SHOWN]) + (" …" if len(names) > SHOWN else "")
