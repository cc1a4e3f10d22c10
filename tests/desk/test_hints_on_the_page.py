"""Hints beside the score: what deserves a second look, alone and against other records of the case."""

from __future__ import annotations

import pytest
from django.urls import reverse

from accounts.models import User
from portfolio import services
from portfolio.models import Sheet
from portfolio.services import Entry
from tests.desk.test_measuring_saves import Page
from tests.factories.accounts import person, signed_in
from tests.factories.portfolio import recorded, save, sheet_of
from tests.factories.scoring import measured_sheet

pytestmark = pytest.mark.django_db
AGAIN, AGAINST = "Worth a second look", "Against other records of the case"


@pytest.fixture
def owner() -> User:
    return person(name="Odile Marchetti")


@pytest.fixture
def page(owner: User) -> Page:
    return Page(sheet_of(owner), signed_in(owner))


def html(page: Page) -> str:
    return page.client.get(reverse("desk:measure", args=[page.sheet.public_id])).content.decode()


def test_an_ordinary_sheet_has_no_hints(owner: User) -> None:
    page = Page(measured_sheet(owner), signed_in(owner))
    assert AGAIN not in html(page)
    assert AGAINST not in html(page)


def test_an_improbable_width_is_told_at_once_and_is_no_refusal(page: Page) -> None:
    answer = page.enter("tooth_width", "11", "15")
    assert AGAIN in answer["live"]
    assert 'data-go="tooth_width"' in answer["live"]
    assert AGAIN in html(page)
    assert AGAIN not in page.enter("tooth_width", "11", "8.6", seen=answer["version"])["live"]


def test_widths_that_differ_from_another_stage_are_told_while_measuring(owner: User, page: Page) -> None:
    final = services.add_record_set(
        owner, page.sheet.record_set.case, services.RecordSetDetails(stage="final", age_months=190)
    )
    recorded(save(Sheet.objects.get(record_set=final), Entry("tooth_width", "11", typed="8.6")))
    assert "other_hints" not in page.enter("overjet", "11", "2")
    answer = page.enter("tooth_width", "11", "9.4")
    assert AGAINST in answer["other_hints"]
    assert "final records" in answer["other_hints"]
    assert AGAINST in html(page)
    page.enter("tooth_width", "11", "8.7", seen=answer["version"])
    assert AGAINST not in html(page)


def test_what_if_gives_hints_for_what_is_supposed(page: Page) -> None:
    wanted = {"quantity": "tooth_width", "site": "11", "typed": "15"}
    answer = page.post("what_if", {"wanted": [wanted]})
    assert AGAIN in answer["live"]
    assert AGAIN not in html(page)
