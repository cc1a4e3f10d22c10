"""manage.py rehearse [FILE]: restore a backup in an empty place, check it, print one case, and clear all of it away."""

from argparse import ArgumentParser
from pathlib import Path
from typing import Any

from django.core.management.base import BaseCommand, CommandError
from django.utils import timezone

from filing import rehearsal, result_lines, trial_place
from filing.management.commands.backup import read_phrase


class Command(BaseCommand):
    help = (
        "Rehearse a restore: of the backup FILE, or of a backup made of this installation now. It is restored into an "
        "empty place of its own, its health is checked, one case is printed, and everything is cleared away again."
    )

    requires_system_checks = ()

    def add_arguments(self, parser: ArgumentParser) -> None:
        parser.add_argument(
            "file", type=Path, nargs="?", help="a backup; without it one is made and thrown away"
        )
        parser.add_argument("--key-file", type=Path, help="file whose first line is the pass phrase")

    def handle(self, *args: Any, **options: Any) -> None:
        self._said = ""
        try:
            row = rehearsal.rehearse(
                timezone.now(), self._tell, file=options["file"], phrase=read_phrase(options["key_file"])
            )
        except trial_place.Busy as refused:
            raise CommandError(str(refused)) from None
        for result in rehearsal.results(row):
            self.stdout.write(result_lines.line(result))
        if not row.good:
            raise CommandError("The rehearsal failed: this backup would not bring the installation back.")
        self.stdout.write("The rehearsal succeeded: this backup brings the installation back.")

    def _tell(self, percent: int, words: str) -> None:
        """One line for each step; what goes on within a step, behind a comma, is for a page's progress bar."""
        step = words.partition(",")[0]
        if step != self._said and not result_lines.read([words]):
            self._said = step
            self.stdout.write(f"{percent:3} %  {step}")
            self.stdout.flush()
