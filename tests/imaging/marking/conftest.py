"""A picture of an upper arch whose owner marks it.

Nothing of Django is imported before a fixture is asked for: pure tests stand beside.
"""

from __future__ import annotations

from typing import TYPE_CHECKING

import pytest

if TYPE_CHECKING:
    from django.test import Client

    from accounts.models import User
    from portfolio.models import RecordItem, RecordSet


@pytest.fixture
def owner() -> User:
    from tests.factories.accounts import person

    return person()


@pytest.fixture
def record_set(owner: User) -> RecordSet:
    from tests.imaging.marking.upper_arch import case_of, record_set_of

    return record_set_of(case_of(owner))


@pytest.fixture
def picture(record_set: RecordSet) -> RecordItem:
    """An upper arch of 400 x 300 pixels."""
    from tests.imaging.marking.upper_arch import arch_picture

    return arch_picture(record_set)


@pytest.fixture
def browser(owner: User) -> Client:
    from tests.factories.accounts import signed_in

    return signed_in(owner)
