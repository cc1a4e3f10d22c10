"""Marks on pictures and their history.

Fields and constraints only: writing is in `marking.services`, reading in `marking.selectors`, who may see what in
`marking.access`.
"""

import uuid
from typing import ClassVar

from django.conf import settings
from django.db import models
from django.db.models import Q

from imaging.steps.models import UNDOES_SOMETHING, SavedStep, StepAction
from portfolio.append_only import AppendOnly
from portfolio.models import RecordItem


class Marking(models.Model):
    """One reader's marks on one picture; `version` is the number of its last revision.

    `marks` holds a mark's key against `{"kind", "label", "places": [{"x", "y", "zoom"}]}`, places in pixels of the
    original picture, y down.
    """

    public_id = models.UUIDField(default=uuid.uuid4, unique=True, editable=False)
    item = models.ForeignKey(RecordItem, on_delete=models.CASCADE, related_name="markings")
    reader = models.ForeignKey(settings.AUTH_USER_MODEL, on_delete=models.PROTECT, related_name="markings")
    marks = models.JSONField(default=dict, blank=True)
    version = models.PositiveIntegerField(default=0)

    class Meta:
        constraints: ClassVar = [
            models.UniqueConstraint(fields=["item", "reader"], name="marking_once_per_picture_and_reader"),
        ]

    def __str__(self) -> str:
        return f"marks {self.public_id}"


class AppendOnlyMarks(AppendOnly["MarkingRevision"]):
    """Steps are written once; they go only with their picture."""


class MarkingRevision(SavedStep):
    """One step in the history of marks.

    `items` lists what was changed as `{"name", "old", "new"}`: a mark's key with what it was and is, null for none.
    """

    marking = models.ForeignKey(Marking, on_delete=models.CASCADE, related_name="revisions")

    objects = AppendOnlyMarks.as_manager()

    class Meta:
        constraints: ClassVar = [
            models.UniqueConstraint(fields=["marking", "number"], name="marking_revision_number_once"),
            models.UniqueConstraint(fields=["marking", "request_key"], name="marking_revision_request_once"),
            models.CheckConstraint(
                condition=Q(action__in=StepAction.values), name="marking_revision_action_known"
            ),
            models.CheckConstraint(condition=UNDOES_SOMETHING, name="marking_revision_undoes_something"),
        ]
