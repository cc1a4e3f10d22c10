"""Repeats of sheets for tests."""

from __future__ import annotations

import uuid
from collections.abc import Mapping
from datetime import datetime, timedelta

from accounts.models import User
from portfolio.models import RepeatSheet, Sheet
from portfolio.repeating import services
from portfolio.services import Entry
from tests.factories.portfolio import NOON, recorded, save, sheet_of

LATER = NOON + timedelta(days=20)
Values = Mapping[tuple[str, str], str]
OVERJETS: Values = {("overjet", "11"): "6.5", ("overjet", "21"): "6.0"}


def measured(sheet: Sheet, values: Values) -> Sheet:
    """The sheet with these values, quantity and site against the text typed."""
    recorded(save(sheet, *(Entry(q, s, typed=text) for (q, s), text in values.items())))
    sheet.refresh_from_db()
    return sheet


def first_sheet_of(owner: User, values: Values = OVERJETS) -> Sheet:
    """A measured working sheet of a new case."""
    return measured(sheet_of(owner), values)


def repeat_sheet_of(first: Sheet, at: datetime = LATER, reason: str = "") -> RepeatSheet:
    """An open repeat of a sheet."""
    return services.begin(first.reader, first, uuid.uuid4(), at, reason)


def handed_in(first: Sheet, values: Values, at: datetime = LATER) -> RepeatSheet:
    """A repeat with these values, handed in."""
    repeat = repeat_sheet_of(first, at, "")
    measured(repeat.sheet, values)
    services.hand_in(repeat, at)
    return repeat
