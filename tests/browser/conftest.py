"""Browser journeys against the real processes: what `./foliowright serve` starts, on a fresh data folder."""

from __future__ import annotations

import os
import re
from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path
from typing import Any

import pytest
from playwright.sync_api import BrowserContext, Page, expect

from tests.browser.people import Cookie, as_person, entered
from tests.browser.serving import Served, start, stop
from tests.debian_chromium import chromium
from tests.prepared import furnish

expect.set_options(timeout=30_000)  # how long an answer takes says more about the machine than about the page


@pytest.fixture(scope="session", autouse=True)
def _django_beside_playwright() -> None:
    """Playwright keeps an event loop in this thread, which Django's safety check would take for async code."""
    os.environ["DJANGO_ALLOW_ASYNC_UNSAFE"] = "true"


@contextmanager
def app_on(folder: Path) -> Iterator[Served]:
    """An app in which nobody is yet; at its end its log must be free of errors."""
    process, found = start(furnish(folder / "data"))
    yield found
    assert stop(process) == 0
    log = (folder / "data-errors.txt").read_text()
    assert "ERROR" not in log, log
    assert "Traceback" not in log, log


@pytest.fixture(scope="session")
def shared_app(tmp_path_factory: pytest.TempPathFactory) -> Iterator[Served]:
    """One app for all journeys that begin with a person who has a portfolio."""
    with app_on(tmp_path_factory.mktemp("served")) as found:
        yield found


@pytest.fixture(scope="session")
def sessions_of_files(shared_app: Served) -> dict[str, list[Cookie]]:
    """One person for each file of journeys: what a file chooses for its portfolio is no other's business."""
    return entered(shared_app, sorted(path.stem for path in Path(__file__).parent.glob("test_*.py")))


@pytest.fixture(scope="module")
def served(
    request: pytest.FixtureRequest, shared_app: Served, sessions_of_files: dict[str, list[Cookie]]
) -> Served:
    """The shared app, as the person of this file uses it."""
    return as_person(shared_app, Path(request.path).stem)


@pytest.fixture(scope="module")
def fresh_app(tmp_path_factory: pytest.TempPathFactory) -> Iterator[Served]:
    """An app in which nobody is yet, for a file of its own."""
    with app_on(tmp_path_factory.mktemp("served")) as found:
        yield found


@pytest.fixture(scope="session")
def browser_type_launch_args(browser_type_launch_args: dict[str, Any]) -> dict[str, Any]:
    """Debian's Chromium, without the traffic a browser makes of its own."""
    return {
        **browser_type_launch_args,
        "executable_path": chromium(),
        "args": [
            "--no-sandbox",
            "--disable-background-networking",
            "--disable-component-update",
            "--disable-sync",
            "--disable-quic",
            "--no-first-run",
            "--disable-gpu",  # no page draws in three dimensions; drawing as if by a graphics card costs minutes
        ],
    }


@pytest.fixture
def browser_context_args(
    browser_context_args: dict[str, Any], served: Served, request: pytest.FixtureRequest
) -> dict[str, Any]:
    """A desktop's window at the app of the file; in the shared app its person is signed in, each time anew."""
    given = {**browser_context_args, "base_url": served.address, "viewport": {"width": 1280, "height": 900}}
    name = served.email.split("@")[0]
    if served == as_person(served, Path(request.path).stem):
        cookie = request.getfixturevalue("sessions_of_files")[name].pop()
        given["storage_state"] = {"cookies": [cookie | {"expires": -1, "secure": False}], "origins": []}
    return given


class Complaints:
    """What the browser complained of: errors and warnings of the console, refusals of the content policy."""

    def __init__(self) -> None:
        self.found: list[str] = []
        self.expected: list[str] = []

    def expect(self, pattern: str) -> None:
        """Names a complaint that the journey brings about on purpose, such as a refused save (409)."""
        self.expected.append(pattern)

    @property
    def unexpected(self) -> list[str]:
        return [line for line in self.found if not any(re.search(known, line) for known in self.expected)]

    def listen_to(self, page: Page) -> None:
        page.on("pageerror", lambda error: self.found.append(f"error: {error}"))
        page.on(
            "console",
            lambda message: (
                self.found.append(f"{message.type}: {message.text}")
                if message.type in ("error", "warning")
                else None
            ),
        )


@pytest.fixture(autouse=True)
def complaints(context: BrowserContext) -> Iterator[Complaints]:
    """Every journey fails on a console error, an uncaught error or a breach of the content policy."""
    heard = Complaints()
    context.set_default_timeout(60_000)
    context.on("page", heard.listen_to)
    yield heard
    assert heard.unexpected == []
