"""Two installations on one machine and one browser: cookies know the machine, not the port."""

from __future__ import annotations

from pathlib import Path

from playwright.sync_api import Page, expect

from demo import scenario
from tests.browser.serving import OVERJET, Served, come_in, measure_overjet, start, start_case, stop
from tests.prepared import furnish


def test_demo_and_own_data_are_used_side_by_side_in_one_browser(
    page: Page, served: Served, tmp_path: Path
) -> None:
    come_in(page, served)
    case = start_case(page)
    process, demo = start(furnish(tmp_path / "demo"), "demo")
    try:
        password = (demo.data / "demo-password").read_text().split("\n")[0]
        other = page.context.new_page()
        other.goto(f"{demo.address}/accounts/login/")
        other.get_by_label("E-mail address").fill(scenario.MANAGER.email)
        other.get_by_label("Password").fill(password)
        other.get_by_label("Password").press("Enter")
        other.get_by_role("button", name="Sign out", exact=True).wait_for()
        measure_overjet(page, case, "6.5")  # a page script, with the token of its own app
        other.reload()
        other.get_by_role("button", name="Sign out", exact=True).click()
        other.get_by_label("E-mail address").wait_for()
        page.reload()
        expect(page.locator(OVERJET)).to_have_value("6.5")
        names = [cookie["name"] for cookie in page.context.cookies()]
        assert len([name for name in names if "_csrf_" in name]) == 2
    finally:
        assert stop(process) == 0
