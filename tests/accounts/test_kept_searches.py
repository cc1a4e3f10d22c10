"""What is searched for stands on the page and in no address: addresses stay in the browser's history."""

from __future__ import annotations

import re
from urllib.parse import parse_qs, urlsplit

import pytest
from django.test import Client
from django.urls import reverse

from accounts import kept_searches
from accounts.models import User
from tests.factories.accounts import person, searched, signed_in
from tests.factories.portfolio import PatientFactory, PortfolioFactory

pytestmark = pytest.mark.django_db
WORDS = "odile@clinic.example"


@pytest.fixture
def administrator() -> User:
    return person(administrator=True)


def sent(browser: Client, words: str, address: str = "/people/", **narrowed: str) -> str:
    """Where the search leads."""
    answer = browser.post("/search/", {"list": address, "search": words, **narrowed})
    assert answer.status_code == 302
    return str(answer.headers["Location"])


def test_the_address_carries_a_key_instead_of_the_words(administrator: User) -> None:
    browser = signed_in(administrator)
    address = sent(browser, WORDS, sort="-name")
    query = parse_qs(urlsplit(address).query)
    assert query["sort"] == ["-name"]
    assert len(query["search"][0]) == 8
    assert "odile" not in address
    assert f'value="{WORDS}"' in browser.get(address).content.decode()


def test_no_link_of_a_searched_list_holds_the_words(administrator: User) -> None:
    for number in range(60):
        person(name=f"Odile {number}", email=f"odile{number}@clinic.example")
    owner = signed_in(administrator)
    portfolio = PortfolioFactory(owner=administrator)
    PatientFactory.create_batch(60, portfolio=portfolio, locator="odile", searchable="odile")
    for address in ("/people/", reverse("portfolio:patients", args=[portfolio.public_id]), "/"):
        page = searched(owner, address, "odile")
        links = re.findall(r'(?:href|action)="([^"]*)"', page)
        assert [link for link in links if "odile" in link.lower()] == []
        if address != "/":
            assert [link for link in links if "page=2" in link and "search=" in link]


def test_words_in_an_address_are_not_searched_for(administrator: User) -> None:
    page = signed_in(administrator).get("/people/?search=zzz").content.decode()
    assert administrator.name in page
    assert "zzz" not in page


def test_a_key_of_another_session_finds_nothing(administrator: User) -> None:
    address = sent(signed_in(administrator), "zzz")
    assert administrator.name in signed_in(administrator).get(address).content.decode()


def test_searches_in_several_tabs_stand_side_by_side_and_the_oldest_are_dropped(administrator: User) -> None:
    browser = signed_in(administrator)
    addresses = [sent(browser, f"word{number}") for number in range(kept_searches.KEPT + 1)]
    pages = [browser.get(address).content.decode() for address in addresses]
    assert 'value=""' in pages[0]
    assert all(f'value="word{number}"' in page for number, page in list(enumerate(pages))[1:])


def test_an_empty_search_leads_to_the_whole_list(administrator: User) -> None:
    assert sent(signed_in(administrator), "  ") == "/people/"


@pytest.mark.parametrize("address", ["https://elsewhere.example/", "//elsewhere.example/", "", "people/"])
def test_a_search_leads_to_no_other_site(administrator: User, address: str) -> None:
    assert sent(signed_in(administrator), "", address) == "/"
