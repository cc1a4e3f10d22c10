"""Marks on stable structures of a traced radiograph.

Fields and constraints only: writing is in `superimposing.services`, reading in `superimposing.selectors`.
"""

from django.db import models

from imaging.tracing.models import Tracing


class StableMarks(models.Model):
    """The marks of one tracing; `version` is the number of saves.

    `marks` holds structure against name against `{"x", "y", "uncertain"}` in pixels of the original picture, y down.
    """

    tracing = models.OneToOneField(Tracing, on_delete=models.CASCADE, related_name="stable_marks")
    marks = models.JSONField(default=dict, blank=True)
    version = models.PositiveIntegerField(default=0)

    def __str__(self) -> str:
        return f"marks of {self.tracing_id}"
