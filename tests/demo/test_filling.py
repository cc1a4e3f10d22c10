"""Filling an empty database: once, all of it or nothing, and no other one."""

import io
from datetime import timedelta
from unittest import mock

import pytest
from django.core.management import CommandError, call_command
from django.utils import timezone

from accounts.models import User
from demo import filling, radiographing, scenario
from portfolio.models import Case, SheetChange
from portfolio.repeating.selectors import counted, own_errors
from scoring.selectors import minimal_detectable_change
from tests.demo.conftest import PASSWORD
from tests.factories.accounts import PersonFactory

pytestmark = pytest.mark.django_db


def test_a_second_run_changes_nothing() -> None:
    call_command("demo", password=PASSWORD, stdout=io.StringIO())
    before = (SheetChange.objects.count(), User.objects.count(), Case.objects.count())
    call_command("demo", password="another-one-4729", stdout=io.StringIO())
    assert (SheetChange.objects.count(), User.objects.count(), Case.objects.count()) == before
    assert User.objects.get(email=scenario.CANDIDATE.email).check_password(PASSWORD)


def test_a_run_that_breaks_off_leaves_nothing_and_the_next_one_fills_all() -> None:
    with (
        mock.patch.object(radiographing, "put_in", side_effect=KeyboardInterrupt),
        pytest.raises(KeyboardInterrupt),
    ):
        filling.fill(PASSWORD, timezone.now())
    assert not User.objects.exists()
    filling.fill(PASSWORD, timezone.now())
    assert filling.is_filled()


def test_a_database_with_other_peoples_accounts_is_refused() -> None:
    PersonFactory()
    with pytest.raises(CommandError, match="not the demo's"):
        call_command("demo", password=PASSWORD, stdout=io.StringIO())
    assert User.objects.count() == 1


def test_the_demo_has_repeats_whose_figures_are_used(candidate: User) -> None:
    """From 20 pairs of contacts on, five totals of PAR, all repeats begun after their 14 days."""
    own = {(one.quantity, one.method): one for one in own_errors(candidate)}
    assert any(one.used and quantity == "contact_offset" for (quantity, _), one in own.items())
    change = minimal_detectable_change(candidate, "par")
    assert change
    assert 0 < change.mdc95 < 20
    for row in counted(candidate):
        last = row.first.changes.get(number=row.first_then["version"]).at
        assert last + timedelta(days=14) <= row.begun_at <= timezone.now()
