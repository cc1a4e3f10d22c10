"""After a test that commits no row is left but what migrations make."""

from __future__ import annotations

import pytest
from django.apps import apps
from django.contrib.contenttypes.models import ContentType
from django.db import connection

from tests.emptied import empty_tables
from tests.factories.accounts import person
from tests.factories.portfolio import sheet_of


@pytest.mark.django_db(transaction=True)
def test_rows_that_hang_together_are_deleted_and_keys_are_heeded_again() -> None:
    sheet_of(person())
    empty_tables()
    left = {model._meta.label for model in apps.get_models() if model._default_manager.exists()}
    assert left == {"contenttypes.ContentType", "auth.Permission"}
    assert ContentType.objects.get_by_natural_key("portfolio", "sheet")
    with connection.cursor() as cursor:
        cursor.execute(
            "PRAGMA foreign_keys" if connection.vendor == "sqlite" else "SHOW session_replication_role"
        )
        assert cursor.fetchone() in ((1,), ("origin",))
