"""What the page of the case log sends as JSON, checked for shape; what the texts mean is judged by the services."""

from collections.abc import Mapping
from dataclasses import dataclass
from typing import Any
from uuid import UUID

from portfolio.case_log.answers import BY_KEY
from portfolio.case_log.rows import STATE
from portfolio.case_log.services import Entry
from portfolio.forms.bodies import BodyRefused, mapping, read_object, request_key, whole_number

MOST_TEXT = 60
MOST_ENTRIES = len(BY_KEY) + 1


@dataclass(frozen=True, slots=True)
class FieldsBody:
    """Texts typed into fields of one row."""

    request_key: str
    entries: tuple[Entry, ...]


@dataclass(frozen=True, slots=True)
class AddBody:
    """A new row: the public id that it will have, and its code or an empty text."""

    request_key: str
    key: UUID
    code: str


@dataclass(frozen=True, slots=True)
class UndoBody:
    """The step to take back."""

    request_key: str
    number: int


def read_fields(body: bytes) -> FieldsBody:
    """The body of a save; BodyRefused when it has another shape."""
    data = read_object(body)
    listed = data.get("entries")
    if not isinstance(listed, list) or not 0 < len(listed) <= MOST_ENTRIES:
        raise BodyRefused(f"entries must be a list of 1 to {MOST_ENTRIES}")
    return FieldsBody(request_key(data), tuple(_entry(one) for one in listed))


def read_add(body: bytes) -> AddBody:
    """The body that adds a row; BodyRefused when it has another shape."""
    data = read_object(body)
    try:
        key = UUID(_text(data, "key"))
    except ValueError:
        raise BodyRefused("key must be a public id") from None
    return AddBody(request_key(data), key, _text(data, "code"))


def read_undo(body: bytes) -> UndoBody:
    """The body of an undo; BodyRefused when it has another shape."""
    data = read_object(body)
    return UndoBody(request_key(data), whole_number(data, "number"))


def read_delete(body: bytes) -> str:
    """The request key of a deletion; BodyRefused when the body has another shape."""
    return request_key(read_object(body))


def _entry(item: Any) -> Entry:
    data = mapping(item)
    key = _text(data, "key")
    if key not in BY_KEY and key != STATE:
        raise BodyRefused("key must be a column of the log")
    return Entry(key, _text(data, "typed"), _text(data, "seen"))


def _text(data: Mapping[str, Any], name: str) -> str:
    value = data.get(name, "")
    if not isinstance(value, str) or len(value) > MOST_TEXT or "\x00" in value:
        raise BodyRefused(f"{name} must be a text of at most {MOST_TEXT} characters")
    return value
