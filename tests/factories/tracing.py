"""Radiographs and tracings for tests: the ordinary face of the formula tests, placed on a plain picture."""

from __future__ import annotations

import uuid
from collections.abc import Mapping
from typing import Any

from PIL import Image

from accounts.models import User
from imaging.models import Calibration, CalibrationWay, Tracing
from imaging.steps.answers import Answer, Saved
from imaging.tracing import services
from imaging.tracing.as_face import Placed
from imaging.tracing.on_picture import Way
from portfolio.models import RecordItem, RecordSet
from tests.factories.imaging import taken
from tests.factories.portfolio import NOON, case_of, record_set_of
from tests.imaging.cephalometry.faces import ORDINARY
from tests.imaging.made_pictures import png

SIZE = (900, 950)
MM_PER_PIXEL = 0.2
ZERO = (300.0, 200.0)
"""Where sella lies, in pixels of the picture."""


def pixel(x: float, y: float) -> tuple[float, float]:
    """Where a point of the face, in millimetres with y up, lies on the picture: profile to the right, y down."""
    return round(ZERO[0] + x / MM_PER_PIXEL, 2), round(ZERO[1] - y / MM_PER_PIXEL, 2)


def placed(x: float, y: float, *, uncertain: bool = False) -> Placed:
    return {"x": x, "y": y, "uncertain": uncertain}


ON_PICTURE: Mapping[str, Placed] = {name: placed(*pixel(*at[:2])) for name, at in ORDINARY.items()}


def radiograph_of(owner: User, record_set: RecordSet | None = None, shade: int = 90) -> RecordItem:
    """A plain grey lateral radiograph; another shade is another picture."""
    here = record_set or record_set_of(case_of(owner))
    item = taken(owner, here, png(Image.new("L", SIZE, shade)), "lateral.png")
    RecordItem.objects.filter(pk=item.pk).update(view="lateral")
    item.refresh_from_db()
    return item


def calibrated(item: RecordItem, mm: float = MM_PER_PIXEL, size: str = "natural") -> RecordItem:
    """The picture with a scale a person gave."""
    Calibration.objects.create(
        item=item,
        number=Calibration.objects.filter(item=item).count() + 1,
        by=item.record_set.case.patient.portfolio.owner,
        at=NOON,
        request_key=uuid.uuid4().hex,
        way=CalibrationWay.RULER,
        across=mm,
        down=mm,
        sd_percent=0.4,
        origin="ruler",
        size=size,
        words="two clicks on a ruler of 100 mm",
    )
    return item


def begun(item: RecordItem, reader: User | None = None, plane: str = "go_me") -> Tracing:
    """A tracing without points."""
    by = reader or item.record_set.case.patient.portfolio.owner
    return services.begin(by, item, uuid.uuid4(), Way.RIGHT, plane)


def put(tracing: Tracing, points: Mapping[str, Placed | None], **more: Any) -> Answer:
    """Save points as the page would, having seen what stands."""
    tracing.refresh_from_db()
    wanted = services.Wanted(points, **more)
    answer = services.save(tracing.reader, tracing, wanted, tracing.version, uuid.uuid4().hex, NOON)
    tracing.refresh_from_db()
    return answer


def traced(item: RecordItem, reader: User | None = None, plane: str = "go_me") -> Tracing:
    """A whole tracing of the ordinary face."""
    tracing = begun(item, reader, plane)
    assert isinstance(put(tracing, ON_PICTURE), Saved)
    return tracing
