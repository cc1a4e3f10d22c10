"""What the page of marks sends, checked for shape; what it means is judged by the services."""

import re
from collections.abc import Mapping
from dataclasses import dataclass
from typing import Any

from imaging.marking.measures import KINDS
from imaging.marking.services import Mark
from portfolio.forms.bodies import BodyRefused, decimal, read_object, request_key, whole_number
from portfolio.quantity import unprintable

MARK_KEY = re.compile(r"[a-z0-9]{1,16}\Z")
MOST_LABEL = 40
MOST_AT_ONCE = 100
ZOOM = (0.001, 100.0)


@dataclass(frozen=True, slots=True)
class SaveBody:
    request_key: str
    seen: int
    marks: Mapping[str, Mark | None]


@dataclass(frozen=True, slots=True)
class TakeBody:
    """One mark to be taken over as a finding: `sense` is its sign where asked, `code` what the eye says."""

    request_key: str
    version: int
    mark: str
    quantity: str
    site: str
    sense: str
    code: str
    seen: int


def read_save(body: bytes) -> SaveBody:
    """The body of a save; BodyRefused when it has another shape."""
    data = read_object(body)
    marks = data.get("marks")
    if not isinstance(marks, dict) or not 0 < len(marks) <= MOST_AT_ONCE:
        raise BodyRefused(f"marks must be an object of 1 to {MOST_AT_ONCE}")
    for name in marks:
        if not MARK_KEY.match(name):
            raise BodyRefused("a mark's key must be 1 to 16 small letters and digits")
    return SaveBody(
        request_key(data),
        whole_number(data, "seen"),
        {name: None if mark is None else _mark(mark) for name, mark in marks.items()},
    )


def read_take(body: bytes) -> TakeBody:
    """The body of taking over; BodyRefused when it has another shape."""
    data = read_object(body)
    texts = {name: _text(data, name) for name in ("mark", "quantity", "site", "sense", "code")}
    return TakeBody(
        request_key(data), whole_number(data, "version"), seen=whole_number(data, "seen"), **texts
    )


def _text(data: Mapping[str, Any], name: str) -> str:
    value = data.get(name, "")
    if not isinstance(value, str) or len(value) > MOST_LABEL or unprintable(value):
        raise BodyRefused(f"{name} must be a text of at most {MOST_LABEL} characters")
    return value


def _mark(data: Any) -> Mark:
    if not isinstance(data, dict) or data.get("kind") not in KINDS:
        raise BodyRefused(f"a mark must be null or an object with kind {', '.join(KINDS)}")
    places, wanted = data.get("places"), len(KINDS[data["kind"]].places)
    if not isinstance(places, list) or len(places) != wanted:
        raise BodyRefused(f"{data['kind']} has {wanted} places")
    label = " ".join(_text(data, "label").split())
    return {"kind": data["kind"], "label": label, "places": [_place(place) for place in places]}


def _place(data: Any) -> dict[str, float]:
    if not isinstance(data, dict):
        raise BodyRefused("a place must be an object")
    x, y = (decimal(data.get(axis), axis) for axis in "xy")
    zoom = decimal(data.get("zoom"), "zoom")
    return {"x": round(x, 2), "y": round(y, 2), "zoom": round(min(max(zoom, ZOOM[0]), ZOOM[1]), 3)}
