"""Measuring records again, blind: begun early with a reason, entered with the keyboard, handed in, held side by side."""

from __future__ import annotations

from playwright.sync_api import Page, expect

from tests.browser.conftest import Complaints
from tests.browser.serving import Served, come_in, start_case
from tests.browser.test_measuring import cell, enter, field


def test_records_are_measured_again_blind(page: Page, served: Served, complaints: Complaints) -> None:
    complaints.expect("status of 422")
    complaints.expect("status of 423")
    come_in(page, served)
    start_case(page)
    case = page.url
    page.get_by_role("link", name="Measure").first.click()
    page.locator("[data-measure][data-ready]").wait_for()
    enter(page, "overjet-11-1", "6.5")
    expect(cell(page, "overjet-11-1")).to_have_attribute("data-mark", "saved")

    page.goto(case)
    page.get_by_role("link", name="Repeat these measurements").click()
    page.get_by_role("button", name="Begin the repeat").click()
    expect(page.get_by_text("Say in writing why").first).to_be_visible()
    page.get_by_label("Why it begins before it is due").fill("the casts go back")
    page.get_by_role("button", name="Begin the repeat").click()
    page.locator("[data-measure][data-ready]").wait_for()
    repeat = page.url

    expect(field(page, "overjet-11-1")).to_have_value("")
    enter(page, "overjet-11-1", "6,9 mm")
    expect(cell(page, "overjet-11-1")).to_have_attribute("data-mark", "saved")
    page.keyboard.press("Alt+w")  # what if is of the measuring page alone
    page.get_by_role("button", name="Rest none, whole mouth").click()
    expect(page.locator("[data-said]")).to_contain_text("Rest none recorded")
    order = page.locator("[data-field^=overjet-]").evaluate_all("cells => cells.map((c) => c.dataset.site)")
    page.goto(case)
    expect(page.get_by_role("heading", name="Shut for now")).to_be_visible()
    page.get_by_role("link", name="Go on with the repeat").click()
    page.locator("[data-measure][data-ready]").wait_for()
    assert page.url == repeat
    assert order == page.locator("[data-field^=overjet-]").evaluate_all(
        "cells => cells.map((c) => c.dataset.site)"
    )
    expect(field(page, "overjet-11-1")).to_have_value("6.9")

    page.get_by_role("link", name="Hand in").first.click()
    page.get_by_role("button", name="Hand in").click()
    line = page.get_by_role("row", name="Overjet, mm").filter(has_text="6.5")
    expect(line).to_contain_text("0.40")
    page.get_by_role("link", name="My own measuring error").click()
    expect(page.get_by_text("4 more pairs until shown")).to_be_visible()
