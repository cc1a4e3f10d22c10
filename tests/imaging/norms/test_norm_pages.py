"""The norms of a portfolio are replaced with a source line, shown as own, and taken back."""

from __future__ import annotations

import re
from typing import Any

import pytest
from django.test import Client

from accounts.models import User
from imaging.models import OwnNorm
from imaging.norms.selectors import norm_tables, own_norms
from imaging.tracing.formulas import page_data
from portfolio.models import Portfolio
from tests.factories.accounts import person, signed_in
from tests.factories.portfolio import PortfolioFactory
from tests.factories.tracing import calibrated, radiograph_of, traced

pytestmark = pytest.mark.django_db
SOURCE = "Ward measurements of 2024, 120 adults"


@pytest.fixture
def owner() -> User:
    return person()


@pytest.fixture
def portfolio(owner: User) -> Portfolio:
    made: Portfolio = PortfolioFactory(owner=owner)
    return made


@pytest.fixture
def pages(owner: User) -> Client:
    return signed_in(owner)


def address(portfolio: Portfolio, norm: str = "", action: str = "") -> str:
    parts = [f"/portfolios/{portfolio.public_id}/norms", norm, action]
    return "/".join(part for part in parts if part) + "/"


def sent(pages: Client, portfolio: Portfolio, norm: str = "steiner-sna-1", **given: str) -> Any:
    return pages.post(address(portfolio, norm), {"version": "0", "value": "81", "source": SOURCE, **given})


def row(portfolio: Portfolio, measure: str = "sna") -> dict[str, Any]:
    """What the page of a tracing is told of Steiner's norm of a measure."""
    steiner = page_data(None, own_norms(portfolio))["analyses"][0]
    assert steiner["key"] == "steiner"
    found = next(one for one in steiner["rows"] if one["measure"] == measure)["norms"]
    told: dict[str, Any] = found[0] if found else {}
    return told


def test_all_norms_are_listed_with_source_and_how_sure_they_are(pages: Client, portfolio: Portfolio) -> None:
    page = re.sub(r"\s+", " ", pages.get(address(portfolio)).content.decode())
    assert "82° ± 3.5" in page
    assert "Cephalometrics for you and me" in page
    assert "Read; deviation from memory" in page
    assert '76 to 77°</span> <span class="quiet norm-source">From memory' in page
    assert page.count("<section") == len(norm_tables(portfolio))


def test_an_own_norm_counts_and_carries_its_source_line(pages: Client, portfolio: Portfolio) -> None:
    assert sent(pages, portfolio, sd="3,2", group="adults").status_code == 302
    told = row(portfolio)
    assert (told["value"], told["sd"], told["group"], told["own"]) == ("81", "3.2", "adults", True)
    assert (told["source"], told["published"]) == (SOURCE, "82° ± 3.5")
    page = pages.get(address(portfolio)).content.decode()
    assert SOURCE in page
    assert "1 own" in page


def test_the_page_of_a_tracing_tells_the_own_norm(owner: User, pages: Client) -> None:
    item = calibrated(radiograph_of(owner))
    traced(item)
    assert sent(pages, item.record_set.case.patient.portfolio).status_code == 302
    page = pages.get(f"/pictures/{item.public_id}/tracing/").content.decode()
    assert SOURCE in page


def test_the_norms_of_another_portfolio_stay_as_they_are(
    owner: User, pages: Client, portfolio: Portfolio
) -> None:
    sent(pages, portfolio)
    other = PortfolioFactory(owner=owner)
    assert (row(other)["value"], row(other)["own"]) == ("82", False)


def test_the_published_norm_is_taken_back_and_the_own_one_again(pages: Client, portfolio: Portfolio) -> None:
    sent(pages, portfolio)
    pages.post(address(portfolio, "steiner-sna-1", "published"), {"version": "1"})
    assert (row(portfolio)["value"], row(portfolio)["own"]) == ("82", False)
    assert "set aside" in pages.get(address(portfolio)).content.decode()
    pages.post(address(portfolio, "steiner-sna-1", "own"), {"version": "2"})
    assert (row(portfolio)["value"], row(portfolio)["own"]) == ("81", True)


def test_a_measure_without_a_published_norm_can_be_given_one(pages: Client, portfolio: Portfolio) -> None:
    assert row(portfolio, "u1_sn") == {}
    sent(pages, portfolio, "steiner-u1_sn-1", value="102", sd="5.5")
    assert (row(portfolio, "u1_sn")["value"], row(portfolio, "u1_sn")["published"]) == ("102", "")


