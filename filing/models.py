"""Stored files: one row for each file of bytes in the data folder."""

import uuid
from typing import ClassVar

from django.core.validators import MinValueValidator
from django.db import models
from django.db.models import Q
from django.utils import timezone

from accounts.models import User


class StoredFile(models.Model):
    """A file in the data folder: who owns it, what it is, and the checksum its bytes must have.

    `storage_key` is random and tells nothing; it is the file's name on disk and stands in no address. `shown_name`
    is the private name under which the owner knows the file. Whoever keeps a file points at it with a foreign key:
    a row that nothing points at is swept away with its bytes.
    """

    class Role(models.TextChoices):
        ORIGINAL = "original", "as it came"
        DERIVED = "derived", "made from an original"
        RESULT = "result", "made by a job"

    class State(models.TextChoices):
        OK = "ok", "whole"
        MISSING = "missing", "bytes missing"
        MISMATCH = "mismatch", "bytes changed"

    public_id = models.UUIDField(unique=True, editable=False, default=uuid.uuid4)
    owner = models.ForeignKey(User, on_delete=models.PROTECT, related_name="+")
    storage_key = models.CharField(max_length=64, unique=True, editable=False)
    sha256 = models.CharField(max_length=64, db_index=True)
    size = models.BigIntegerField(validators=[MinValueValidator(0)])
    media_type = models.CharField(max_length=100)
    role = models.CharField(max_length=8, choices=Role)
    shown_name = models.CharField(max_length=255, blank=True)
    stored_at = models.DateTimeField(default=timezone.now)
    checked_at = models.DateTimeField(null=True)
    state = models.CharField(max_length=8, choices=State, default=State.OK)

    class Meta:
        constraints: ClassVar[list[models.BaseConstraint]] = [
            models.CheckConstraint(condition=Q(size__gte=0), name="stored_file_size_not_negative"),
            models.CheckConstraint(
                condition=Q(role__in=["original", "derived", "result"]), name="stored_file_role_known"
            ),
            models.CheckConstraint(
                condition=Q(state__in=["ok", "missing", "mismatch"]), name="stored_file_state_known"
            ),
        ]

    def __str__(self) -> str:
        return f"stored file {self.pk}"


class HealthCheck(models.Model):
    """One health check of the installation: `report` holds a list of [what, good, words]."""

    class Scope(models.TextChoices):
        DAILY = "daily", "daily, a seventh of the files"
        WHOLE = "whole", "all files"

    at = models.DateTimeField(db_index=True)
    scope = models.CharField(max_length=5, choices=Scope)
    day = models.DateField(null=True, unique=True)
    good = models.BooleanField()
    report = models.JSONField()

    class Meta:
        constraints: ClassVar[list[models.BaseConstraint]] = [
            models.CheckConstraint(
                condition=Q(scope__in=["daily", "whole"]), name="health_check_scope_known"
            ),
        ]

    def __str__(self) -> str:
        return f"health check {self.pk}"


class Backup(models.Model):
    """A backup that the app has made into its own folder `backups`."""

    public_id = models.UUIDField(unique=True, editable=False, default=uuid.uuid4)
    made_at = models.DateTimeField(db_index=True)
    size = models.BigIntegerField()
    files = models.PositiveIntegerField()
    sealed = models.BooleanField()

    def __str__(self) -> str:
        return f"backup {self.pk}"


class Rehearsal(models.Model):
    """One trial of a restore in an empty place: `report` holds a list of [what, good, words], step by step.

    `size` in bytes and `sealed` are of the backup, `backup` is its row where the app keeps it.
    """

    at = models.DateTimeField(db_index=True)
    good = models.BooleanField()
    backup = models.ForeignKey(Backup, null=True, on_delete=models.SET_NULL, related_name="rehearsals")
    size = models.BigIntegerField(null=True)
    sealed = models.BooleanField(default=False)
    report = models.JSONField()

    def __str__(self) -> str:
        return f"rehearsal {self.pk}"
