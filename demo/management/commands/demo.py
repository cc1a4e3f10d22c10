"""`manage.py demo`: the invented clinic, once."""

import logging
from argparse import ArgumentParser
from typing import Any

from django.core.management.base import BaseCommand, CommandError
from django.utils import timezone

from demo import filling, scenario


class Command(BaseCommand):
    help = "Fill an empty database with the invented clinic; a second run changes nothing."

    def add_arguments(self, parser: ArgumentParser) -> None:
        parser.add_argument("--password", required=True, help="password of everybody in the demo")

    def handle(self, *args: Any, **options: Any) -> None:
        if not filling.is_filled():
            if filling.holds_people():
                raise CommandError(
                    "This database holds accounts that are not the demo's; nothing was changed."
                )
            # who was entered is no event worth a line when all of it is invented
            logging.disable(logging.INFO)
            try:
                filling.fill(options["password"], timezone.now())
            finally:
                logging.disable(logging.NOTSET)
        for person, does in (
            (
                scenario.CANDIDATE,
                "four cases for a board, a log of possible ones, nine results, all invented",
            ),
            (scenario.COLLEAGUE, "an empty portfolio"),
            (scenario.MANAGER, "administrator, sees no records"),
        ):
            self.stdout.write(f"Sign in as {person.email} ({person.name}: {does})")
