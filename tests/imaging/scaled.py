"""Pictures with scales for tests, and what the forms of the page send."""

from __future__ import annotations

import uuid
from typing import Any

from django.test import Client
from django.urls import reverse
from django.utils import timezone

from accounts.models import User
from imaging.calibrating import services
from imaging.calibrating.selectors import scale_facts
from imaging.calibration import Plane, Ruler, RulerReading
from imaging.models import Tracing
from imaging.tracing.on_picture import Way
from imaging.tracing.services import begin
from portfolio.models import RecordItem
from portfolio.services import record_items
from tests.factories.imaging import taken
from tests.factories.portfolio import case_of, record_set_of
from tests.imaging.made_radiographs import dicom_of, ramp

GREYS = ramp(size=(300, 400))


def of_view(owner: User, data: bytes, view: str, name: str = "one.png") -> RecordItem:
    item = taken(owner, record_set_of(case_of(owner)), data, name)
    record_items.assign_view(item, view, item.version)
    item.refresh_from_db()
    return item


def dicom(owner: User, **attributes: Any) -> RecordItem:
    return of_view(owner, dicom_of(GREYS, **attributes), "lateral", "one.dcm")


def page(item: RecordItem) -> str:
    return reverse("imaging:scale", args=[item.public_id])


def ruler_fields(item: RecordItem, **other: str) -> dict[str, str]:
    """A ruler of 30 mm over 300 pixels amid the patient."""
    return {
        "do": "ruler",
        "seen": str(scale_facts(item).number),
        "request_key": uuid.uuid4().hex,
        "ruler_1_start_across": "50",
        "ruler_1_start_down": "20",
        "ruler_1_end_across": "350",
        "ruler_1_end_down": "20",
        "ruler_1_mm": "30",
        "plane": "midsagittal",
        **other,
    }


def press(item: RecordItem, do: str, **other: str) -> dict[str, str]:
    seen = str(scale_facts(item).number)
    return {"do": do, "seen": seen, "request_key": uuid.uuid4().hex, **other}


def text_of(browser: Client, item: RecordItem) -> str:
    return browser.get(page(item)).content.decode()


def keep(owner: User, item: RecordItem, millimetres: float = 30) -> None:
    reading = RulerReading(Ruler((50, 20), (350, 20), millimetres), Plane.MIDSAGITTAL)
    stand = services.Stand(scale_facts(item).number, uuid.uuid4().hex)
    services.keep_ruler(owner, item, reading, stand, timezone.now())


def traced(owner: User, item: RecordItem, points: dict[str, tuple[float, float]]) -> Tracing:
    tracing = begin(owner, item, uuid.uuid4(), Way.RIGHT, "go_me")
    tracing.points = {name: {"x": x, "y": y, "uncertain": False} for name, (x, y) in points.items()}
    tracing.save()
    return tracing
