"""manage.py restore FILE: fill an empty installation from a backup, ending in a health check or as empty as before."""

from argparse import ArgumentParser
from pathlib import Path
from typing import Any

from django.core.management.base import BaseCommand, CommandError
from django.utils import timezone

from filing import health, restoring, result_lines
from filing.backup_file import BackupRefused
from filing.management.commands.backup import read_phrase


class Command(BaseCommand):
    help = (
        "Restore a backup into an empty data folder (FOLIOWRIGHT_DATA) and an empty database, and prove it by a health "
        "check and the print of one case; on any fault everything is as empty as before."
    )
    requires_system_checks = ()

    def add_arguments(self, parser: ArgumentParser) -> None:
        parser.add_argument("file", type=Path)
        parser.add_argument("--key-file", type=Path, help="file whose first line is the pass phrase")
        parser.add_argument(
            "--without-print", action="store_true", help="print no case: for a machine that cannot print"
        )

    def handle(self, *args: Any, **options: Any) -> None:
        try:
            restored = restoring.restore(
                options["file"],
                timezone.now(),
                read_phrase(options["key_file"]),
                with_print=not options["without_print"],
                progress=self._say,
            )
        except BackupRefused as refused:
            raise CommandError(str(refused)) from None
        for result in health.results(restored.checked):
            self._say(result_lines.line(result))
        for name, value in restored.manifest.settings.items():
            self._say(f"It was set up with {name}={value}")
        self._say("Restored. Start it with ./foliowright serve.")

    def _say(self, words: str) -> None:
        self.stdout.write(words)
        self.stdout.flush()
