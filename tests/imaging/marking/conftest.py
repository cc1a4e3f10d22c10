"""A picture of an upper arch whose owner marks it."""

from __future__ import annotations

import pytest
from django.test import Client

from accounts.models import User
from portfolio.models import RecordItem, RecordSet
from portfolio.services.record_items import assign_view
from tests.factories.accounts import person, signed_in
from tests.factories.imaging import taken
from tests.factories.portfolio import case_of, record_set_of
from tests.imaging.made_pictures import corner, jpeg


@pytest.fixture
def owner() -> User:
    return person()


@pytest.fixture
def record_set(owner: User) -> RecordSet:
    return record_set_of(case_of(owner))


@pytest.fixture
def picture(owner: User, record_set: RecordSet) -> RecordItem:
    """An upper arch of 400 x 300 pixels."""
    item = taken(owner, record_set, jpeg(corner((400, 300))))
    assign_view(item, "upper", item.version)
    return item


@pytest.fixture
def browser(owner: User) -> Client:
    return signed_in(owner)
