"""Several clicks at once: one kept score, one list of standing scores, no choice lost."""

from __future__ import annotations

import threading
from collections.abc import Callable
from typing import Any

import pytest
from django.db import connection

from portfolio.models import Sheet
from portfolio.services import remove_record_set
from scoring import selectors, services
from scoring.models import ScoreRun, StandingScore
from tests.factories.accounts import person
from tests.factories.portfolio import NOON
from tests.factories.scoring import OPEN_FRONT, loaded, measured_sheet

pytestmark = pytest.mark.django_db(transaction=True)
AT_ONCE = 6


@pytest.fixture
def sheet() -> Sheet:
    return measured_sheet(person(name="Odile Marchetti"), *OPEN_FRONT)


def at_once(*tasks: Callable[[], Any]) -> list[Any]:
    """What each task gives when all start together; an error is given like an answer."""
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
    assert not [one for one in answers if isinstance(one, BaseException)], answers
    return answers


def test_simultaneous_clicks_keep_one_score_and_all_get_it(sheet: Sheet) -> None:
    def keep() -> Any:
        return services.keep_score(sheet.reader, loaded(sheet), "discrepancy", NOON)

    answers = at_once(*[keep] * AT_ONCE)
    assert ScoreRun.objects.count() == 1
    assert {one.run.public_id for one in answers} == {ScoreRun.objects.get().public_id}
    assert sorted(one.again for one in answers) == [False] + [True] * (AT_ONCE - 1)


def test_simultaneous_lists_store_one_copy_and_show_the_same_number(sheet: Sheet) -> None:
    answers = at_once(
        *[lambda: selectors.standing_scores([loaded(sheet)], "discrepancy")[sheet.pk].total] * AT_ONCE
    )
    assert set(answers) == {35}
    assert StandingScore.objects.count() == 1


def test_a_list_read_before_a_sheet_was_removed_is_shown_all_the_same(sheet: Sheet) -> None:
    read_before = loaded(sheet)
    remove_record_set(read_before.record_set, read_before.record_set.version)
    assert read_before.pk in selectors.standing_scores([read_before], "discrepancy")
    assert not StandingScore.objects.exists()


def test_two_choices_made_at_once_both_hold(sheet: Sheet) -> None:
    portfolio = sheet.record_set.case.patient.portfolio
    at_once(
        lambda: services.choose(portfolio, "discrepancy", "diastema", "from_2"),
        lambda: services.choose(portfolio, "discrepancy", "crowding_1", "1"),
        lambda: services.choose(portfolio, "discrepancy", "part_degree", "floor"),
    )
    values = selectors.chosen(portfolio, "discrepancy").values
    assert (values["diastema"], values["crowding_1"], values["part_degree"]) == ("from_2", "1", "floor")
