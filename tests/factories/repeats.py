"""Repeat tracings for tests."""

from __future__ import annotations

import uuid
from collections.abc import Mapping
from datetime import timedelta

from imaging.models import RepeatTracing
from imaging.repeats import services
from imaging.steps.answers import Saved
from imaging.tracing.as_face import Placed
from imaging.tracing.services import Wanted
from portfolio.models import RecordItem
from tests.factories.portfolio import NOON
from tests.factories.tracing import begun, pixel, placed, put

FEW: Mapping[str, Placed | None] = {
    "S": placed(*pixel(0, 0)),
    "N": placed(*pixel(70.5, 8.7)),
    "A": placed(*pixel(69.5, -48.3)),
    "B": placed(*pixel(65.4, -88.2)),
}
LATER = NOON + timedelta(days=20)


def repeat_of(item: RecordItem, points: Mapping[str, Placed | None] = FEW) -> RepeatTracing:
    """A begun repeat of a radiograph, whose first tracing is made with these points when there is none."""
    first = begun(item)
    if not first.points:
        assert isinstance(put(first, points), Saved)
    return services.begin_repeat(first.reader, item, uuid.uuid4(), LATER)


def placed_again(repeat: RepeatTracing, points: Mapping[str, Placed | None]) -> RepeatTracing:
    """The repeat with these points."""
    repeat.tracing.refresh_from_db()
    answer = services.save_repeat(
        repeat.tracing.reader, repeat, Wanted(points), repeat.tracing.version, uuid.uuid4().hex, LATER
    )
    assert isinstance(answer, Saved), answer
    repeat.tracing.refresh_from_db()
    return repeat


def finished(repeat: RepeatTracing, points: Mapping[str, Placed | None]) -> RepeatTracing:
    """The repeat with these points, finished."""
    services.finish_repeat(placed_again(repeat, points), LATER)
    repeat.refresh_from_db()
    return repeat
