"""Tracings of radiographs and their history.

Fields and constraints only: writing is in `tracing.services`, reading in `tracing.selectors`, who may see what in
`tracing.access`.
"""

import uuid
from typing import ClassVar

from django.conf import settings
from django.db import models
from django.db.models import Q

from imaging.steps.models import UNDOES_SOMETHING, SavedStep, StepAction
from imaging.tracing.on_picture import Way
from portfolio.append_only import AppendOnly
from portfolio.models import RecordItem


class MandibularPlane(models.TextChoices):
    GO_ME = "go_me", "Go-Me"
    GO_GN = "go_gn", "Go-Gn"
    TANGENT = "tangent", "tangent of the lower border from Me"


class Tracing(models.Model):
    """One reader's tracing of one radiograph; `version` is the number of its last revision.

    `repeat` is 0 for the first tracing and 1, 2 and so on for repeats in their order (`imaging.repeats`).

    `points` holds a landmark's key against `{"x", "y", "uncertain"}` in pixels of the original picture, y down;
    `outlines` a structure's key against its row of knots (`imaging.tracing.outlines`).
    `forward` is the side of the original picture to which the patient faces.
    """

    public_id = models.UUIDField(default=uuid.uuid4, unique=True, editable=False)
    item = models.ForeignKey(RecordItem, on_delete=models.CASCADE, related_name="tracings")
    reader = models.ForeignKey(settings.AUTH_USER_MODEL, on_delete=models.PROTECT, related_name="tracings")
    repeat = models.PositiveSmallIntegerField(default=0)
    forward = models.CharField(max_length=5)
    mandibular_plane = models.CharField(max_length=8, choices=MandibularPlane, default=MandibularPlane.GO_ME)
    points = models.JSONField(default=dict, blank=True)
    outlines = models.JSONField(default=dict, blank=True)
    version = models.PositiveIntegerField(default=0)

    class Meta:
        constraints: ClassVar = [
            models.UniqueConstraint(
                fields=["item", "reader", "repeat"], name="tracing_once_per_picture_reader_and_repeat"
            ),
            models.CheckConstraint(
                condition=Q(mandibular_plane__in=MandibularPlane.values), name="tracing_plane_known"
            ),
            models.CheckConstraint(
                condition=Q(forward__in=[way.value for way in Way]), name="tracing_forward_known"
            ),
        ]

    def __str__(self) -> str:
        return f"tracing {self.public_id}"


class AppendOnlyRevisions(AppendOnly["TracingRevision"]):
    """Steps are written once; they go only with their picture."""


class TracingRevision(SavedStep):
    """One step in the history of a tracing.

    `items` lists what was changed as `{"name", "old", "new"}`: a landmark's key with its place or null,
    `outline:` and a structure's key with its knots or null, or `mandibular_plane` or `forward` with their texts.
    """

    tracing = models.ForeignKey(Tracing, on_delete=models.CASCADE, related_name="revisions")

    objects = AppendOnlyRevisions.as_manager()

    class Meta:
        constraints: ClassVar = [
            models.UniqueConstraint(fields=["tracing", "number"], name="tracing_revision_number_once"),
            models.UniqueConstraint(fields=["tracing", "request_key"], name="tracing_revision_request_once"),
            models.CheckConstraint(
                condition=Q(action__in=StepAction.values), name="tracing_revision_action_known"
            ),
            models.CheckConstraint(condition=UNDOES_SOMETHING, name="tracing_revision_undoes_something"),
        ]
