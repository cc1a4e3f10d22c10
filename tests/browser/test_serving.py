"""What the person who starts the app relies on: it answers, comes back with the same data, and stops when told."""

from __future__ import annotations

import signal
import stat
from pathlib import Path

import pytest
from playwright.sync_api import Page, expect

from tests.browser.conftest import Complaints
from tests.browser.serving import Served, begin_as_first_person, start, stop


@pytest.fixture(scope="module")
def served(fresh_app: Served) -> Served:
    return fresh_app


def test_the_first_person_comes_in_by_the_printed_code(page: Page, served: Served) -> None:
    assert served.setup_code
    page.goto("/")
    expect(page).to_have_url(f"{served.address}/first-run/")
    begin_as_first_person(page, served)
    page.goto("/account/")
    expect(page.get_by_role("heading", level=1)).to_be_visible()


def test_pages_are_set_in_the_typeface_that_comes_with_the_app(page: Page) -> None:
    page.goto("/accounts/login/")
    loaded = page.evaluate(
        "() => document.fonts.ready.then(() => [...document.fonts]"
        ".filter(face => face.status === 'loaded').map(face => face.family))"
    )
    assert any("Source Sans 3" in family for family in loaded)


def test_an_inline_style_is_refused_by_the_browser(page: Page, complaints: Complaints) -> None:
    complaints.expect("Content Security Policy")
    page.goto("/accounts/login/")
    page.evaluate("() => document.body.setAttribute('style', 'color: red')")
    colour = page.evaluate(
        "() => { const s = document.createElement('style'); s.textContent = 'body{color:red}';"
        " document.head.append(s); return getComputedStyle(document.body).color; }"
    )
    assert colour != "rgb(255, 0, 0)"
    assert any("Content Security Policy" in line for line in complaints.found)


def test_the_app_starts_on_nothing_stops_when_told_and_starts_again_without_a_new_key(
    tmp_path: Path, served: Served
) -> None:
    data = tmp_path / "Fälle neu"  # a space and a letter beyond ASCII
    process, first = start(data)
    assert first.address != served.address  # the other app's port is passed over
    assert first.setup_code
    assert stat.S_IMODE((data / "secret-key").stat().st_mode) == 0o600
    key = (data / "secret-key").read_text()
    process.send_signal(signal.SIGINT)
    assert process.wait(20) == 0
    process, _second = start(data)
    assert (data / "secret-key").read_text() == key
    assert stop(process) == 0  # by SIGTERM


def test_the_demo_refuses_the_folder_of_somebody_else(page: Page, served: Served) -> None:
    page.goto("/first-run/")
    if page.url.endswith("/first-run/"):
        begin_as_first_person(page, served)
    with pytest.raises(AssertionError, match="not the demo's"):
        stop(start(served.data, "demo")[0])
