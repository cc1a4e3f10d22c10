"""Holds the candidate's portfolio for the board against one of the invented plans."""

import uuid
from datetime import datetime

from accounts.models import User
from plans import services
from plans.access import visible_versions
from plans.shipped import shipped
from portfolio.models import Portfolio


def hold_against(by: User, portfolio: Portfolio, key: str, at: datetime) -> None:
    """Copy the shipped plan of this key to the person's plans and hold the portfolio against its first version."""
    row = services.make_shipped(by, shipped()[key], key, uuid.uuid4(), at)
    services.choose_version(by, portfolio, visible_versions(by).get(plan=row), None, at)
