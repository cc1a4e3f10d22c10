"""The demo put in once for all tests of this folder, which may write: what they write is taken back after each."""

from __future__ import annotations

import io
from typing import TYPE_CHECKING

import pytest

if TYPE_CHECKING:
    from collections.abc import Iterator

    from pytest_django.plugin import DjangoDbBlocker

    from accounts.models import User

PASSWORD = "qkwz-9fbt-mh37-xe2d"


@pytest.fixture(scope="package")
def filled(
    django_db_setup: None, django_db_blocker: DjangoDbBlocker, tmp_path_factory: pytest.TempPathFactory
) -> Iterator[None]:
    """The whole demo in an empty database, as the command fills it, until the last test of the folder is done."""
    from django.core.management import call_command
    from django.db import transaction
    from django.test import override_settings

    folder = tmp_path_factory.mktemp("demo") / "data"
    with django_db_blocker.unblock(), override_settings(DATA_DIR=folder), transaction.atomic():
        call_command("demo", password=PASSWORD, stdout=io.StringIO())
        yield
        transaction.set_rollback(True)


@pytest.fixture
def candidate(filled: None, db: None) -> User:
    """The candidate of the demo."""
    from accounts.models import User
    from demo import scenario

    return User.objects.get(email=scenario.CANDIDATE.email)
