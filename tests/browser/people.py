"""People of a running app, a portfolio each, and sessions in which they are signed in: for journeys of one app.

    python -m tests.browser.people NAME ...     in the environment of the app; prints the sessions by name as JSON

How somebody comes in by the pages is shown by the journeys of accounts; the others begin where that ends.
"""

from __future__ import annotations

import json
import os
import subprocess
import sys
from dataclasses import replace
from typing import Any

from tests.browser.serving import PASSWORD, PROJECT, Served, environment_of

SESSIONS = 40
"""For each person, more than a file has journeys: one of them may end by signing out."""

Cookie = dict[str, Any]


def as_person(served: Served, name: str) -> Served:
    """The app as one of these people uses it."""
    return replace(served, email=f"{name}@clinic.example", name="Ada First")


def entered(served: Served, names: list[str]) -> dict[str, list[Cookie]]:
    """The people made in a running app; for each the cookies of fresh sessions, as a browser takes them."""
    done = subprocess.run(
        [sys.executable, "-m", "tests.browser.people", *names],
        cwd=PROJECT,
        env=environment_of(served.data, DJANGO_SETTINGS_MODULE="config.settings"),
        check=True,
        capture_output=True,
        text=True,
    )
    said = json.loads(done.stdout)
    host = served.address.split("://")[1].split(":")[0]
    common = {"name": said["cookie"], "domain": host, "path": "/", "httpOnly": True, "sameSite": "Lax"}
    return {name: [{**common, "value": key} for key in keys] for name, keys in said["sessions"].items()}


def _enter(names: list[str]) -> None:
    import django

    django.setup()
    from django.conf import settings

    from accounts.models import User
    from portfolio.services import PortfolioDetails, create_portfolio
    from tests.factories.accounts import signed_in

    sessions: dict[str, list[str]] = {}
    for name in names:
        who = User.objects.create_user(f"{name}@clinic.example", PASSWORD, name="Ada First")
        create_portfolio(who, PortfolioDetails("Harbour portfolio"))
        sessions[name] = [signed_in(who).cookies[settings.SESSION_COOKIE_NAME].value for _ in range(SESSIONS)]
    print(json.dumps({"cookie": settings.SESSION_COOKIE_NAME, "sessions": sessions}))


if __name__ == "__main__":
    os.environ.setdefault("DJANGO_SETTINGS_MODULE", "config.settings")
    _enter(sys.argv[1:])
