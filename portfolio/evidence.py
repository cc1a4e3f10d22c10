"""What a finding was read from: marks on a picture or a scan, a tracing, or a witness picture without numbers."""

from typing import Any, ClassVar, NoReturn

from django.db import models
from django.db.models import Q

from portfolio.record_item import RecordItem


class EvidenceKind(models.TextChoices):
    MARKS = "marks", "marks on a picture"
    WITNESS = "witness", "witness picture"
    CAST = "cast", "points on a cast"
    TRACING = "tracing", "tracing of a radiograph"


class FrozenEvidence(models.QuerySet["Evidence"]):
    """Rows that are written once; only their picture may leave them, and they go with their sheet."""

    def update(self, **kwargs: Any) -> int:
        if kwargs != {"item": None}:
            raise TypeError("Evidence is frozen: of a row only the picture may be taken away.")
        return super().update(**kwargs)

    def delete(self) -> NoReturn:
        raise TypeError("Evidence is frozen: rows go only with their sheet.")


class Evidence(models.Model):
    """One piece of evidence of the finding that change `at_change` of its sheet wrote.

    A finding points to its pieces by `Finding.evidence_at`, so that undoing a change brings the old pieces back.
    `marks` are frozen as they were, in pixels of the original picture; `scale` is the scale they were read with and
    `view` how the picture was looked at (turns, crop), both empty where there is none. `source` names what keeps on
    changing above, as `imaging.tracing/<public id>@<revision>`. `item` is null for evidence without a picture, and
    where the picture was deleted since.
    """

    sheet = models.ForeignKey("portfolio.Sheet", on_delete=models.CASCADE, related_name="evidence")
    quantity = models.CharField(max_length=40)
    site = models.CharField(max_length=24)
    nth = models.PositiveSmallIntegerField(default=1)
    at_change = models.PositiveIntegerField()
    item = models.ForeignKey(
        RecordItem, null=True, blank=True, on_delete=models.RESTRICT, related_name="evidence"
    )
    kind = models.CharField(max_length=8, choices=EvidenceKind)
    source = models.CharField(max_length=120, blank=True)
    marks = models.JSONField(default=dict, blank=True)
    scale = models.JSONField(default=dict, blank=True)
    view = models.JSONField(default=dict, blank=True)

    objects = FrozenEvidence.as_manager()

    class Meta:
        constraints: ClassVar = [
            models.CheckConstraint(condition=Q(kind__in=EvidenceKind.values), name="evidence_kind_known"),
            models.CheckConstraint(condition=Q(at_change__gte=1), name="evidence_at_change_from_one"),
            models.CheckConstraint(
                condition=~Q(quantity="") & ~Q(site=""), name="evidence_is_of_some_finding"
            ),
        ]
        indexes: ClassVar = [
            models.Index(fields=["sheet", "at_change"], name="evidence_sheet_change"),
        ]

    def __str__(self) -> str:
        return f"{self.kind} of {self.quantity} {self.site}"
