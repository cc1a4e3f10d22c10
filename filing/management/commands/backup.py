"""manage.py backup FILE: the whole installation in one file, made while the app goes on working."""

from argparse import ArgumentParser
from pathlib import Path
from typing import Any

from django.core.management.base import BaseCommand, CommandError
from django.utils import timezone

from filing import backup
from filing.backup_file import BackupRefused


class Command(BaseCommand):
    help = "Write database, files and secret key to one new file, with checksums; encrypted with --key-file."

    def add_arguments(self, parser: ArgumentParser) -> None:
        parser.add_argument("file", type=Path)
        parser.add_argument("--key-file", type=Path, help="file whose first line is the pass phrase")

    def handle(self, *args: Any, **options: Any) -> None:
        try:
            made = backup.make(options["file"].absolute(), timezone.now(), read_phrase(options["key_file"]))
        except BackupRefused as refused:
            raise CommandError(str(refused)) from None
        self.stdout.write(f"{options['file']}: {made.size} bytes, database and {made.files} files.")
        if not made.sealed:
            self.stdout.write(
                "It is not encrypted and holds the secret key: keep it where nobody else reads it."
            )
        self.stdout.write("A backup is good once it has been restored: try it with manage.py rehearse.")


def read_phrase(file: Path | None) -> str:
    """The pass phrase in the first line of a file; empty without a file."""
    if file is None:
        return ""
    try:
        phrase = file.read_text(encoding="utf-8").split("\n")[0].strip()
    except (OSError, UnicodeDecodeError) as fault:
        raise CommandError(f"The pass phrase cannot be read from {file}: {fault}") from None
    if len(phrase) < 12:
        raise CommandError(f"The pass phrase in {file} has {len(phrase)} characters; at least 12 are needed.")
    return phrase
