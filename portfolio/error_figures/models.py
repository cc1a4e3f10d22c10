"""What a portfolio said of the error of a quantity by a method.

Fields and constraints only: writing is in `error_figures.services`, reading in `error_figures.selectors`.
"""

from typing import ClassVar

from django.conf import settings
from django.db import models
from django.db.models import Q

from portfolio.append_only import AppendOnly


class AppendOnlyFigures(AppendOnly["ErrorFigure"]):
    """Figures are written once; they go only with their portfolio."""


class ErrorFigure(models.Model):
    """One statement: the newest of a quantity and method counts, an empty `sd` brings the default back.

    `sd` is one standard deviation as decimal text in the quantity's unit.  `number` counts the statements of one
    quantity and method from 1; a page names the one it had seen.  `method` is empty for a quantity that offers none.
    """

    portfolio = models.ForeignKey(
        "portfolio.Portfolio", on_delete=models.CASCADE, related_name="error_figures"
    )
    quantity = models.CharField(max_length=40)
    method = models.CharField(max_length=12, blank=True)
    number = models.PositiveIntegerField()
    sd = models.CharField(max_length=8, blank=True)
    source = models.CharField(max_length=200, blank=True)
    by = models.ForeignKey(settings.AUTH_USER_MODEL, on_delete=models.PROTECT, related_name="+")
    at = models.DateTimeField()

    objects = AppendOnlyFigures.as_manager()

    class Meta:
        constraints: ClassVar = [
            models.UniqueConstraint(
                fields=["portfolio", "quantity", "method", "number"], name="error_figure_number_once"
            ),
            models.CheckConstraint(condition=Q(sd="") | ~Q(source=""), name="error_figure_has_a_source"),
            models.CheckConstraint(condition=Q(number__gte=1), name="error_figure_from_one"),
        ]

    def __str__(self) -> str:
        return f"{self.quantity} {self.method} {self.number}"
