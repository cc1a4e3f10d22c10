"""Pictures of record sets for tests, taken in as an upload would be."""

from __future__ import annotations

from accounts.models import User
from imaging import services
from portfolio.models import RecordItem, RecordSet
from tests.factories.portfolio import case_of, record_set_of
from tests.imaging.made_pictures import corner, jpeg


def taken(owner: User, record_set: RecordSet, data: bytes, name: str = "one.jpg") -> RecordItem:
    """A picture taken into the record set; it must not be refused."""
    answer = services.add_picture(owner, record_set, name, data)
    assert isinstance(answer, services.Taken), answer
    return answer.item


def picture_of(owner: User) -> RecordItem:
    """A small picture without a view in a new case."""
    return taken(owner, record_set_of(case_of(owner)), jpeg(corner()))
