"""Several windows on one scale at once: one statement of each request, and nobody overwrites anybody unseen."""

from __future__ import annotations

import threading
from collections.abc import Callable
from typing import Any

import pytest
from django.db import connection

from imaging.calibrating import services
from imaging.calibrating.selectors import scale_of
from imaging.calibration import Plane, Ruler, RulerReading
from imaging.models import Calibration
from portfolio.models import RecordItem
from portfolio.services.saving import ChangedMeanwhile
from tests.factories.accounts import person
from tests.factories.portfolio import NOON
from tests.imaging.made_pictures import corner, png
from tests.imaging.scaled import of_view

pytestmark = pytest.mark.django_db(transaction=True)
AT_ONCE = 5


@pytest.fixture
def radiograph() -> RecordItem:
    return of_view(person(), png(corner((400, 300))), "lateral")


def at_once(*tasks: Callable[[], Any]) -> list[Any]:
    """What each task gives, or the error it ends with, when all start together."""
    start = threading.Barrier(len(tasks))
    answers: list[Any] = []

    def run(task: Callable[[], Any]) -> None:
        try:
            start.wait(timeout=20)
            answers.append(task())
        except BaseException as error:
            answers.append(error)
        finally:
            connection.close()

    threads = [threading.Thread(target=run, args=(task,)) for task in tasks]
    for thread in threads:
        thread.start()
    for thread in threads:
        thread.join(timeout=60)
    return answers


def keep(item: RecordItem, millimetres: float, key: str) -> Callable[[], None]:
    reading = RulerReading(Ruler((50, 20), (350, 20), millimetres), Plane.MIDSAGITTAL)
    owner = item.record_set.case.patient.portfolio.owner
    return lambda: services.keep_ruler(owner, item, reading, services.Stand(0, key), NOON)


def test_one_of_several_windows_is_kept_and_the_others_are_told(radiograph: RecordItem) -> None:
    answers = at_once(*(keep(radiograph, 30 + n, f"window-{n}") for n in range(AT_ONCE)))
    assert [type(one) for one in answers if one] == [ChangedMeanwhile] * (AT_ONCE - 1)
    row = Calibration.objects.get()
    scale = scale_of(radiograph)
    assert scale is not None
    assert scale.across == row.across


def test_one_request_sent_several_times_at_once_is_kept_once(radiograph: RecordItem) -> None:
    answers = at_once(*(keep(radiograph, 30, "one-request") for _ in range(AT_ONCE)))
    assert answers == [None] * AT_ONCE
    assert Calibration.objects.count() == 1
