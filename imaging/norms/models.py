"""A portfolio's own norms.

Fields and constraints only: writing is in `norms.services`, reading in `norms.selectors`.  They are seen and changed
by whoever may edit the portfolio, which comes from `portfolio.access`.
"""

from typing import ClassVar

from django.conf import settings
from django.db import models
from django.db.models import Q

from portfolio.models import Portfolio


class OwnNorm(models.Model):
    """A norm that a portfolio puts in the place of a published one (`imaging.norms.places.Place`).

    Figures are decimal texts in the measure's unit.  `in_force` is False after the published norm was taken back; the
    figures are kept, so that this can be undone.  `version` is the number of saves.
    """

    portfolio = models.ForeignKey(Portfolio, on_delete=models.CASCADE, related_name="own_norms")
    analysis = models.CharField(max_length=40)
    measure = models.CharField(max_length=40)
    nth = models.PositiveSmallIntegerField(default=1)
    value = models.CharField(max_length=12, blank=True)
    sd = models.CharField(max_length=12, blank=True)
    low = models.CharField(max_length=12, blank=True)
    high = models.CharField(max_length=12, blank=True)
    group = models.CharField(max_length=60, blank=True)
    age_years = models.PositiveSmallIntegerField(null=True, blank=True)
    per_year = models.CharField(max_length=12, blank=True)
    source = models.CharField(max_length=200)
    in_force = models.BooleanField(default=True)
    by = models.ForeignKey(settings.AUTH_USER_MODEL, on_delete=models.PROTECT, related_name="+")
    at = models.DateTimeField()
    version = models.PositiveIntegerField(default=1)

    class Meta:
        constraints: ClassVar = [
            models.UniqueConstraint(
                fields=["portfolio", "analysis", "measure", "nth"], name="own_norm_once_per_place"
            ),
            models.CheckConstraint(condition=~Q(source=""), name="own_norm_has_a_source"),
            models.CheckConstraint(condition=~Q(value="") | ~Q(low=""), name="own_norm_says_something"),
        ]

    def __str__(self) -> str:
        return f"{self.analysis} {self.measure} {self.nth}"
