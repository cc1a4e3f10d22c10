"""Empties the tables after a test that commits: only those that hold rows, and content types and permissions stay.

Django's own flush empties every table and then makes all content types and permissions anew, which takes longer than
most of the tests after which it runs.
"""

from __future__ import annotations

from typing import Any

from django.db import connection
from django.test import TransactionTestCase

MADE_BY_MIGRATIONS = frozenset({"django_migrations", "django_content_type", "auth_permission"})


def empty_tables(_case: Any = None) -> None:
    """Delete every row but those of MADE_BY_MIGRATIONS, whichever order the tables hang together in."""
    quoted = connection.ops.quote_name
    tables = sorted(set(connection.introspection.table_names()) - MADE_BY_MIGRATIONS)
    unheeding, heeding = {
        "sqlite": ("PRAGMA foreign_keys = OFF", "PRAGMA foreign_keys = ON"),
        "postgresql": ("SET session_replication_role = replica", "SET session_replication_role = DEFAULT"),
    }[connection.vendor]
    with connection.cursor() as cursor:
        cursor.execute(
            " UNION ALL ".join(f"SELECT '{one}' WHERE EXISTS (SELECT 1 FROM {quoted(one)})" for one in tables)
        )
        filled = [name for (name,) in cursor.fetchall()]
        cursor.execute(unheeding)
        try:
            for name in filled:
                cursor.execute(f"DELETE FROM {quoted(name)}")
        finally:
            cursor.execute(heeding)


def empty_quickly() -> None:
    """From now on tests that commit are cleared up after by this."""
    TransactionTestCase._fixture_teardown = empty_tables  # type: ignore[attr-defined]
