"""The case log by keyboard: a row added and filled, a fault beside its field, steps taken back, a pasted table."""

from __future__ import annotations

from playwright.sync_api import Locator, Page, expect

from tests.browser.conftest import Complaints
from tests.browser.serving import Served, come_in


def row(page: Page, code: str) -> Locator:
    return page.locator("[data-row]").filter(has_text=code)


def test_possible_cases_are_written_down_by_keyboard(
    page: Page, served: Served, complaints: Complaints
) -> None:
    complaints.expect("status of 422")
    come_in(page, served)
    page.get_by_role("link", name="Case log").click()
    page.locator("[data-case-log][data-ready]").wait_for()
    expect(page.get_by_text("No possible case yet")).to_be_visible()
    page.get_by_label("Add a case").fill("fa78hk23")
    page.keyboard.press("Enter")
    here = row(page, "FA78HK23")
    expect(here.locator("[data-key=age_months]")).to_be_focused()
    page.keyboard.type("13;8")
    page.keyboard.press("Enter")
    page.keyboard.press("Enter")
    expect(here.locator("[data-key=overjet]")).to_be_focused()
    page.keyboard.type("5,5 mm")
    page.keyboard.press("Tab")
    expect(here.locator("[data-cell=overjet]")).to_have_attribute("data-mark", "saved")
    expect(here.locator("[data-key=overjet]")).to_have_value("5.5")
    expect(here.locator("[data-floor]")).to_contain_text("at least 3")
    expect(here.locator("[data-why]")).to_contain_text("Not asked: eleven things")
    page.keyboard.type("o 2")
    page.keyboard.press("Enter")
    page.keyboard.type("9")
    page.keyboard.press("Enter")
    expect(here.locator("[data-messages]")).to_contain_text("Open teeth: ")
    expect(here.locator("[data-messages]")).to_contain_text("whole number from 1 to 6")
    expect(here.locator("[data-key=open_teeth]")).to_have_value("9")
    here.locator("[data-key=open_teeth]").fill("4")
    page.keyboard.press("Enter")
    expect(here.locator("[data-floor]")).to_contain_text("at least 8")
    expect(here.locator("[data-messages]")).to_be_hidden()
    here.locator("[data-key=molar_right]").select_option("full2")
    expect(here.locator("[data-floor]")).to_contain_text("at least 12")

    page.get_by_role("button", name="Undo").click()
    expect(here.locator("[data-floor]")).to_contain_text("at least 8")
    expect(page.locator("[data-said]")).to_contain_text("Taken back: FA78HK23: molar right")
    page.get_by_role("button", name="Delete FA78HK23").click()
    expect(here).to_have_count(0)
    page.get_by_role("button", name="Undo").click()
    expect(here.locator("[data-key=age_months]")).to_have_value("13 y 8 m")

    page.get_by_role("link", name="Import a table").first.click()
    page.get_by_label("Or cells pasted here").fill("code\tovérjet\toverjet\nAB\t\t4\n")
    page.get_by_role("button", name="Show what it would change").click()
    expect(page.get_by_role("alert")).to_contain_text('Line 2, code: "AB" is not a code')
    page.get_by_label("Or cells pasted here").fill("code\toverjet\tshelf\nPQ34RT67\t4,5\tbox\n\t9\t\n")
    page.get_by_role("button", name="Show what it would change").click()
    page.get_by_label("Leave out column").check()
    page.get_by_role("button", name="Import", exact=True).click()
    expect(row(page, "PQ34RT67").locator("[data-key=overjet]")).to_have_value("4.5")
    assert page.locator("[data-row]").count() == 3
    page.set_viewport_size({"width": 390, "height": 900})
    assert page.evaluate("document.documentElement.scrollWidth") <= 390
