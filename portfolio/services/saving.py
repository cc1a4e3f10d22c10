"""What every form that saves a row shares: sending twice makes one row, and no edit overwrites another.

A form for a new row carries the public id the row will have, so the same form sent again finds the row
that is already there. A form for an existing row carries the version its page had seen.
"""

import uuid
from collections.abc import Callable, Mapping
from typing import Any, TypeVar

from django.core.exceptions import ValidationError
from django.db import IntegrityError, models, transaction

Row = TypeVar("Row", bound=models.Model)


class ChangedMeanwhile(Exception):
    """The row was saved after the page had read it; nothing has been written."""


class OutOfDate(Exception):
    """A form came back with a public id that belongs to another row; it has to be opened anew."""


def make_once(visible: models.QuerySet[Row], public_id: uuid.UUID, make: Callable[[], Row]) -> Row:
    """Make a row, or give the one that the same form made before.

    `visible` holds the rows the person may see; `make` is run in one transaction.
    """
    if made := visible.filter(public_id=public_id).first():
        return made
    try:
        with transaction.atomic():
            return make()
    except IntegrityError as error:
        if made := visible.filter(public_id=public_id).first():
            return made
        raise OutOfDate from error
    except ValidationError as error:
        # The same form sent twice at once: the other request has made the row between look and check.
        if made := visible.filter(public_id=public_id).first():
            return made
        raise error


def checked(row: Row) -> Row:
    """The row after a full check of lengths, choices and constraints, which SQLite alone would not make.

    The public id is left to the database: whose row has it already is nobody else's business.
    """
    row.full_clean(exclude=["public_id"])
    return row


def save_version(row: models.Model, seen_version: int, fields: Mapping[str, Any]) -> None:
    """Write the fields if the stored version is still the one seen, and raise the version by one.

    Raises ChangedMeanwhile, and ValidationError for what the fields do not allow. Safe in any database
    without row locks: the version is compared by the statement that writes.
    """
    for name, value in fields.items():
        setattr(row, name, value)
    row.full_clean()
    changed = (
        type(row)
        ._default_manager.filter(pk=row.pk, version=seen_version)
        .update(**fields, version=seen_version + 1)
    )
    if not changed:
        raise ChangedMeanwhile
    setattr(row, "version", seen_version + 1)  # noqa: B010 the base class has no such field
