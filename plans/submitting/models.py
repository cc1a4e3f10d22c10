"""What was handed in to a board or program, case by case, and what it answered.

Fields and constraints only. Everything is append only: a correction is another row. A case that is erased takes its
part of every submission with it, and the submission then says that it is not whole.
"""

import uuid
from typing import ClassVar

from django.conf import settings
from django.db import models
from django.db.models import Q

from portfolio.append_only import AppendOnly
from portfolio.models import Case, Portfolio

LONGEST_SESSION = 120
LONGEST_NOTE = 2000


class SubmissionResultState(models.TextChoices):
    ACCEPTED = "accepted", "accepted"
    NOT_ACCEPTED = "not_accepted", "not accepted"
    MORE_ASKED = "more_asked", "more asked for"


class Submission(models.Model):
    """One submission. `head` holds the plan version, the slots and the reason for what was left open; `digest` is over
    `head` and the digests of its `parts` cases in the order of the slots. `submitted_on` is private."""

    public_id = models.UUIDField(default=uuid.uuid4, unique=True, editable=False)
    portfolio = models.ForeignKey(Portfolio, on_delete=models.CASCADE, related_name="submissions")
    plan_version = models.ForeignKey(
        "plans.PlanVersion", on_delete=models.PROTECT, related_name="submissions"
    )
    session = models.CharField(max_length=LONGEST_SESSION)
    submitted_on = models.DateField()
    made_by = models.ForeignKey(settings.AUTH_USER_MODEL, on_delete=models.PROTECT, related_name="+")
    made_at = models.DateTimeField()
    head = models.JSONField()
    parts = models.PositiveSmallIntegerField()
    digest = models.CharField(max_length=64)

    objects = AppendOnly["Submission"].as_manager()

    class Meta:
        constraints: ClassVar = [
            models.CheckConstraint(condition=~Q(session=""), name="submission_session_given"),
        ]

    def __str__(self) -> str:
        return self.session


class SubmittedCase(models.Model):
    """One case of a submission: the slot it stood in, its answers and kept scores as they were."""

    public_id = models.UUIDField(default=uuid.uuid4, unique=True, editable=False)
    submission = models.ForeignKey(Submission, on_delete=models.CASCADE, related_name="cases")
    case = models.ForeignKey(Case, on_delete=models.CASCADE, related_name="submitted")
    slot = models.CharField(max_length=40)
    place = models.PositiveSmallIntegerField()
    frozen = models.JSONField()
    digest = models.CharField(max_length=64)

    objects = AppendOnly["SubmittedCase"].as_manager()

    class Meta:
        constraints: ClassVar = [
            models.UniqueConstraint(fields=["submission", "case"], name="submitted_case_once"),
            models.UniqueConstraint(fields=["submission", "slot"], name="submitted_slot_once"),
        ]

    def __str__(self) -> str:
        return f"{self.slot} of {self.submission_id}"


class SubmissionResult(models.Model):
    """What came back for a case; the newest row counts. `points`: index → category → the board's points as typed."""

    submitted = models.ForeignKey(SubmittedCase, on_delete=models.CASCADE, related_name="results")
    state = models.CharField(max_length=14, choices=SubmissionResultState)
    note = models.TextField(blank=True, max_length=LONGEST_NOTE)
    points = models.JSONField(default=dict, blank=True)
    typed_by = models.ForeignKey(settings.AUTH_USER_MODEL, on_delete=models.PROTECT, related_name="+")
    at = models.DateTimeField()

    objects = AppendOnly["SubmissionResult"].as_manager()

    class Meta:
        constraints: ClassVar = [
            models.CheckConstraint(
                condition=Q(state__in=SubmissionResultState.values), name="submission_result_state_known"
            ),
        ]

    def __str__(self) -> str:
        return f"{self.state} for {self.submitted_id}"
