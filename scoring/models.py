"""Rule choices of a portfolio, standing and kept scores, and tallies typed from paper.

Fields and constraints only: writing is in `services`, reading in `selectors`, who may see what in `access`.
"""

import uuid
from typing import ClassVar

from django.conf import settings
from django.db import models
from django.db.models import Q

from portfolio.append_only import AppendOnly
from portfolio.models import Portfolio, Sheet, Stage

MOST_EDITION = 80


class ChoiceSet(models.TextChoices):
    AS_SHIPPED = "as_shipped", "as shipped"
    AS_PRINTED = "as_printed", "as printed"
    OWN = "own", "own"


class IndexChoice(models.Model):
    """Which set of rule choices a portfolio reads an index by; no row means as shipped."""

    portfolio = models.ForeignKey(Portfolio, on_delete=models.CASCADE, related_name="index_choices")
    index = models.CharField(max_length=20)
    choice_set = models.CharField(max_length=12, choices=ChoiceSet, default=ChoiceSet.AS_SHIPPED)
    edition = models.CharField(max_length=MOST_EDITION, blank=True, default="")
    """Empty for the default edition."""
    limit = models.PositiveSmallIntegerField(null=True, blank=True)
    """A total after treatment that the owner holds results against; the published one where there is none."""

    class Meta:
        constraints: ClassVar = [
            models.UniqueConstraint(fields=["portfolio", "index"], name="index_choice_once_per_portfolio"),
            models.CheckConstraint(
                condition=Q(choice_set__in=ChoiceSet.values), name="index_choice_set_known"
            ),
        ]

    def __str__(self) -> str:
        return f"{self.index} {self.choice_set}"


class RuleChoice(models.Model):
    """One value of a portfolio's own set; kept while another set is in force."""

    portfolio = models.ForeignKey(Portfolio, on_delete=models.CASCADE, related_name="rule_choices")
    index = models.CharField(max_length=20)
    choice = models.CharField(max_length=40)
    value = models.CharField(max_length=40)

    class Meta:
        constraints: ClassVar = [
            models.UniqueConstraint(
                fields=["portfolio", "index", "choice"], name="rule_choice_once_per_portfolio"
            ),
        ]

    def __str__(self) -> str:
        return f"{self.index} {self.choice}={self.value}"


class StageIndices(models.Model):
    """The indices that a portfolio's records of one stage are measured for; no row means the usual ones."""

    portfolio = models.ForeignKey(Portfolio, on_delete=models.CASCADE, related_name="stage_indices")
    stage = models.CharField(max_length=16, choices=Stage)
    indices = models.CharField(max_length=200)
    """Keys with spaces between."""

    class Meta:
        constraints: ClassVar = [
            models.UniqueConstraint(fields=["portfolio", "stage"], name="stage_indices_once_per_stage"),
        ]

    def __str__(self) -> str:
        return f"{self.stage}: {self.indices}"


class StandingScore(models.Model):
    """The score of a sheet as it stands: a copy that may be deleted, every page works it out again.

    It holds only while sheet, teeth and stage, rule choices and rules are the ones it was made from.
    """

    sheet = models.ForeignKey(Sheet, on_delete=models.CASCADE, related_name="standing_scores")
    index = models.CharField(max_length=20)
    choices_digest = models.CharField(max_length=16)
    rules_digest = models.CharField(max_length=16)
    sheet_version = models.PositiveIntegerField()
    frame_digest = models.CharField(max_length=16)
    total_hundredths = models.IntegerField(null=True)
    complete = models.BooleanField()
    missing = models.JSONField(default=list)
    categories = models.JSONField(default=dict)
    extra = models.JSONField(default=dict)
    spread = models.JSONField(null=True)
    under = models.JSONField(null=True)
    """Total under every other rule choice, where somebody asked; worked out with the rest of the row."""

    class Meta:
        constraints: ClassVar = [
            models.UniqueConstraint(fields=["sheet", "index"], name="standing_score_once_per_sheet"),
        ]

    def __str__(self) -> str:
        return f"{self.index} of sheet {self.sheet_id}"


class NeverRewritten(AppendOnly["ScoreRun"]):
    """Kept scores are written once; they go only with the case they belong to."""


class ScoreRun(models.Model):
    """A score kept as it was: findings, rule choices, rules digest and the whole result."""

    public_id = models.UUIDField(default=uuid.uuid4, unique=True, editable=False)
    sheet = models.ForeignKey(Sheet, on_delete=models.CASCADE, related_name="score_runs")
    index = models.CharField(max_length=20)
    edition = models.CharField(max_length=MOST_EDITION)
    choices = models.JSONField()
    choices_digest = models.CharField(max_length=16)
    rules_digest = models.CharField(max_length=16)
    sheet_version = models.PositiveIntegerField()
    frame_digest = models.CharField(max_length=16)
    kept_by = models.ForeignKey(settings.AUTH_USER_MODEL, on_delete=models.PROTECT, related_name="+")
    kept_at = models.DateTimeField()
    findings = models.JSONField()
    result = models.JSONField()

    objects = NeverRewritten.as_manager()

    class Meta:
        constraints: ClassVar = [
            # One state of a sheet is kept once: a double click finds the row of the first.
            models.UniqueConstraint(
                fields=[
                    "sheet",
                    "index",
                    "edition",
                    "choices_digest",
                    "rules_digest",
                    "sheet_version",
                    "frame_digest",
                    "kept_by",
                ],
                name="score_run_once_per_state",
            ),
        ]

    def __str__(self) -> str:
        return f"{self.index} kept {self.public_id}"


class TypedTally(models.Model):
    """Points of a paper form as somebody typed them; nothing of it is ever recomputed."""

    sheet = models.ForeignKey(Sheet, on_delete=models.CASCADE, related_name="typed_tallies")
    index = models.CharField(max_length=20)
    edition = models.CharField(max_length=MOST_EDITION)
    categories = models.JSONField(default=dict)
    total = models.CharField(max_length=12, blank=True)
    by = models.ForeignKey(settings.AUTH_USER_MODEL, on_delete=models.PROTECT, related_name="+")
    at = models.DateTimeField()

    def __str__(self) -> str:
        return f"{self.index} typed {self.total}"
