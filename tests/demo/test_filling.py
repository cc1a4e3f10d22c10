"""Filling happens once; see tests/running/test_filling_the_demo.py for a database that is empty or somebody's."""

import io
from datetime import timedelta

import pytest
from django.core.management import call_command
from django.utils import timezone

from accounts.models import User
from demo import scenario
from portfolio.models import Case, SheetChange
from portfolio.repeating.selectors import counted, own_errors
from scoring.selectors import minimal_detectable_change
from tests.demo.conftest import PASSWORD

pytestmark = pytest.mark.django_db


def test_a_second_run_changes_nothing(candidate: User) -> None:
    before = (SheetChange.objects.count(), User.objects.count(), Case.objects.count())
    assert min(before) > 2
    call_command("demo", password="another-one-4729", stdout=io.StringIO())
    assert (SheetChange.objects.count(), User.objects.count(), Case.objects.count()) == before
    assert User.objects.get(email=scenario.CANDIDATE.email).check_password(PASSWORD)


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
