"""A request to take a coded patient over. A patient belongs to one portfolio at a time.

Fields and constraints only: writing is in `moving.services`, reading in `moving.selectors`.
"""

import uuid
from typing import ClassVar

from django.conf import settings
from django.db import models
from django.db.models import Q

LONGEST_NOTE = 300


class MoveAnswer(models.TextChoices):
    OPEN = "open", "open"
    ACCEPTED = "accepted", "taken over"
    DECLINED = "declined", "declined"
    WITHDRAWN = "withdrawn", "withdrawn"


class MoveRequest(models.Model):
    """One request; an answered one stays as the history. `private_along`: locator and kept birth date go along."""

    public_id = models.UUIDField(default=uuid.uuid4, unique=True, editable=False)
    patient = models.ForeignKey("portfolio.Patient", on_delete=models.CASCADE, related_name="move_requests")
    asked_by = models.ForeignKey(settings.AUTH_USER_MODEL, on_delete=models.PROTECT, related_name="+")
    asked_to = models.ForeignKey(settings.AUTH_USER_MODEL, on_delete=models.PROTECT, related_name="+")
    private_along = models.BooleanField(default=False)
    note = models.CharField(max_length=LONGEST_NOTE, blank=True)
    asked_at = models.DateTimeField()
    answer = models.CharField(max_length=10, choices=MoveAnswer, default=MoveAnswer.OPEN)
    answered_at = models.DateTimeField(null=True, blank=True)

    class Meta:
        constraints: ClassVar = [
            models.UniqueConstraint(
                fields=["patient"], condition=Q(answer="open"), name="move_request_one_open_per_patient"
            ),
            models.CheckConstraint(
                condition=Q(answer__in=MoveAnswer.values), name="move_request_answer_known"
            ),
            models.CheckConstraint(
                condition=Q(answer="open", answered_at__isnull=True)
                | (~Q(answer="open") & Q(answered_at__isnull=False)),
                name="move_request_answered_at_when_answered",
            ),
            models.CheckConstraint(
                condition=~Q(asked_by=models.F("asked_to")), name="move_request_to_somebody_else"
            ),
        ]

    def __str__(self) -> str:
        return f"move {self.public_id}"
