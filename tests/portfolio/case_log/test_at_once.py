"""The same table confirmed twice at once makes its rows once."""

from __future__ import annotations

import threading
import uuid

import pytest
from django.db import connection, transaction

from portfolio.case_log import services
from portfolio.case_log.rows import ImportRow
from portfolio.case_log.services import Imported
from portfolio.models import Case
from tests.factories.portfolio import NOON, PortfolioFactory

pytestmark = pytest.mark.django_db(transaction=True)
ROWS = [ImportRow(2, "", {"overjet": "4"}), ImportRow(3, "FA78HK23", {"overjet": "5"})]


def test_a_table_confirmed_twice_at_once_is_imported_once() -> None:
    portfolio = PortfolioFactory()
    answers: list[object] = []

    def confirm() -> None:
        try:
            key = uuid.uuid4().hex
            answers.append(
                services.import_rows(portfolio.owner, portfolio, ROWS, "e" * 64, "go_me", key, NOON)
            )
        except BaseException as error:
            answers.append(error)

    def confirm_elsewhere() -> None:
        confirm()
        connection.close()

    other = threading.Thread(target=confirm_elsewhere)
    with transaction.atomic():
        confirm()
        other.start()
        other.join(timeout=0.5)
        assert other.is_alive(), answers
    other.join(timeout=60)
    assert answers == [Imported(2, 0, number=1), Imported(0, 0, again=True)]
    assert Case.objects.count() == 2
