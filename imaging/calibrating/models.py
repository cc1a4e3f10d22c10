"""Scales that people gave to pictures.

Fields and constraints only: writing is in `calibrating.services`, reading in `calibrating.selectors`, who may see what
in `calibrating.access`.
"""

from typing import ClassVar

from django.conf import settings
from django.db import models
from django.db.models import Q

from imaging.calibration import Origin, Size
from portfolio.append_only import AppendOnly
from portfolio.models import RecordItem


class CalibrationStep(models.TextChoices):
    CHANGE = "change", "kept"
    UNDO = "undo", "undone"
    REDO = "redo", "done again"


class CalibrationWay(models.TextChoices):
    """How the scale of a picture is told; `by_itself` leaves it to the rules for what the file states."""

    RULER = "ruler", "by a ruler in the picture"
    FILE = "file", "by a spacing of the file"
    MAGNIFICATION = "magnification", "by a stated magnification"
    NONE = "none", "without a scale"
    BY_ITSELF = "by_itself", "as the file says by itself"


class AppendOnlyCalibrations(AppendOnly["Calibration"]):
    """Statements are written once; they go only with their picture."""


class Calibration(models.Model):
    """One statement about the scale of a picture; the one with the highest number counts.

    `given` is what was entered, with places in pixels of the original: turns, mirrors and crops do not touch it.
    `across` and `down` are millimetres for a pixel of the original; empty without a scale of a person's own.
    """

    item = models.ForeignKey(RecordItem, on_delete=models.CASCADE, related_name="calibrations")
    number = models.PositiveIntegerField()
    by = models.ForeignKey(settings.AUTH_USER_MODEL, on_delete=models.PROTECT, related_name="+")
    at = models.DateTimeField()
    step = models.CharField(max_length=6, choices=CalibrationStep, default=CalibrationStep.CHANGE)
    undoes = models.PositiveIntegerField(null=True, blank=True)
    """Of an undo or of doing again: the number of the change."""
    request_key = models.CharField(max_length=64)
    way = models.CharField(max_length=13, choices=CalibrationWay)
    given = models.JSONField(default=dict, blank=True)
    across = models.FloatField(null=True, blank=True)
    down = models.FloatField(null=True, blank=True)
    sd_percent = models.FloatField(null=True, blank=True)
    origin = models.CharField(max_length=13, blank=True)
    size = models.CharField(max_length=7, blank=True)
    words = models.TextField(blank=True)

    objects = AppendOnlyCalibrations.as_manager()

    class Meta:
        constraints: ClassVar = [
            models.UniqueConstraint(fields=["item", "number"], name="calibration_number_once"),
            models.UniqueConstraint(fields=["item", "request_key"], name="calibration_request_once"),
            models.CheckConstraint(
                condition=Q(step__in=CalibrationStep.values), name="calibration_step_known"
            ),
            models.CheckConstraint(condition=Q(way__in=CalibrationWay.values), name="calibration_way_known"),
            models.CheckConstraint(
                condition=Q(step="change", undoes__isnull=True)
                | (~Q(step="change") & Q(undoes__isnull=False)),
                name="calibration_undoes_something",
            ),
            models.CheckConstraint(
                condition=Q(
                    way__in=["none", "by_itself"],
                    across__isnull=True,
                    down__isnull=True,
                    sd_percent__isnull=True,
                    origin="",
                    size="",
                )
                | Q(
                    way__in=["ruler", "file", "magnification"],
                    across__gt=0,
                    down__gt=0,
                    sd_percent__gte=0,
                    origin__in=[origin.value for origin in Origin],
                    size__in=[size.value for size in Size],
                ),
                name="calibration_whole_or_none",
            ),
        ]

    def __str__(self) -> str:
        return f"calibration {self.number}"