def test_an_own_norm_that_moves_with_age_is_told_for_the_age(pages: Client, portfolio: Portfolio) -> None:
    sent(pages, portfolio, "ricketts-fma-1", value="27", age_years="8", per_year="−0.5")
    ricketts = page_data(12 * 12, own_norms(portfolio))["analyses"][3]
    fma = next(one for one in ricketts["rows"] if one["measure"] == "fma")["norms"][0]
    assert (ricketts["key"], fma["value"], fma["age"]) == ("ricketts", "25.0", "27 at 8 years, -0.5 a year")


def test_limits_alone_are_a_norm(pages: Client, portfolio: Portfolio) -> None:
    assert sent(pages, portfolio, value="", low="78", high="84").status_code == 302
    assert (row(portfolio)["value"], row(portfolio)["low"], row(portfolio)["high"]) == ("", "78", "84")


@pytest.mark.parametrize(
    ("given", "words"),
    [
        ({"source": ""}, "Say where these figures come from"),
        ({"value": ""}, "Give a mean, or both limits."),
        ({"value": "about 80"}, "Not a number; write 3.5 or 3,5"),
        ({"value": "81.234"}, "at most 2 decimals"),
        ({"value": "999"}, "999 is out of range; allowed: −90 to 400."),
        ({"sd": "0"}, "0 is out of range; allowed: 0.01 to 490."),
        ({"low": "78"}, "Both limits are needed, or neither"),
        ({"low": "84", "high": "78"}, "The upper limit must be above the lower one, 84."),
        ({"age_years": "9"}, "An age and a change a year are needed together"),
        ({"per_year": "1"}, "An age and a change a year are needed together"),
        ({"age_years": "2", "per_year": "1"}, "greater than or equal to 3"),
        (
            {"value": "", "low": "78", "high": "84", "age_years": "9", "per_year": "1"},
            "needs its mean at that age",
        ),
    ],
)
def test_what_is_no_norm_is_refused_beside_its_field_and_nothing_is_kept(
    pages: Client, portfolio: Portfolio, given: dict[str, str], words: str
) -> None:
    answer = sent(pages, portfolio, **given)
    assert answer.status_code == 422
    assert words in answer.content.decode()
    assert not OwnNorm.objects.exists()


def test_all_faults_of_the_form_are_told_together_and_what_was_typed_stays(
    pages: Client, portfolio: Portfolio
) -> None:
    page = sent(pages, portfolio, value="x", low="84", high="78", source="").content.decode()
    assert "The upper limit must be above the lower one" in page
    assert "Not a number" in page
    assert "Say where these figures come from" in page
    assert 'value="84"' in page


def test_a_norm_changed_in_another_window_is_not_overwritten(pages: Client, portfolio: Portfolio) -> None:
    sent(pages, portfolio)
    answer = sent(pages, portfolio, value="79")
    assert answer.status_code == 409
    assert row(portfolio)["value"] == "81"
    assert "changed in another window" in answer.content.decode()
    assert sent(pages, portfolio, value="79", version="1").status_code == 302
    assert row(portfolio)["value"] == "79"


@pytest.mark.parametrize("action", ["published", "own"])
def test_a_stale_page_switches_nothing(pages: Client, portfolio: Portfolio, action: str) -> None:
    sent(pages, portfolio)
    answer = pages.post(address(portfolio, "steiner-sna-1", action), {"version": "7"}, follow=True)
    assert "changed in another window meanwhile" in answer.content.decode()
    assert OwnNorm.objects.get().in_force


def test_only_who_may_edit_the_portfolio_sees_and_changes_its_norms(portfolio: Portfolio) -> None:
    for who in (person(), person(administrator=True)):
        others = signed_in(who)
        assert others.get(address(portfolio)).status_code == 404
        assert others.get(address(portfolio, "steiner-sna-1")).status_code == 404
        assert sent(others, portfolio).status_code == 404
    assert not OwnNorm.objects.exists()


def test_a_norm_that_is_not_there_is_not_found(pages: Client, portfolio: Portfolio) -> None:
    for key in ("steiner-sna-2", "steiner-wits-1", "no-such-norm"):
        assert pages.get(address(portfolio, key)).status_code == 404


def test_the_settings_of_a_portfolio_lead_to_its_norms(pages: Client, portfolio: Portfolio) -> None:
    page = pages.get(f"/portfolios/{portfolio.public_id}/edit/").content.decode()
    assert address(portfolio) in page


def test_the_form_begins_with_the_published_figures_and_without_a_source(
    pages: Client, portfolio: Portfolio
) -> None:
    page = pages.get(address(portfolio, "downs-facial_angle-1")).content.decode()
    assert all(f'value="{figure}"' in page for figure in ("87.8", "3.6", "82", "95"))
    assert not re.search(r'name="source"[^>]*value="[^"]', page)
