"""Rule choices belong to a portfolio: three sets, and single choices that make an own one."""

from __future__ import annotations

import pytest

from portfolio.models import Portfolio
from scoring import registry, selectors, services
from scoring.index import ChoiceRefused
from scoring.models import RuleChoice
from scoring.selectors import Chosen
from tests.factories.portfolio import PortfolioFactory

pytestmark = pytest.mark.django_db
INDEX = registry.index("discrepancy")


@pytest.fixture
def portfolio() -> Portfolio:
    return PortfolioFactory()


def chosen(portfolio: Portfolio) -> Chosen:
    return selectors.chosen(portfolio, "discrepancy")


def test_a_portfolio_starts_as_shipped(portfolio: Portfolio) -> None:
    assert chosen(portfolio).choice_set == "as_shipped"
    assert chosen(portfolio).values == INDEX.defaults
    assert selectors.choices(portfolio, "discrepancy") == INDEX.defaults


def test_as_printed_differs_from_as_shipped_in_two_choices(portfolio: Portfolio) -> None:
    services.choose_set(portfolio, "discrepancy", "as_printed")
    values = chosen(portfolio).values
    assert {key: v for key, v in values.items() if v != INDEX.defaults[key]} == {
        "open_bite_start": "edge_point_plus",
        "crowding_1": "1",
    }


def test_one_choice_makes_an_own_set_from_what_is_in_force(portfolio: Portfolio) -> None:
    services.choose_set(portfolio, "discrepancy", "as_printed")
    services.choose(portfolio, "discrepancy", "diastema", "from_2")
    now = chosen(portfolio)
    assert now.choice_set == "own"
    assert now.values["diastema"] == "from_2"
    assert now.values["open_bite_start"] == "edge_point_plus"
    assert now.values["part_millimetre"] == "floor"


def test_the_own_set_comes_back_with_one_click(portfolio: Portfolio) -> None:
    services.choose(portfolio, "discrepancy", "diastema", "from_2")
    own = dict(chosen(portfolio).values)
    services.choose_set(portfolio, "discrepancy", "as_shipped")
    assert chosen(portfolio).values == INDEX.defaults
    services.choose_set(portfolio, "discrepancy", "own")
    assert chosen(portfolio).values == own


def test_choosing_what_is_in_force_changes_nothing(portfolio: Portfolio) -> None:
    services.choose(portfolio, "discrepancy", "diastema", "over_2")
    assert chosen(portfolio).choice_set == "as_shipped"
    assert not RuleChoice.objects.exists()


def test_other_portfolios_keep_their_choices(portfolio: Portfolio) -> None:
    other = PortfolioFactory(owner=portfolio.owner)
    services.choose(portfolio, "discrepancy", "diastema", "from_2")
    assert chosen(other).values == INDEX.defaults
    both = selectors.chosen_of([portfolio.pk, other.pk], "discrepancy")
    assert both[portfolio.pk].values["diastema"] == "from_2"
    assert both[other.pk].values["diastema"] == "over_2"


@pytest.mark.parametrize(("choice", "value"), [("nothing", "x"), ("diastema", "always")])
def test_an_unknown_choice_or_value_is_refused_and_nothing_is_stored(
    portfolio: Portfolio, choice: str, value: str
) -> None:
    with pytest.raises(ChoiceRefused, match="allowed"):
        services.choose(portfolio, "discrepancy", choice, value)
    assert chosen(portfolio).choice_set == "as_shipped"
    assert not RuleChoice.objects.exists()


def test_an_unknown_set_is_refused(portfolio: Portfolio) -> None:
    with pytest.raises(ChoiceRefused, match="allowed: as_shipped, as_printed, own"):
        services.choose_set(portfolio, "discrepancy", "strict")


def test_a_stored_value_that_the_index_no_longer_knows_is_passed_over(portfolio: Portfolio) -> None:
    services.choose(portfolio, "discrepancy", "diastema", "from_2")
    RuleChoice.objects.filter(choice="diastema").update(value="of an older edition")
    RuleChoice.objects.filter(choice="crowding_1").update(choice="gone")
    assert chosen(portfolio).values == INDEX.defaults


def test_the_digest_moves_with_the_choices(portfolio: Portfolio) -> None:
    before = chosen(portfolio).digest
    services.choose(portfolio, "discrepancy", "diastema", "from_2")
    moved = chosen(portfolio).digest
    services.choose(portfolio, "discrepancy", "diastema", "over_2")
    assert moved != before
    assert chosen(portfolio).digest == before
