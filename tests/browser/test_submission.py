"""From a plan to a submission: the grid, the choice taken, frozen with a reason, answered, the next session."""

from __future__ import annotations

from playwright.sync_api import Page, expect

from tests.browser.conftest import Complaints
from tests.browser.serving import start_case


def test_a_case_is_chosen_handed_in_answered_and_not_proposed_again(
    page: Page, complaints: Complaints
) -> None:
    complaints.expect("status of 422")
    page.goto("/plans/new/")
    page.get_by_label("Name").fill("Quay examination")
    page.get_by_label("Number of slots").fill("2")
    page.get_by_role("button", name="Begin").click()
    page.get_by_role("button", name="Keep", exact=True).click()
    expect(page.get_by_text("Version 1 is kept.")).to_be_visible()
    start_case(page)
    page.goto("/")
    page.get_by_role("link", name="Plan", exact=True).first.click()
    page.get_by_role("link", name="Choose Quay examination, version 1").click()
    page.get_by_role("button", name="Choose this version").click()

    page.get_by_role("link", name="Slots by cases").click()
    cell = page.get_by_role("link", name="met", exact=True).first
    page.set_viewport_size({"width": 390, "height": 800})
    assert page.evaluate("document.documentElement.scrollWidth <= window.innerWidth")
    page.set_viewport_size({"width": 1280, "height": 900})
    cell.click()
    expect(page.get_by_role("heading", name="Slot 1 met")).to_be_visible()
    page.get_by_role("button", name="Fix this case here").last.click()
    page.get_by_role("link", name="Slots by cases").click()
    page.get_by_role("link", name="Best choice").first.click()
    expect(page.get_by_text("1 of 2 slots filled")).to_be_visible()
    page.get_by_role("button", name="Take this choice").click()
    expect(page.get_by_role("button", name="Give them their former states")).to_be_visible()

    page.get_by_role("link", name="Submissions").click()
    page.get_by_role("link", name="Freeze a submission").click()
    expect(page.get_by_text("Without a case: Slot 1.")).to_be_visible()
    page.get_by_label("Session").fill("Spring session")
    page.get_by_role("button", name="Freeze").click()
    expect(page.get_by_text("Nothing was frozen.")).to_be_visible()
    expect(page.get_by_label("Session")).to_have_value("Spring session")
    page.get_by_label("Why it is handed in as it is").fill("one slot is left for next year")
    page.get_by_role("button", name="Freeze").click()
    expect(page.get_by_text("one slot is left for next year")).to_be_visible()

    page.get_by_role("link", name="Type what came back").click()
    page.get_by_label("Answer").select_option("accepted")
    page.get_by_role("button", name="Keep").click()
    page.get_by_role("button", name="Start the next session from this one").click()
    expect(page.get_by_text("accepted in Spring session")).to_be_visible()
    expect(page.get_by_text("0 of 2 slots filled")).to_be_visible()
