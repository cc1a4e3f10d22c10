"""manage.py health: check database, version, every file and free space; ends with status 1 if anything is wrong."""

from argparse import ArgumentParser
from typing import Any

from django.core.management.base import BaseCommand, CommandError
from django.utils import timezone

from filing import health, result_lines, services


class Command(BaseCommand):
    help = "Check the database, the version, every stored file against its checksum, leavings and free space."

    def add_arguments(self, parser: ArgumentParser) -> None:
        parser.add_argument("--sweep", action="store_true", help="first clear what cut-offs left a day ago")

    def handle(self, *args: Any, **options: Any) -> None:
        if options["sweep"]:
            swept = services.sweep(timezone.now())
            gone = swept.unfinished_erased + swept.bytes_erased
            self.stdout.write(f"Swept: {gone} leavings on disk, {swept.rows_removed} rows without use.")
        row = health.check(timezone.now())
        for result in health.results(row):
            self.stdout.write(result_lines.line(result))
        if not row.good:
            raise CommandError("The installation is not sound; see the lines marked BAD.")
