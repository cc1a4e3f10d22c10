"""Marks on stable structures, and tracing again without sight of the first: placed, undone, kept, compared."""

from __future__ import annotations

from pathlib import Path

from playwright.sync_api import Page, expect

from tests.browser.serving import Served
from tests.browser.test_tracing import begin, on_screen, original, place

FIRST = ("S", "N", "A")


def press(page: Page, x: float, y: float) -> None:
    """Places the chosen spot at a pixel of the original, and waits until it is kept."""
    page.mouse.click(*on_screen(page, x, y))
    expect(page.locator("[data-said]")).to_have_attribute("data-mark", "saved")


def test_a_radiograph_is_marked_and_traced_again(page: Page, served: Served, tmp_path: Path) -> None:
    begin(page, served, tmp_path)
    for key in FIRST:
        place(page, key)

    page.get_by_role("link", name="Stable structures").click()
    ready = page.locator("[data-placing-page][data-ready]")
    ready.wait_for()
    walker = page.locator("[data-key=walker]")
    walker.click()
    expect(page.locator("[data-now-definition]")).to_contain_text("anterior clinoid processes")
    press(page, 380, 305)
    expect(walker).to_contain_text("placed")
    expect(page.locator("[data-now-name]")).to_have_text("Cribriform plate, back")
    page.keyboard.press("Control+z")
    expect(walker).not_to_contain_text("placed")
    page.get_by_role("button", name="Do again").click()
    expect(walker).to_contain_text("placed")
    page.locator("[data-uncertain]").check()
    expect(walker).to_contain_text("uncertain")
    expect(page.locator("[data-said]")).to_have_attribute("data-mark", "saved")
    page.reload()
    ready.wait_for()
    expect(walker).to_contain_text("uncertain")

    page.goto("/repeats/")
    page.get_by_role("button", name="Trace again").click()
    ready.wait_for()
    expect(page.locator(".pin")).to_have_count(0)
    expect(page.locator("[data-key]")).to_have_count(len(FIRST))
    for key in FIRST:
        x, y = original(key)
        press(page, x + 20, y)
    page.locator("[data-key=A]").click()
    page.locator("[data-ground]").focus()
    page.keyboard.press("Shift+ArrowDown")
    page.get_by_role("button", name="Undo").focus()
    expect(page.locator("[data-said]")).to_have_attribute("data-mark", "saved")
    with page.expect_navigation():
        page.get_by_role("button", name="Finish the repeat").click()
    expect(page.get_by_role("heading", name="First tracing and repeat 1")).to_be_visible()
    moved = page.get_by_role("row", name="A", exact=False).filter(
        has=page.get_by_title("Point A (subspinale)")
    )
    forward, up = (float(text.replace("−", "-")) for text in moved.locator("td").all_inner_texts())
    assert abs(forward - 20) < 2.5
    assert abs(up + 10) < 2.5
    page.goto("/repeats/")
    expect(page.get_by_text("1 pair of tracings.")).to_be_visible()
