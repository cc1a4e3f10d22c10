"""Two people at the same records at once: a save that waits sees what the other one has made."""

from __future__ import annotations

import threading
import uuid
from collections.abc import Callable

import pytest
from django.db import connection, transaction

from portfolio import services, teeth
from portfolio.models import Finding, RecordSet, Sheet
from portfolio.services import Entry
from portfolio.services import record_sets as writing
from tests.factories.accounts import PersonFactory
from tests.factories.portfolio import NOON, refused, sheet_of

pytestmark = pytest.mark.django_db(transaction=True)
LONG_ENOUGH_TO_WAIT = 0.5


def while_open(change: Callable[[], None], sheet: Sheet) -> services.Answer | BaseException:
    """What a save of overjet 11 is answered that starts inside the change's transaction and has to wait for it."""
    answers: list[services.Answer | BaseException] = []

    def save_one() -> None:
        try:
            entry = Entry("overjet", "11", typed="3")
            answers.append(services.record_findings(sheet.reader, sheet, [entry], uuid.uuid4().hex, NOON))
        except BaseException as error:
            answers.append(error)
        finally:
            connection.close()

    other = threading.Thread(target=save_one)
    with transaction.atomic():
        change()
        other.start()
        other.join(timeout=LONG_ENOUGH_TO_WAIT)
        assert other.is_alive(), answers
    other.join(timeout=60)
    return answers[0]


def test_a_save_that_waited_for_a_change_of_teeth_is_held_against_the_new_teeth() -> None:
    sheet = sheet_of(PersonFactory())
    here = sheet.record_set
    standing = tuple(t for t in teeth.DEFAULT_PERMANENT if t != "11")
    details = services.RecordSetDetails(stage=here.stage, teeth=standing)
    answer = while_open(lambda: services.edit_record_set(here, details, here.version), sheet)
    assert not isinstance(answer, BaseException), answer
    assert "11 has not erupted" in refused(answer).faults[0].message
    assert not Finding.objects.exists()


def test_a_save_that_waited_for_the_removal_of_its_records_finds_no_sheet() -> None:
    sheet = sheet_of(PersonFactory())
    here = sheet.record_set
    answer = while_open(lambda: writing.remove_record_set(here, here.version), sheet)
    assert isinstance(answer, Sheet.DoesNotExist), answer
    assert not RecordSet.objects.exists()
