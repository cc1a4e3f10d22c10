"""manage.py setup_code: prints the set-up code of the first run, nothing once a person exists."""

from typing import Any

from django.core.management.base import BaseCommand
from django.utils import timezone

from accounts import services


class Command(BaseCommand):
    help = "Make and print a fresh set-up code for the first run; prints nothing once a person exists."

    def handle(self, *args: Any, **options: Any) -> None:
        code = services.setup_code(timezone.now())
        if code is not None:
            self.stdout.write(code)
