"""Measured sheets for tests of scores: the neutral sheet of the worked cases with findings replaced."""

from __future__ import annotations

import uuid

from accounts.models import User
from portfolio import services
from portfolio.models import Finding, Sheet
from portfolio.services import Entry
from tests.factories.portfolio import NOON, record_set_of, recorded, save, sheet_of
from tests.scoring.sheets import neutral_with

OPEN_FRONT = (
    "overbite 13 -3",
    "overbite 12 -6",
    "overbite 11 -8",
    "overbite 21 -8",
    "overbite 22 -6",
    "overbite 23 -4",
)
"""Scores 35 by the default choices and 41 as printed; common practice, no source."""


def measured_sheet(owner: User, *changes: str) -> Sheet:
    """A new case's sheet with the neutral findings, those named replaced."""
    return measure(sheet_of(owner), *changes)


def measure(sheet: Sheet, *changes: str) -> Sheet:
    """Put findings on an empty sheet and load it as pages do."""
    answer = services.import_sheet(sheet.reader, sheet, neutral_with(changes), uuid.uuid4().hex, NOON)
    recorded(answer)
    return loaded(sheet)


def loaded(sheet: Sheet) -> Sheet:
    """The sheet read anew with record set, case, patient and portfolio."""
    return Sheet.objects.select_related("reader", "record_set__case__patient__portfolio").get(pk=sheet.pk)


def change(sheet: Sheet, quantity: str, site: str, typed: str) -> Sheet:
    """Type one value over what stands there."""
    row = Finding.objects.filter(sheet=sheet, quantity=quantity, site=site).first()
    recorded(save(sheet, Entry(quantity, site, typed=typed, seen=row.changed_in if row else 0)))
    return loaded(sheet)


def other_teeth(sheet: Sheet, *, dentition: str, teeth: tuple[str, ...]) -> Sheet:
    """Change the dentition and the list of teeth of the sheet's record set."""
    here = record_set_of(sheet.record_set.case)
    details = services.RecordSetDetails(
        stage=here.stage, ordinal=here.ordinal, age_months=here.age_months, dentition=dentition, teeth=teeth
    )
    services.edit_record_set(here, details, here.version)
    return loaded(sheet)
