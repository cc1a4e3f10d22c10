"""Bodies that pages send as JSON, checked for shape; what they mean is judged by the services."""

import json
import math
import re
from collections.abc import Mapping
from typing import Any

REQUEST_KEY = re.compile(r"[0-9A-Za-z_-]{8,64}\Z")
LARGEST_NUMBER = 1_000_000_000
MOST_PIXELS = 1_000_000


class BodyRefused(ValueError):
    """The request has another shape than the page sends; the words say which part."""


def read_object(body: bytes) -> Mapping[str, Any]:
    """The object that the body holds; BodyRefused when it is not JSON or no object."""
    try:
        data = json.loads(body)
    except (ValueError, RecursionError):
        raise BodyRefused("the body is not JSON") from None
    return mapping(data)


def mapping(value: Any) -> Mapping[str, Any]:
    """The value itself; BodyRefused when it is no object."""
    if not isinstance(value, dict):
        raise BodyRefused("an object is expected")
    return value


def request_key(data: Mapping[str, Any]) -> str:
    """The key by which a request that is sent again is known; BodyRefused when it has another form."""
    key = data.get("request_key")
    if not isinstance(key, str) or not REQUEST_KEY.match(key):
        raise BodyRefused("request_key must be 8 to 64 letters and digits")
    return key


def whole_number(data: Mapping[str, Any], name: str, default: int | None = None) -> int:
    """A whole number from 0 to a thousand million; BodyRefused when it is none."""
    value = data.get(name, default)
    if isinstance(value, bool) or not isinstance(value, int) or not 0 <= value <= LARGEST_NUMBER:
        raise BodyRefused(f"{name} must be a whole number")
    return value


def decimal(value: Any, name: str) -> float:
    """A number of pixels or the like, finite and within a million; BodyRefused when it is none."""
    if isinstance(value, bool) or not isinstance(value, int | float):
        raise BodyRefused(f"{name} must be a number")
    if not (math.isfinite(value) and abs(value) <= MOST_PIXELS):
        raise BodyRefused(f"{name} is out of range")
    return float(value)
