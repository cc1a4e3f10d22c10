"""What the page of marks asks the server for."""

from __future__ import annotations

import json
from typing import Any

from django.http import HttpResponse
from django.test import Client
from django.urls import reverse
from django.utils import timezone

from imaging.models import Calibration
from portfolio.models import RecordItem

KEYS = iter(f"request-{number:06}" for number in range(100_000))


def scaled(item: RecordItem, size: str = "natural") -> None:
    """0.1 mm a pixel, ± 2 per cent; clicks at four screen pixels a pixel leave 0.09 mm on a distance."""
    assert item.file is not None
    Calibration.objects.create(
        item=item, number=1, by=item.file.owner, at=timezone.now(), request_key=next(KEYS), way="ruler",
        across=0.1, down=0.1, sd_percent=2.0, origin="ruler", size=size, words="A ruler.",
    )  # fmt: skip


def mark(kind: str, *spots: tuple[float, float], label: str = "A", zoom: float = 4.0) -> dict[str, Any]:
    return {"kind": kind, "label": label, "places": [{"x": x, "y": y, "zoom": zoom} for x, y in spots]}


WIDTH = mark("distance", (100, 100), (185, 100))


def post(browser: Client, name: str, item: RecordItem, **body: Any) -> HttpResponse:
    address = reverse(f"imaging:marks_{name}", args=[item.public_id])
    sent = {"request_key": next(KEYS), **body}
    return browser.post(address, json.dumps(sent), content_type="application/json")  # type: ignore[return-value]


def said(answer: HttpResponse) -> dict[str, Any]:
    found: dict[str, Any] = json.loads(answer.content)
    return found


def save(browser: Client, item: RecordItem, seen: int = 0, **marks: Any) -> HttpResponse:
    return post(browser, "save", item, seen=seen, marks=marks)


def take(browser: Client, item: RecordItem, **asked: Any) -> HttpResponse:
    body = {
        "version": 1,
        "mark": "m1",
        "quantity": "tooth_width",
        "site": "11",
        "sense": "",
        "code": "",
        "seen": 0,
    }
    return post(browser, "take", item, **{**body, **asked})
