"""One-time codes by which a phone hands in one picture.

Fields and constraints only: writing is in `phone.services`, reading in `phone.selectors`, who may see what in
`phone.access`.
"""

import uuid
from typing import ClassVar

from django.conf import settings
from django.db import models
from django.db.models import F, Q

from portfolio.models import RecordItem, RecordSet, Sheet


class PhoneCode(models.Model):
    """One code for one picture of a record set, told by its keyed digest alone.

    `claimed_at` is when a picture began to be taken in by it, `used_at` when that was done. With a sheet, the picture
    becomes evidence of the finding named by quantity, site and nth.
    """

    public_id = models.UUIDField(default=uuid.uuid4, unique=True, editable=False)
    record_set = models.ForeignKey(RecordSet, on_delete=models.CASCADE, related_name="phone_codes")
    asked_by = models.ForeignKey(settings.AUTH_USER_MODEL, on_delete=models.PROTECT, related_name="+")
    digest = models.CharField(max_length=64, unique=True)
    view = models.CharField(max_length=20)
    sheet = models.ForeignKey(Sheet, null=True, blank=True, on_delete=models.CASCADE, related_name="+")
    quantity = models.CharField(max_length=40, blank=True)
    site = models.CharField(max_length=24, blank=True)
    nth = models.PositiveSmallIntegerField(default=1)
    made_at = models.DateTimeField()
    expires_at = models.DateTimeField()
    claimed_at = models.DateTimeField(null=True, blank=True)
    used_at = models.DateTimeField(null=True, blank=True)
    cancelled_at = models.DateTimeField(null=True, blank=True)
    item = models.ForeignKey(RecordItem, null=True, blank=True, on_delete=models.SET_NULL, related_name="+")

    class Meta:
        constraints: ClassVar = [
            models.CheckConstraint(condition=Q(expires_at__gt=F("made_at")), name="phone_code_expires_later"),
            models.CheckConstraint(
                condition=Q(sheet__isnull=True, quantity="", site="")
                | (Q(sheet__isnull=False) & ~Q(quantity="") & ~Q(site="")),
                name="phone_code_for_a_whole_finding",
            ),
        ]

    def __str__(self) -> str:
        return f"code for {self.view}"
