"""The history of a portfolio's case log: one change, and what each case was before and after it.

Fields and constraints only: writing is in `case_log.services`, reading in `case_log.selectors`.
"""

from typing import ClassVar

from django.conf import settings
from django.db import models
from django.db.models import Q

from portfolio.append_only import AppendOnly


class LogAction(models.TextChoices):
    ADD = "add", "added"
    EDIT = "edit", "changed"
    DELETE = "delete", "deleted"
    IMPORT = "import", "imported"
    UNDO = "undo", "undone"


class AppendOnlyLogChanges(AppendOnly["LogChange"]):
    """Changes are written once; they go only with the portfolio they belong to."""


class AppendOnlyLogLines(AppendOnly["LogLine"]):
    """Lines are written once; they go only with the case they belong to."""


class LogChange(models.Model):
    """One step in the history of a portfolio's case log. `digest` is that of an imported file, else empty."""

    portfolio = models.ForeignKey("portfolio.Portfolio", on_delete=models.CASCADE, related_name="log_changes")
    number = models.PositiveIntegerField()
    by = models.ForeignKey(settings.AUTH_USER_MODEL, on_delete=models.PROTECT, related_name="+")
    at = models.DateTimeField()
    action = models.CharField(max_length=8, choices=LogAction)
    request_key = models.CharField(max_length=64)
    digest = models.CharField(max_length=64, blank=True)
    undoes = models.OneToOneField(
        "self", null=True, blank=True, on_delete=models.CASCADE, related_name="undone_by"
    )

    objects = AppendOnlyLogChanges.as_manager()

    class Meta:
        constraints: ClassVar = [
            models.UniqueConstraint(fields=["portfolio", "number"], name="log_change_number_once"),
            models.UniqueConstraint(fields=["portfolio", "request_key"], name="log_change_request_once"),
            models.CheckConstraint(condition=Q(action__in=LogAction.values), name="log_change_action_known"),
            models.CheckConstraint(condition=~Q(request_key=""), name="log_change_request_given"),
        ]

    def __str__(self) -> str:
        return f"log change {self.number}"


class LogLine(models.Model):
    """What a change did to one case: `old` and `new` are state and answers by name, null for no case.

    Lines go with their case, so that erasing it leaves none of its answers behind.
    """

    change = models.ForeignKey(LogChange, on_delete=models.CASCADE, related_name="lines")
    case = models.ForeignKey("portfolio.Case", on_delete=models.CASCADE, related_name="log_lines")
    old = models.JSONField(null=True)
    new = models.JSONField(null=True)

    objects = AppendOnlyLogLines.as_manager()

    class Meta:
        constraints: ClassVar = [
            models.UniqueConstraint(fields=["change", "case"], name="log_line_once_per_change"),
        ]

    def __str__(self) -> str:
        return f"line of log change {self.change_id}"
