"""A start of the demo fills an empty database, all of it or nothing, and no other one."""

from __future__ import annotations

import io

import pytest
from django.apps import apps
from django.core.management import CommandError, call_command

from accounts.models import User
from demo import radiographing
from tests.factories.accounts import person

pytestmark = pytest.mark.django_db
PASSWORD = "qkwz-9fbt-mh37-xe2d"


def counts() -> dict[str, int]:
    return {model._meta.label: model._default_manager.count() for model in apps.get_models()}


def test_a_run_that_breaks_off_leaves_the_database_as_empty_as_it_was(
    monkeypatch: pytest.MonkeyPatch,
) -> None:
    """That an empty one is filled is what tests/demo begins with."""
    before, reached = counts(), []

    def broken_off(*_given: object) -> None:
        reached.append(User.objects.count())
        raise KeyboardInterrupt

    monkeypatch.setattr(radiographing, "put_in", broken_off)
    with pytest.raises(KeyboardInterrupt):
        call_command("demo", password=PASSWORD, stdout=io.StringIO())
    assert reached == [3]
    assert counts() == before


def test_a_database_with_other_peoples_accounts_is_refused() -> None:
    person()
    with pytest.raises(CommandError, match="not the demo's"):
        call_command("demo", password=PASSWORD, stdout=io.StringIO())
    assert User.objects.count() == 1
