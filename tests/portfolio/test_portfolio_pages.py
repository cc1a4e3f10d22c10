"""Pages of portfolios: start one, change it, print its key list."""

from __future__ import annotations

import re
import uuid

import pytest
from django.test import Client
from django.urls import reverse

from accounts.models import User
from portfolio.access import visible_portfolios
from portfolio.models import Patient
from tests.factories.accounts import person, signed_in
from tests.factories.portfolio import (
    PortfolioFactory,
    case_of,
)

pytestmark = pytest.mark.django_db


@pytest.fixture
def owner() -> User:
    return person(name="Odile Marchetti")


@pytest.fixture
def pages(owner: User) -> Client:
    return signed_in(owner)


def hidden(page: bytes, name: str) -> str:
    """The value of a hidden field on a page."""
    found = re.search(rf'name="{name}" value="([^"]*)"', page.decode())
    assert found, name
    return found[1]


def test_a_first_portfolio_needs_only_a_name(pages: Client, owner: User) -> None:
    page = pages.get(reverse("portfolio:portfolio_new"))
    assert "Your first portfolio" in page.content.decode()
    form = {"key": hidden(page.content, "key"), "name": "Harbour 2027"}
    form |= {"notation": "iso3950", "paper": "a4", "date_policy": "ages"}
    pages.post(reverse("portfolio:portfolio_new"), form)
    assert visible_portfolios(owner).get().name == "Harbour 2027"


def test_a_form_sent_twice_makes_one_portfolio(pages: Client, owner: User) -> None:
    form = {
        "key": str(uuid.uuid4()),
        "name": "Harbour",
        "notation": "palmer",
        "paper": "a4",
        "date_policy": "ages",
    }
    for _ in range(2):
        assert pages.post(reverse("portfolio:portfolio_new"), form).status_code == 302
    assert visible_portfolios(owner).count() == 1


def test_a_portfolio_without_a_name_is_refused_beside_the_field(pages: Client, owner: User) -> None:
    form = {
        "key": str(uuid.uuid4()),
        "name": " ",
        "notation": "palmer",
        "paper": "letter",
        "date_policy": "ages",
    }
    answer = pages.post(reverse("portfolio:portfolio_new"), form)
    assert answer.status_code == 422
    assert "This field is required" in answer.content.decode()
    assert not visible_portfolios(owner)


def test_a_key_that_belongs_to_somebody_elses_row_is_refused_without_showing_it(pages: Client) -> None:
    theirs = PortfolioFactory(name="Secret plans")
    form = {
        "key": str(theirs.public_id),
        "name": "Mine",
        "notation": "palmer",
        "paper": "a4",
        "date_policy": "ages",
    }
    answer = pages.post(reverse("portfolio:portfolio_new"), form)
    assert answer.status_code == 409
    assert "Secret plans" not in answer.content.decode()


def test_an_edit_that_came_too_late_is_refused_with_both_versions_and_can_be_sent_again(
    pages: Client, owner: User
) -> None:
    portfolio = PortfolioFactory(owner=owner, name="Harbour")
    address = reverse("portfolio:portfolio_edit", args=[portfolio.public_id])
    form = {"version": "1", "notation": "iso3950", "paper": "a4", "date_policy": "ages"}
    pages.post(address, form | {"name": "First window"})
    late = pages.post(address, form | {"name": "Second window"})
    assert late.status_code == 409
    assert "First window" in late.content.decode()
    assert "Second window" in late.content.decode()
    portfolio.refresh_from_db()
    assert portfolio.name == "First window"
    pages.post(address, form | {"name": "Second window", "version": hidden(late.content, "version")})
    portfolio.refresh_from_db()
    assert (portfolio.name, portfolio.version) == ("Second window", 3)


def test_the_key_list_has_codes_locators_and_an_empty_column_for_names(pages: Client, owner: User) -> None:
    case = case_of(owner)
    Patient.objects.filter(pk=case.patient.pk).update(locator="shelf 4 box 12")
    page = pages.get(reverse("portfolio:key_list", args=[case.patient.portfolio.public_id])).content.decode()
    for words in (case.patient.code, case.code, "shelf 4 box 12", "Name, by pen"):
        assert words in page
