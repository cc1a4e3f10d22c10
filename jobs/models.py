"""Jobs: work that takes longer than a page may, with its progress and its result."""

import uuid
from typing import ClassVar

from django.db import models
from django.db.models import Q

from accounts.models import User
from filing.models import StoredFile


class Job(models.Model):
    """One piece of background work, asked for by a person about one subject.

    `subject` is the public id of what it is about, `input_digest` tells the inputs apart: of equal jobs of one
    person only one waits or runs. `heartbeat` is renewed every few seconds while the work goes on; `worker` names the
    process that does it (`machine/process id`). `note` is said beside it for as long as it stands. A job is withdrawn
    when its result may not be handed out any more; `message` says why.
    """

    class State(models.TextChoices):
        WAITING = "waiting", "waiting"
        RUNNING = "running", "running"
        DONE = "done", "done"
        FAILED = "failed", "failed"
        CANCELLED = "cancelled", "cancelled"
        WITHDRAWN = "withdrawn", "withdrawn"

    public_id = models.UUIDField(unique=True, editable=False, default=uuid.uuid4)
    kind = models.CharField(max_length=40)
    subject = models.CharField(max_length=64, db_index=True)
    input_digest = models.CharField(max_length=64)
    options = models.JSONField(default=dict)
    asked_by = models.ForeignKey(User, on_delete=models.PROTECT, related_name="+")
    asked_at = models.DateTimeField()
    queued_as = models.UUIDField(null=True)
    state = models.CharField(max_length=9, choices=State, default=State.WAITING)
    percent = models.PositiveSmallIntegerField(default=0)
    message = models.CharField(max_length=300, blank=True)
    note = models.CharField(max_length=300, blank=True)
    heartbeat = models.DateTimeField(null=True)
    worker = models.CharField(max_length=120, blank=True)
    cancel_asked = models.BooleanField(default=False)
    ended_at = models.DateTimeField(null=True)
    result = models.ForeignKey(StoredFile, null=True, on_delete=models.SET_NULL, related_name="+")

    class Meta:
        constraints: ClassVar[list[models.BaseConstraint]] = [
            models.UniqueConstraint(
                fields=["kind", "subject", "input_digest", "asked_by"],
                condition=Q(state__in=["waiting", "running"]),
                name="one_unfinished_job_of_a_kind",
            ),
            models.CheckConstraint(condition=Q(percent__lte=100), name="job_percent_to_100"),
            models.CheckConstraint(
                condition=Q(state__in=["waiting", "running", "done", "failed", "cancelled", "withdrawn"]),
                name="job_state_known",
            ),
            models.CheckConstraint(
                condition=Q(result__isnull=True) | Q(state="done"), name="job_result_when_done_only"
            ),
        ]

    def __str__(self) -> str:
        return f"job {self.pk}"
