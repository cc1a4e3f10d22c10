"""A plan from nothing: a slot with alternatives by keyboard, its sentences while one types, faults, order, a version."""

from __future__ import annotations

import re

from playwright.sync_api import Page, expect

from tests.browser.conftest import Complaints


def test_a_slot_is_put_together_and_a_portfolio_held_against_it(page: Page, complaints: Complaints) -> None:
    complaints.expect("status of 422")
    page.goto("/plans/new/")
    page.get_by_label("Name").fill("My examination")
    page.get_by_label("Number of slots").fill("2")
    page.get_by_role("button", name="Begin").click()
    page.get_by_role("link", name="Change slot Slot 1").click()
    page.get_by_label("Label").fill("Hard")

    page.get_by_role("button", name="Add a condition").press("Enter")
    expect(page.get_by_label("What is asked for")).to_be_focused()
    page.get_by_label("What is asked for").select_option("index")
    page.get_by_label("Index", exact=True).select_option("discrepancy")
    page.get_by_label("At least").fill("20")
    says = page.locator("#says-condition")
    expect(says).to_have_text("The discrepancy index before treatment is at least 20.")
    expect(page.get_by_label("At least")).to_be_focused()

    page.get_by_role("button", name="Add a second condition").press("Enter")
    second = page.get_by_label("Condition 2", exact=True)
    expect(second).to_be_focused()
    second.select_option("any")
    inner = page.locator("#at-condition-of-1")
    inner.get_by_label("Condition 2.1").select_option("surgery")
    inner.get_by_label("Condition 2.2").select_option("crossbite")
    inner.get_by_label("Number of teeth, at least").fill("x")
    page.get_by_label("Label").press("Enter")

    expect(page.get_by_text("“x” is not a whole number.")).to_be_visible()
    teeth = page.locator("#at-condition-of-1").get_by_label("Number of teeth, at least")
    expect(teeth).to_be_focused()
    expect(page.get_by_label("Label")).to_have_value("Hard")
    teeth.fill("3")
    expect(page.locator("#says-condition-of-1")).to_have_text(
        re.compile("At least one of these: treatment included jaw surgery; at least three upper teeth")
    )
    page.set_viewport_size({"width": 390, "height": 800})
    assert page.evaluate("document.documentElement.scrollWidth <= window.innerWidth")
    page.set_viewport_size({"width": 1280, "height": 900})
    page.get_by_role("button", name="Save", exact=True).click()

    down = page.get_by_role("button", name="Down slot Hard")
    expect(page.get_by_role("link", name="Change slot Hard")).to_be_focused()
    down.press("Enter")
    expect(page.get_by_role("button", name="Undo: slot “Hard” moved down")).to_be_visible()
    expect(page.get_by_role("button", name="Up slot Hard")).to_be_focused()
    page.get_by_role("button", name="Keep", exact=True).click()
    expect(page.get_by_text("Version 1 is kept.")).to_be_visible()

    page.goto("/")
    page.get_by_role("link", name="Plan", exact=True).first.click()
    page.get_by_role("link", name="Choose My examination, version 1").click()
    page.get_by_role("button", name="Choose this version").click()
    expect(page.get_by_text("version 1, since")).to_be_visible()
    expect(page.get_by_text("At least one of these:")).to_be_visible()
