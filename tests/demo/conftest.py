"""The demo put in once for all tests of a file, which may write: what they write is taken back after each."""

from __future__ import annotations

from typing import TYPE_CHECKING

import pytest

if TYPE_CHECKING:
    from collections.abc import Iterator

    from pytest_django.plugin import DjangoDbBlocker

    from accounts.models import User

PASSWORD = "qkwz-9fbt-mh37-xe2d"


@pytest.fixture(scope="module")
def filled(
    django_db_setup: None, django_db_blocker: DjangoDbBlocker, tmp_path_factory: pytest.TempPathFactory
) -> Iterator[None]:
    """The whole demo in the database, until the last test of the file is done."""
    from django.db import transaction
    from django.test import override_settings
    from django.utils import timezone

    from demo import filling

    folder = tmp_path_factory.mktemp("demo") / "data"
    with django_db_blocker.unblock(), override_settings(DATA_DIR=folder), transaction.atomic():
        filling.fill(PASSWORD, timezone.now())
        yield
        transaction.set_rollback(True)


@pytest.fixture
def candidate(filled: None, db: None) -> User:
    """The candidate of the demo."""
    from accounts.models import User
    from demo import scenario

    return User.objects.get(email=scenario.CANDIDATE.email)
