"""People who sign in, their one-time links, and the set-up code of the first run."""

import uuid
from collections.abc import Iterator
from typing import Any, ClassVar

from django.conf import settings
from django.contrib.auth.base_user import AbstractBaseUser, BaseUserManager
from django.db import models
from django.db.models import Q
from django.db.models.functions import Lower
from django.utils.crypto import salted_hmac


class PeopleManager(BaseUserManager["User"]):
    """Makes people; e-mail addresses are stored in lower case."""

    def create_user(self, email: str, password: str | None = None, **fields: Any) -> "User":
        person = self.model(email=email.strip().lower(), **fields)
        person.set_password(password)
        person.save()
        return person

    def get_by_natural_key(self, username: str | None) -> "User":
        return self.get(email=(username or "").strip().lower())


class User(AbstractBaseUser):
    """A person; never deleted, only deactivated and emptied.

    `session_round` is part of every session's fingerprint: raising it ends all sessions of the person.
    """

    public_id = models.UUIDField(unique=True, editable=False, default=uuid.uuid4)
    email = models.EmailField(unique=True)
    name = models.CharField(max_length=120, blank=True)
    is_active = models.BooleanField(default=True)
    administrator = models.BooleanField(default=False)
    session_round = models.PositiveIntegerField(default=0)

    objects: ClassVar[PeopleManager] = PeopleManager()

    USERNAME_FIELD = "email"
    EMAIL_FIELD = "email"
    REQUIRED_FIELDS: ClassVar[list[str]] = []

    class Meta:
        constraints: ClassVar[list[models.BaseConstraint]] = [
            models.CheckConstraint(condition=Q(email=Lower("email")), name="person_email_lower_case"),
        ]

    def __str__(self) -> str:
        return self.name or self.email

    def get_session_auth_hash(self) -> str:
        """Fingerprint a session must carry: changes with the password and with `session_round`."""
        return self._fingerprint(None)

    def get_session_auth_fallback_hash(self) -> Iterator[str]:
        for secret in settings.SECRET_KEY_FALLBACKS:
            yield self._fingerprint(secret)

    def _fingerprint(self, secret: str | bytes | None) -> str:
        text = f"{self.password}:{self.session_round}"
        return salted_hmac("accounts.session", text, secret=secret, algorithm="sha256").hexdigest()


class OneTimeLink(models.Model):
    """A link that lets one person choose a password once; only the digest of its secret is kept."""

    class Purpose(models.TextChoices):
        WELCOME = "welcome", "first password"
        RESET = "reset", "new password"

    person = models.ForeignKey(User, on_delete=models.CASCADE, related_name="one_time_links")
    purpose = models.CharField(max_length=8, choices=Purpose)
    digest = models.CharField(max_length=64, unique=True)
    made_by = models.ForeignKey(User, on_delete=models.PROTECT, related_name="+")
    made_at = models.DateTimeField()
    expires_at = models.DateTimeField()
    used_at = models.DateTimeField(null=True)
    withdrawn_at = models.DateTimeField(null=True)

    class Meta:
        indexes: ClassVar[list[models.Index]] = [models.Index(fields=["person", "made_at"])]

    def __str__(self) -> str:
        return f"one-time link {self.pk}"


class SetupCode(models.Model):
    """The code of the first run: at most one row, gone as soon as the first person exists."""

    only_row = models.BooleanField(primary_key=True, default=True)
    digest = models.CharField(max_length=64)
    made_at = models.DateTimeField()
    wrong_tries = models.PositiveSmallIntegerField(default=0)

    class Meta:
        constraints: ClassVar[list[models.BaseConstraint]] = [
            models.CheckConstraint(condition=Q(only_row=True), name="one_setup_code"),
        ]

    def __str__(self) -> str:
        return "set-up code"
