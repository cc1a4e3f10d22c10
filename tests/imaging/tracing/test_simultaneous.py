"""Many saves of one tracing at once: one of those that mean the same point is kept, and no revision is lost."""

from __future__ import annotations

import threading
import uuid
from collections.abc import Callable

import pytest
from django.db import connection

from imaging.models import Tracing, TracingRevision
from imaging.steps.answers import Answer, Saved
from imaging.tracing.services import Wanted, save
from portfolio.services.saving import ChangedMeanwhile
from tests.factories.accounts import person
from tests.factories.portfolio import NOON
from tests.factories.tracing import ON_PICTURE, begun, placed, radiograph_of

pytestmark = pytest.mark.django_db(transaction=True)
WINDOWS = 6


@pytest.fixture
def tracing() -> Tracing:
    return begun(radiograph_of(person()))


def at_once(tracing: Tracing, wanted: Callable[[int], Wanted]) -> list[Answer | BaseException]:
    """The answers to saves that start together, each from a window that has seen nothing."""
    answers: list[Answer | BaseException] = []
    ready = threading.Barrier(WINDOWS)

    def one(number: int) -> None:
        try:
            ready.wait(timeout=30)
            answers.append(
                save(tracing.reader, tracing, wanted(number), 0, f"{uuid.uuid4().hex}{number}", NOON)
            )
        except BaseException as error:
            answers.append(error)
        finally:
            connection.close()

    threads = [threading.Thread(target=one, args=(number,)) for number in range(WINDOWS)]
    for thread in threads:
        thread.start()
    for thread in threads:
        thread.join(timeout=60)
    return answers


def test_of_many_windows_that_move_one_point_one_is_kept_and_the_others_are_told(tracing: Tracing) -> None:
    answers = at_once(tracing, lambda number: Wanted({"S": placed(100 + number, 100)}))
    assert sum(isinstance(answer, Saved) for answer in answers) == 1
    assert sum(isinstance(answer, ChangedMeanwhile) for answer in answers) == WINDOWS - 1
    tracing.refresh_from_db()
    assert tracing.version == TracingRevision.objects.filter(tracing=tracing).count() == 1


def test_windows_that_place_different_points_are_all_kept(tracing: Tracing) -> None:
    names = ("S", "N", "A", "B", "Go", "Me")
    answers = at_once(tracing, lambda number: Wanted({names[number]: ON_PICTURE[names[number]]}))
    assert all(isinstance(answer, Saved) for answer in answers), answers
    tracing.refresh_from_db()
    assert tracing.points == {name: ON_PICTURE[name] for name in names}
    numbers = TracingRevision.objects.filter(tracing=tracing).order_by("number")
    assert list(numbers.values_list("number", flat=True)) == list(range(1, WINDOWS + 1))
