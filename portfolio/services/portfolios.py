"""Making and changing portfolios."""

import uuid
from dataclasses import asdict, dataclass

from accounts.models import User
from portfolio.access import visible_portfolios
from portfolio.models import DatePolicy, Notation, Paper, Portfolio
from portfolio.services.saving import checked, make_once, save_version


@dataclass(frozen=True, slots=True)
class PortfolioDetails:
    """What a portfolio's form holds."""

    name: str
    notation: str = Notation.ISO3950
    paper: str = Paper.A4
    date_policy: str = DatePolicy.AGES


def create_portfolio(by: User, details: PortfolioDetails, public_id: uuid.UUID | None = None) -> Portfolio:
    """Start a portfolio owned by `by`; the same public id again gives the same portfolio."""
    public_id = public_id or uuid.uuid4()

    def make() -> Portfolio:
        portfolio = checked(Portfolio(owner=by, public_id=public_id, **asdict(details)))
        portfolio.save()
        return portfolio

    return make_once(visible_portfolios(by), public_id, make)


def edit_portfolio(portfolio: Portfolio, details: PortfolioDetails, seen_version: int) -> None:
    """Save a portfolio's form; raises ChangedMeanwhile."""
    save_version(portfolio, seen_version, asdict(details))
