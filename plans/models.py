"""Plans with their versions, the version that a portfolio is held against, and cases fixed to slots or left out.

Fields and constraints only: writing is in `services`, reading in `selectors`, who may see what in `access`.
Documents are plans as JSON, written and read by `plans.plan_file` alone.
"""

import uuid
from typing import ClassVar

from django.conf import settings
from django.db import models
from django.db.models import Q

from plans.submitting.models import Submission as Submission
from plans.submitting.models import SubmissionResult as SubmissionResult
from plans.submitting.models import SubmissionResultState as SubmissionResultState
from plans.submitting.models import SubmittedCase as SubmittedCase
from portfolio.append_only import AppendOnly
from portfolio.models import Case, Portfolio

LONGEST_KEY = 40
TAKEN_BACK = "taken back: "
"""Stands before the words of a change that was undone; undoing that does the change again."""


class Plan(models.Model):
    """A plan that its owner edits.

    `draft` is the document being edited, `before` the one before the last change, which undo brings back.
    `version` counts the saves of the draft, so that two windows do not overwrite each other; it has nothing to do
    with the numbers of `PlanVersion`.  `made_from` is the key of a shipped plan or the public id of another plan.
    """

    public_id = models.UUIDField(default=uuid.uuid4, unique=True, editable=False)
    owner = models.ForeignKey(settings.AUTH_USER_MODEL, on_delete=models.PROTECT, related_name="plans")
    name = models.CharField(max_length=120)
    draft = models.JSONField()
    before = models.JSONField(null=True, blank=True)
    last_change = models.CharField(max_length=200, blank=True)
    version = models.PositiveIntegerField(default=1)
    made_from = models.CharField(max_length=60, blank=True)
    archived_at = models.DateTimeField(null=True, blank=True)

    class Meta:
        constraints: ClassVar = [
            models.CheckConstraint(condition=~Q(name=""), name="plan_name_given"),
        ]

    def __str__(self) -> str:
        return self.name


class PlanVersion(models.Model):
    """A plan as it was kept; never changed, so a portfolio that is held against it stays held against the same."""

    public_id = models.UUIDField(default=uuid.uuid4, unique=True, editable=False)
    plan = models.ForeignKey(Plan, on_delete=models.CASCADE, related_name="versions")
    number = models.PositiveIntegerField()
    document = models.JSONField()
    digest = models.CharField(max_length=64)
    made_by = models.ForeignKey(settings.AUTH_USER_MODEL, on_delete=models.PROTECT, related_name="+")
    made_at = models.DateTimeField()
    note = models.CharField(max_length=300, blank=True)

    objects = AppendOnly["PlanVersion"].as_manager()

    class Meta:
        constraints: ClassVar = [
            models.UniqueConstraint(fields=["plan", "number"], name="plan_version_number_once"),
        ]

    def __str__(self) -> str:
        return f"{self.plan} version {self.number}"


class PortfolioPlan(models.Model):
    """The plan version that a portfolio is held against, and when it is meant to be handed in."""

    portfolio = models.OneToOneField(Portfolio, on_delete=models.CASCADE, related_name="chosen_plan")
    plan_version = models.ForeignKey(PlanVersion, on_delete=models.PROTECT, related_name="portfolio_plans")
    chosen_at = models.DateTimeField()
    chosen_by = models.ForeignKey(settings.AUTH_USER_MODEL, on_delete=models.PROTECT, related_name="+")
    submission_on = models.DateField(null=True, blank=True)
    """The day on which it is meant to be handed in; private."""

    def __str__(self) -> str:
        return f"{self.portfolio}: {self.plan_version}"


class PlacementKind(models.TextChoices):
    FIXED = "fixed", "fixed to a slot"
    EXCLUDED = "excluded", "left out"


class Placement(models.Model):
    """A case that its owner has fixed to a slot, or left out of the choice with a reason."""

    case = models.ForeignKey(Case, on_delete=models.CASCADE, related_name="placements")
    portfolio_plan = models.ForeignKey(PortfolioPlan, on_delete=models.CASCADE, related_name="placements")
    slot = models.CharField(max_length=LONGEST_KEY, blank=True)
    kind = models.CharField(max_length=10, choices=PlacementKind)
    reason = models.CharField(max_length=300, blank=True)
    at = models.DateTimeField()

    class Meta:
        constraints: ClassVar = [
            models.UniqueConstraint(fields=["portfolio_plan", "case"], name="placement_once_per_case"),
            models.UniqueConstraint(
                fields=["portfolio_plan", "slot"],
                condition=Q(kind="fixed"),
                name="placement_one_case_per_slot",
            ),
            models.CheckConstraint(condition=Q(kind__in=PlacementKind.values), name="placement_kind_known"),
            models.CheckConstraint(
                condition=(Q(kind="fixed") & ~Q(slot="")) | (Q(kind="excluded") & Q(slot="")),
                name="placement_slot_only_where_fixed",
            ),
        ]

    def __str__(self) -> str:
        return f"{self.case} {self.kind} {self.slot}"
