"""One picture of a record set, or the statement that it was not taken; casts and papers, which have no file here."""

import uuid
from typing import ClassVar

from django.db import models
from django.db.models import Q

from filing.models import StoredFile


class ItemState(models.TextChoices):
    PRESENT = "present", "present"
    NOT_TAKEN = "not_taken", "not taken"
    NOT_FILED = "not_filed", "taken, not filed here"


class PatientsRight(models.TextChoices):
    LEFT = "left", "on the left of the picture"
    RIGHT = "right", "on the right of the picture"
    NONE = "none", "cannot be told in this view"


class SideCheck(models.TextChoices):
    MARK = "mark", "a mark whose side is known lies where it should"
    NO_MARK = "no_mark", "no mark whose side is known"


class ItemKind(models.TextChoices):
    PHOTOGRAPH = "photograph", "photograph"
    CASTS = "casts", "casts"
    PAPER = "paper", "paper"


class RecordItem(models.Model):
    """One record. Casts and papers have no file: `reason` says where they lie, or why there are none.

    A picture as it came (`file`), its renditions for screen and print, and what was done to it.

    An item without a view waits to be assigned. `operations` are kept as data and the renditions made anew from the
    original, so each can be undone. `removed` names the fields left behind in the original; `file_facts` is the small
    allow-listed record kept of it (page or frame, how its values became greys, stated spacings), never free text.
    Files are private: the original is never served.
    """

    public_id = models.UUIDField(default=uuid.uuid4, unique=True, editable=False)
    record_set = models.ForeignKey("portfolio.RecordSet", on_delete=models.CASCADE, related_name="items")
    kind = models.CharField(max_length=12, choices=ItemKind, default=ItemKind.PHOTOGRAPH)
    view = models.CharField(max_length=20, blank=True)
    position = models.PositiveSmallIntegerField(default=1)
    taken_on = models.DateField(null=True, blank=True)
    state = models.CharField(max_length=10, choices=ItemState, default=ItemState.PRESENT)
    reason = models.CharField(max_length=200, blank=True)
    file = models.ForeignKey(StoredFile, null=True, blank=True, on_delete=models.RESTRICT, related_name="+")
    screen_file = models.ForeignKey(
        StoredFile, null=True, blank=True, on_delete=models.RESTRICT, related_name="+"
    )
    print_file = models.ForeignKey(
        StoredFile, null=True, blank=True, on_delete=models.RESTRICT, related_name="+"
    )
    width = models.PositiveIntegerField(null=True, blank=True)
    height = models.PositiveIntegerField(null=True, blank=True)
    patients_right = models.CharField(max_length=5, choices=PatientsRight, blank=True)
    side_check = models.CharField(max_length=7, choices=SideCheck, blank=True)
    quality = models.JSONField(default=list, blank=True)
    operations = models.JSONField(default=list, blank=True)
    removed = models.JSONField(default=list, blank=True)
    file_facts = models.JSONField(default=dict, blank=True)
    no_text_by = models.ForeignKey(
        "accounts.User", null=True, blank=True, on_delete=models.PROTECT, related_name="+"
    )
    no_text_at = models.DateTimeField(null=True, blank=True)
    version = models.PositiveIntegerField(default=1)

    class Meta:
        constraints: ClassVar = [
            models.UniqueConstraint(fields=["record_set", "view", "position"], name="record_item_place_once"),
            models.CheckConstraint(condition=Q(state__in=ItemState.values), name="record_item_state_known"),
            models.CheckConstraint(condition=Q(kind__in=ItemKind.values), name="record_item_kind_known"),
            models.CheckConstraint(
                condition=Q(patients_right__in=["", *PatientsRight.values]), name="record_item_right_known"
            ),
            models.CheckConstraint(
                condition=Q(side_check__in=["", *SideCheck.values]), name="record_item_side_check_known"
            ),
            models.CheckConstraint(
                condition=Q(
                    kind=ItemKind.PHOTOGRAPH,
                    state=ItemState.PRESENT,
                    file__isnull=False,
                    screen_file__isnull=False,
                    print_file__isnull=False,
                )
                | (
                    (~Q(state=ItemState.PRESENT) | ~Q(kind=ItemKind.PHOTOGRAPH))
                    & Q(file__isnull=True, screen_file__isnull=True, print_file__isnull=True)
                ),
                name="record_item_files_when_present",
            ),
            models.CheckConstraint(
                condition=Q(no_text_by__isnull=True, no_text_at__isnull=True)
                | Q(no_text_by__isnull=False, no_text_at__isnull=False),
                name="record_item_no_text_by_and_at",
            ),
        ]

    def __str__(self) -> str:
        return f"{self.view or 'unassigned'} {self.position}"
