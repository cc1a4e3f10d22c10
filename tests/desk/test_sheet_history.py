"""The history of a sheet: who, when, what, the text as typed, and taking a change back."""

from __future__ import annotations

import re

import pytest
from django.test import Client
from django.urls import reverse
from pytest_django import DjangoAssertNumQueries

from accounts.models import User
from portfolio.models import Sheet, SheetChange
from portfolio.services import Entry
from tests.factories.accounts import person, signed_in
from tests.factories.portfolio import recorded, save, sheet_of, values

pytestmark = pytest.mark.django_db


@pytest.fixture
def owner() -> User:
    return person(name="Odile Marchetti")


@pytest.fixture
def sheet(owner: User) -> Sheet:
    return sheet_of(owner)


@pytest.fixture
def client(owner: User) -> Client:
    return signed_in(owner)


def address(sheet: Sheet) -> str:
    return reverse("desk:sheet_history", args=[sheet.public_id])


def take_back(client: Client, sheet: Sheet, number: int, key: str = "e" * 32) -> str:
    """The page after a change was asked to be taken back."""
    answer = client.post(address(sheet), {"number": number, "request_key": key}, follow=True)
    assert answer.status_code == 200
    return answer.content.decode()


def test_each_change_says_who_when_what_and_the_text_as_typed(client: Client, sheet: Sheet) -> None:
    recorded(save(sheet, Entry("overjet", "11", typed="3.02")))
    html = client.get(address(sheet)).content.decode()
    assert "Odile Marchetti" in html
    assert "2026-03-02T12:00:00+00:00" in html
    assert "Overjet, 11" in html
    assert "typed 3.02" in html


def test_an_empty_history_leads_to_the_measuring_page(client: Client, sheet: Sheet) -> None:
    html = client.get(address(sheet)).content.decode()
    assert "Nothing recorded yet" in html
    assert reverse("desk:measure", args=[sheet.public_id]) in html


def test_a_change_is_taken_back_and_stays_in_the_history(client: Client, sheet: Sheet) -> None:
    recorded(save(sheet, Entry("overjet", "11", typed="3")))
    html = take_back(client, sheet, 1)
    assert "Change 1 is taken back." in html
    assert values(sheet) == {}
    assert re.search(r"taken back in 2", html)
    assert SheetChange.objects.filter(sheet=sheet).count() == 2


def test_the_same_form_sent_twice_takes_back_once(client: Client, sheet: Sheet) -> None:
    recorded(save(sheet, Entry("overjet", "11", typed="3")))
    take_back(client, sheet, 1)
    take_back(client, sheet, 1)
    assert SheetChange.objects.filter(sheet=sheet).count() == 2


def test_a_change_with_a_later_one_on_top_is_not_taken_back_and_says_why(
    client: Client, sheet: Sheet
) -> None:
    recorded(save(sheet, Entry("overjet", "11", typed="3")))
    recorded(save(sheet, Entry("overjet", "11", typed="4", seen=1)))
    html = take_back(client, sheet, 1)
    assert "Odile Marchetti has changed a value of change 1 since" in html
    assert values(sheet) == {"overjet 11": "4"}


def test_a_form_of_another_shape_changes_nothing(client: Client, sheet: Sheet) -> None:
    recorded(save(sheet, Entry("overjet", "11", typed="3")))
    assert "out of date" in take_back(client, sheet, 1, key="?")
    assert values(sheet) == {"overjet 11": "3"}


def test_the_history_asks_the_database_as_often_for_many_changes_as_for_one(
    client: Client, sheet: Sheet, django_assert_max_num_queries: DjangoAssertNumQueries
) -> None:
    recorded(save(sheet, Entry("overjet", "11", typed="3")))
    client.get(address(sheet))  # the first page of a session also writes the session
    with django_assert_max_num_queries(11) as few:
        client.get(address(sheet))
    for number in range(1, 15):
        recorded(save(sheet, Entry("overjet", "11", typed=str(number), seen=number)))
    with django_assert_max_num_queries(11) as many:
        client.get(address(sheet))
    assert len(many) == len(few)
