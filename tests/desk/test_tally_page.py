"""The tally check: points typed from the paper form against the computed ones."""

from __future__ import annotations

import re

import pytest
from django.http import HttpResponseBase
from django.test import Client
from django.urls import reverse

from accounts.models import User
from portfolio.models import Sheet
from scoring.models import TypedTally
from tests.factories.accounts import person, signed_in
from tests.factories.scoring import OPEN_FRONT, measured_sheet

pytestmark = pytest.mark.django_db


@pytest.fixture
def owner() -> User:
    return person(name="Odile Marchetti")


@pytest.fixture
def client(owner: User) -> Client:
    return signed_in(owner)


@pytest.fixture
def sheet(owner: User) -> Sheet:
    return measured_sheet(owner, *OPEN_FRONT, "overjet 11 11")


def address(sheet: Sheet) -> str:
    return reverse("desk:tally", args=[sheet.public_id, "discrepancy"])


def words(answer: HttpResponseBase) -> str:
    html = getattr(answer, "content").decode()  # noqa: B009
    return " ".join(re.sub(r"<[^>]+>", " ", html).split())


def typed(client: Client, sheet: Sheet, **points: str) -> str:
    return words(client.post(address(sheet), points, follow=True))


def test_before_comparing_nothing_computed_is_shown(client: Client, sheet: Sheet) -> None:
    text = words(client.get(address(sheet)))
    assert "so that they do not lead your hand" in text
    assert "Computed" not in text


def test_what_agrees_and_what_differs_is_told_row_by_row(client: Client, sheet: Sheet) -> None:
    text = typed(client, sheet, overjet="4", anterior_open_bite="41", total="45")
    assert "They differ. Typed total 45, computed 40 (+5)." in text
    assert "11, 11 mm, scores 5; 2 mm less (at 9 mm) scores 4." in text
    assert "It fits the rule choice “Anterior open bite starts: 1 for edge to edge" in text
    assert "3 for 13, 3 mm open" in text
    assert "Overbite 0 not typed" in text


def test_a_tally_that_agrees_says_so(client: Client, sheet: Sheet) -> None:
    assert "The typed points agree with the computed ones." in typed(
        client, sheet, overjet="5", anterior_open_bite="35", total="40"
    )


def test_points_that_are_none_are_refused_beside_the_field_and_nothing_typed_is_lost(
    client: Client, sheet: Sheet
) -> None:
    answer = client.post(address(sheet), {"overjet": "five", "overbite": "3", "total": "1e3"})
    html = answer.content.decode()
    assert answer.status_code == 422
    assert html.count("is no number of points; allowed: 0 to 500, at most two decimals.") == 2
    assert 'value="five"' in html
    assert 'value="3"' in html
    assert not TypedTally.objects.exists()


def test_an_empty_form_is_refused(client: Client, sheet: Sheet) -> None:
    answer = client.post(address(sheet), {})
    assert answer.status_code == 422
    assert "Type the points of at least one row, or the total" in words(answer)


def test_the_last_tally_is_typed_in_again_and_earlier_ones_are_listed(client: Client, sheet: Sheet) -> None:
    typed(client, sheet, overjet="4", total="39")
    typed(client, sheet, overjet="5", total="40")
    answer = client.get(address(sheet))
    assert 'value="40"' in answer.content.decode()
    assert "Typed before" in words(answer)
    assert "total 39, 1 row" in words(answer)


def test_sending_the_same_tally_twice_keeps_one(client: Client, sheet: Sheet) -> None:
    for _ in range(2):
        typed(client, sheet, overjet="4", total="39")
    assert TypedTally.objects.count() == 1


def test_a_comma_is_read_as_a_decimal_point(client: Client, sheet: Sheet) -> None:
    typed(client, sheet, overjet="4,5")
    assert TypedTally.objects.get().categories == {"overjet": "4.5"}
