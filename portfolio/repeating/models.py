"""Which sheet repeats which, and what was said in writing about a repeat.

Fields and constraints only: writing is in `repeating.services`, reading in `repeating.selectors`.
"""

from typing import ClassVar

from django.conf import settings
from django.db import models
from django.db.models import F, Q

from portfolio.append_only import AppendOnly


class StatementKind(models.TextChoices):
    EARLY = "early", "begun early"
    GIVEN_UP = "given_up", "given up"
    LEFT_OUT = "left_out", "left out"
    COUNTED = "counted", "counted again"


class RepeatSheet(models.Model):
    """A sheet measured again, blind to the first; its order is `sheet.occasion`, 2 for the first repeat.

    It is open until the sheet is sealed: handed in with `sheet.handed_in_at`, given up without. `first_then` is
    the first sheet as it stood when this one was begun (`version`, `findings`): a change made after a look at
    the repeat does not enter the pairs.
    """

    sheet = models.OneToOneField("portfolio.Sheet", on_delete=models.CASCADE, related_name="as_repeat")
    first = models.ForeignKey("portfolio.Sheet", on_delete=models.CASCADE, related_name="repeat_sheets")
    first_then = models.JSONField()
    begun_at = models.DateTimeField()

    class Meta:
        constraints: ClassVar = [
            models.CheckConstraint(condition=~Q(sheet=F("first")), name="repeat_sheet_of_another"),
        ]

    def __str__(self) -> str:
        return f"repeat {self.sheet_id} of {self.first_id}"


class AppendOnlyStatements(AppendOnly["RepeatStatement"]):
    """Statements are written once; they go only with the case they belong to."""


class RepeatStatement(models.Model):
    """Why a repeat was begun early, given up, left out of the figures, or counted again."""

    repeat = models.ForeignKey(RepeatSheet, on_delete=models.CASCADE, related_name="statements")
    kind = models.CharField(max_length=8, choices=StatementKind)
    reason = models.CharField(max_length=300)
    by = models.ForeignKey(settings.AUTH_USER_MODEL, on_delete=models.PROTECT, related_name="+")
    at = models.DateTimeField()

    objects = AppendOnlyStatements.as_manager()

    class Meta:
        constraints: ClassVar = [
            models.CheckConstraint(
                condition=Q(kind__in=StatementKind.values), name="repeat_statement_kind_known"
            ),
            models.CheckConstraint(condition=~Q(reason=""), name="repeat_statement_reason_given"),
        ]

    def __str__(self) -> str:
        return f"{self.kind}: {self.reason}"
