"""One step in the history of what is saved while one works.  Fields only."""

from django.conf import settings
from django.db import models
from django.db.models import Q


class StepAction(models.TextChoices):
    CHANGE = "change", "changed"
    UNDO = "undo", "undone"
    REDO = "redo", "done again"


UNDOES_SOMETHING = Q(action="change", undoes__isnull=True) | (~Q(action="change") & Q(undoes__isnull=False))
"""A change undoes nothing; an undo and doing again name the change that they are about."""


class SavedStep(models.Model):
    """One step; `items` lists what was changed as `{"name", "old", "new"}`, null for nothing."""

    number = models.PositiveIntegerField()
    by = models.ForeignKey(settings.AUTH_USER_MODEL, on_delete=models.PROTECT, related_name="+")
    at = models.DateTimeField()
    action = models.CharField(max_length=6, choices=StepAction)
    undoes = models.PositiveIntegerField(null=True, blank=True)
    """Of an undo or of doing again: the number of the change."""
    request_key = models.CharField(max_length=64)
    items = models.JSONField(default=list)

    class Meta:
        abstract = True

    def __str__(self) -> str:
        return f"step {self.number}"
