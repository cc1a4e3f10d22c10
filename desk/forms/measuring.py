"""What the measuring page sends as JSON, checked for shape; what the values mean is judged by the services."""

from collections.abc import Mapping
from dataclasses import dataclass, field
from typing import Any

from desk.measuring.supposing import Supposed
from portfolio.forms.bodies import BodyRefused, mapping, read_object, request_key, whole_number
from portfolio.models import Medium, Step
from portfolio.services.answers import Entry

MOST_ENTRIES = 300
MOST_TEXT = 500
PARTICULARS = ("method", "medium", "plane", "note", "sd")


@dataclass(frozen=True, slots=True)
class SaveBody:
    """Entries or statements of free regions to be saved in one change.

    `whole_mouth` asks for everything that the one key states. `layouts` are the rows the page shows.
    """

    request_key: str
    entries: tuple[Entry, ...] = ()
    free: tuple[tuple[str, str], ...] = ()
    whole_mouth: bool = False
    layouts: Mapping[str, str] = field(default_factory=dict)


@dataclass(frozen=True, slots=True)
class UndoBody:
    """The change to take back."""

    request_key: str
    number: int
    layouts: Mapping[str, str]


@dataclass(frozen=True, slots=True)
class WhatIfBody:
    """Values put in for scoring only."""

    wanted: tuple[Supposed, ...]
    whole_mouth: bool
    layouts: Mapping[str, str]


@dataclass(frozen=True, slots=True)
class SettingsBody:
    """On what the sheet is measured, and the step of rounding."""

    medium: str
    step: str
    layouts: Mapping[str, str]


def read_save(body: bytes) -> SaveBody:
    """The body of a save; BodyRefused when it has another shape."""
    data = read_object(body)
    entries = tuple(_entry(e) for e in _list(data, "entries"))
    free = tuple(_region(e) for e in _list(data, "free"))
    whole_mouth = data.get("whole_mouth") is True
    if (bool(entries) + bool(free) + whole_mouth) != 1:
        raise BodyRefused("one of entries, free and whole_mouth is expected")
    return SaveBody(request_key(data), entries, free, whole_mouth, _layouts(data))


def read_undo(body: bytes) -> UndoBody:
    """The body of an undo; BodyRefused when it has another shape."""
    data = read_object(body)
    return UndoBody(request_key(data), whole_number(data, "number"), _layouts(data))


def read_what_if(body: bytes) -> WhatIfBody:
    """The body of a question "what if"; BodyRefused when it has another shape."""
    data = read_object(body)
    wanted = []
    for item in _list(data, "wanted"):
        entry = mapping(item)
        free = entry.get("free") is True
        wanted.append(
            Supposed(
                quantity=_text(entry, "quantity"),
                site=_text(entry, "site"),
                nth=whole_number(entry, "nth", 1),
                typed=_text(entry, "typed", ""),
                plane=_text(entry, "plane") if "plane" in entry else None,
                note=_text(entry, "note") if "note" in entry else None,
                free=free,
            )
        )
    return WhatIfBody(tuple(wanted), data.get("whole_mouth") is True, _layouts(data))


def read_settings(body: bytes) -> SettingsBody:
    """The body of the sheet's settings; BodyRefused when it has another shape or an unknown choice."""
    data = read_object(body)
    medium, step = _text(data, "medium"), _text(data, "step")
    if medium not in Medium.values or step not in Step.values:
        raise BodyRefused("medium or step is not one of the choices")
    return SettingsBody(medium, step, _layouts(data))


def _list(data: Mapping[str, Any], name: str) -> list[Any]:
    value = data.get(name, [])
    if not isinstance(value, list) or len(value) > MOST_ENTRIES:
        raise BodyRefused(f"{name} must be a list of at most {MOST_ENTRIES}")
    return value


def _text(data: Mapping[str, Any], name: str, default: str | None = None) -> str:
    value = data.get(name, default)
    if not isinstance(value, str) or len(value) > MOST_TEXT or "\x00" in value:
        raise BodyRefused(f"{name} must be a text of at most {MOST_TEXT} characters")
    return value


def _entry(item: Any) -> Entry:
    data = mapping(item)
    particulars: dict[str, Any] = {name: _text(data, name) for name in PARTICULARS if name in data}
    return Entry(
        quantity=_text(data, "quantity"),
        site=_text(data, "site"),
        nth=max(1, whole_number(data, "nth", 1)),
        typed=_text(data, "typed", ""),
        seen=whole_number(data, "seen", 0),
        **particulars,
    )


def _region(item: Any) -> tuple[str, str]:
    data = mapping(item)
    return _text(data, "quantity"), _text(data, "site")


def _layouts(data: Mapping[str, Any]) -> Mapping[str, str]:
    layouts = mapping(data.get("layouts", {}))
    if len(layouts) > MOST_ENTRIES or not all(isinstance(v, str) for v in layouts.values()):
        raise BodyRefused("layouts must be texts by row")
    return layouts
