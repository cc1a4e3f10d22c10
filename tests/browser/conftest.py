"""Browser journeys against the real processes: what `./foliowright serve` starts, on a fresh data folder."""

from __future__ import annotations

import os
import re
import shutil
from collections.abc import Iterator
from typing import Any

import pytest
from playwright.sync_api import BrowserContext, Page

from tests.browser.serving import Served, start, stop


@pytest.fixture(scope="session", autouse=True)
def _django_beside_playwright() -> None:
    """Playwright keeps an event loop in this thread, which Django's safety check would take for async code."""
    os.environ["DJANGO_ALLOW_ASYNC_UNSAFE"] = "true"


@pytest.fixture(scope="module")
def served(tmp_path_factory: pytest.TempPathFactory) -> Iterator[Served]:
    """One app for each file of journeys, from an empty data folder; its log must stay free of errors."""
    data = tmp_path_factory.mktemp("served") / "data"
    process, found = start(data)
    yield found
    assert stop(process) == 0
    log = (data.parent / "data-errors.txt").read_text()
    assert "ERROR" not in log, log
    assert "Traceback" not in log, log


@pytest.fixture(scope="session")
def browser_type_launch_args(browser_type_launch_args: dict[str, Any]) -> dict[str, Any]:
    """Debian's Chromium, without the traffic a browser makes of its own."""
    chromium = shutil.which("chromium")
    if chromium is None:
        pytest.fail("Chromium is needed for the browser journeys: apt-get install chromium")
    return {
        **browser_type_launch_args,
        "executable_path": chromium,
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
def browser_context_args(browser_context_args: dict[str, Any], served: Served) -> dict[str, Any]:
    return {**browser_context_args, "base_url": served.address, "viewport": {"width": 1280, "height": 900}}


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
    context.on("page", heard.listen_to)
    yield heard
    assert heard.unexpected == []
