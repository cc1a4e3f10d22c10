"""A picture of an upper arch whose owner marks it."""

from __future__ import annotations

from portfolio.models import RecordItem, RecordSet
from portfolio.services.record_items import assign_view
from tests.factories.imaging import taken
from tests.factories.portfolio import case_of, record_set_of
from tests.imaging.made_pictures import corner, jpeg

__all__ = ["arch_picture", "case_of", "record_set_of"]


def arch_picture(record_set: RecordSet) -> RecordItem:
    """An upper arch of 400 x 300 pixels."""
    owner = record_set.case.patient.portfolio.owner
    item = taken(owner, record_set, jpeg(corner((400, 300))))
    assign_view(item, "upper", item.version)
    return item
