"""Events in the course of a case, and what is stated about the case as a whole.

Fields and constraints only: writing is in `treatment.services`, reading in `selectors.courses`.
"""

import uuid
from typing import ClassVar

from django.db import models
from django.db.models import Q

from portfolio.events import BY_KEY, HANDS, KINDS, MOST_PHASES


class TreatmentEvent(models.Model):
    """One event. Its day is private to the owner; others see months since the start.

    `teeth` are ISO 3950 in reading order with one space between; `detail` is one of the details of the kind;
    `phase` 0 is not stated. A removed event can be put back and goes with the case.
    """

    public_id = models.UUIDField(default=uuid.uuid4, unique=True, editable=False)
    case = models.ForeignKey("portfolio.Case", on_delete=models.CASCADE, related_name="treatment_events")
    on = models.DateField()
    kind = models.CharField(max_length=16, choices=[(kind.key, kind.label) for kind in KINDS])
    teeth = models.CharField(max_length=200, blank=True)
    detail = models.CharField(max_length=20, blank=True)
    phase = models.PositiveSmallIntegerField(default=0)
    done_by = models.CharField(max_length=12, choices=list(HANDS.items()), blank=True)
    note = models.CharField(max_length=500, blank=True)
    removed_at = models.DateTimeField(null=True, blank=True)
    version = models.PositiveIntegerField(default=1)

    class Meta:
        constraints: ClassVar = [
            models.CheckConstraint(condition=Q(kind__in=list(BY_KEY)), name="treatment_event_kind_known"),
            models.CheckConstraint(
                condition=Q(done_by__in=["", *HANDS]), name="treatment_event_done_by_known"
            ),
            models.CheckConstraint(
                condition=Q(phase__lte=MOST_PHASES), name="treatment_event_phase_in_range"
            ),
        ]

    def __str__(self) -> str:
        return f"{self.kind} {self.public_id}"


class CaseStatements(models.Model):
    """What is stated about a case as a whole; null is not stated. A case without a row has nothing stated."""

    case = models.OneToOneField("portfolio.Case", on_delete=models.CASCADE, related_name="statements")
    asymmetry = models.BooleanField(null=True, blank=True)
    surgical_plan = models.BooleanField(null=True, blank=True)
    presented_before = models.BooleanField(null=True, blank=True)
    note = models.CharField(max_length=500, blank=True)
    version = models.PositiveIntegerField(default=0)

    def __str__(self) -> str:
        return f"statements {self.case_id}"
