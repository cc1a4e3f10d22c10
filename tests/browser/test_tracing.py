"""Tracing a radiograph: points by pointer, by keys and by touch, the table they give, undo, outlines, two windows."""

from __future__ import annotations

import json
from collections.abc import Iterator
from pathlib import Path
from typing import Any

import pytest
from PIL import Image
from playwright.sync_api import Browser, Page, expect

from tests.browser.conftest import Complaints
from tests.browser.serving import Served, begin_tracing, come_in, start_case
from tests.imaging.cephalometry.faces import ORDINARY
from tests.imaging.made_pictures import png

SIZE = (1000, 1050)
PIXELS_PER_MM = 5


def original(key: str) -> tuple[float, float]:
    """Where a point of the ordinary face lies on the picture, y down."""
    x, y = ORDINARY[key]
    return 350 + PIXELS_PER_MM * x, 320 - PIXELS_PER_MM * y


def begin(page: Page, served: Served, folder: Path) -> None:
    """A new case with a plain lateral radiograph, and its tracing begun, facing right."""
    come_in(page, served)
    file = folder / "lateral.png"
    file.write_bytes(png(Image.new("L", SIZE, 90)))
    begin_tracing(page, start_case(page), file)


def on_screen(page: Page, x: float, y: float) -> tuple[float, float]:
    """Where a pixel of the original lies in the window."""
    found: list[float] = page.evaluate(
        """([x, y]) => {
            const ground = document.querySelector("[data-ground]").getBoundingClientRect();
            const picture = document.querySelector("[data-ground] img").getBoundingClientRect();
            return [picture.left + x * picture.width / 1000, picture.top + y * picture.height / 1050, ground.left];
        }""",
        [x, y],
    )
    return found[0], found[1]


def shown_width(page: Page) -> float:
    box = page.locator("[data-ground] img").bounding_box()
    assert box is not None
    return box["width"]


def place(page: Page, key: str) -> None:
    page.locator(f'[data-point="{key}"]').click()
    page.mouse.click(*on_screen(page, *original(key)))
    saved(page)


def saved(page: Page) -> None:
    expect(page.locator("[data-saved]")).to_have_text("saved")


def told(page: Page, key: str) -> str:
    return page.locator(f'[data-value="{key}"]').first.text_content() or ""


def state_of(page: Page) -> dict[str, Any]:
    """What the server says of the tracing, from the page loaded anew."""
    page.reload()
    page.locator("[data-tracing][data-ready]").wait_for()
    found: dict[str, Any] = json.loads(page.locator("#tracing-state").text_content() or "")
    return found


def test_points_are_placed_by_pointer_and_the_table_reads_what_the_server_measures(
    page: Page, served: Served, tmp_path: Path
) -> None:
    begin(page, served, tmp_path)
    expect(page.locator("[data-count]")).to_have_text("0 of 45 points")
    for key in ("A", "N", "B", "S", "Go", "Me", "L1", "L1A"):
        place(page, key)
    expect(page.locator("[data-frankfort]")).to_contain_text("Po and Or missing")
    page.mouse.move(*on_screen(page, *original("S")))
    whole = shown_width(page)
    page.mouse.wheel(0, -900)
    assert shown_width(page) > 3 * whole
    x, y = on_screen(page, *original("S"))
    page.mouse.move(x + 60, y + 60)
    page.mouse.down()
    page.mouse.move(x + 90, y + 40, steps=3)
    page.mouse.up()
    moved = on_screen(page, *original("S"))
    assert (round(moved[0] - x), round(moved[1] - y)) == (30, -20)
    page.get_by_role("button", name="Whole picture").click()

    page.get_by_role("tab", name="Measures").click()
    assert abs(float(told(page, "anb")) - 2.0) < 0.8
    page.mouse.move(*on_screen(page, *original("A")))
    page.mouse.down()
    x, y = on_screen(page, *original("A"))
    page.mouse.move(x + 10, y, steps=4)
    dragged = float(told(page, "anb"))
    assert dragged > 3
    page.mouse.up()
    saved(page)
    values = state_of(page)["values"]
    assert len(values) == 9
    page.get_by_role("tab", name="Measures").click()
    for key, one in values.items():
        assert abs(float(told(page, key).replace("−", "-")) - one["value"]) <= 0.0501, key
    expect(page.locator('[data-measures] a[href$="/scale/"]').first).to_have_text("not calibrated")

    page.get_by_role("tab", name="Findings").click()
    page.get_by_role("button", name="Take over ANB, SN-MP and IMPA").click()
    expect(page.locator("[data-said]")).to_contain_text("3 findings taken over")
    expect(page.locator('[data-offer="anb"]')).to_contain_text("the same")
    page.get_by_role("tab", name="Points").click()
    page.get_by_role("button", name="Undo").click()
    expect(page.get_by_role("tab", name="Findings")).to_have_text("Findings 1 changed")
    page.get_by_role("tab", name="Findings").click()
    expect(page.locator('[data-offer="anb"]')).to_contain_text("changed since")
    page.get_by_role("button", name="Redo").click()
    expect(page.locator('[data-offer="anb"]')).to_contain_text("the same")
    expect(page.locator("[data-changed-tab]")).to_be_hidden()


def test_a_tracing_is_made_with_keys_alone(page: Page, served: Served, tmp_path: Path) -> None:
    begin(page, served, tmp_path)
    page.keyboard.press("/")
    expect(page.locator("[data-search]")).to_be_focused()
    page.keyboard.type("pog'")
    page.keyboard.press("Enter")
    expect(page.locator("[data-key]")).to_have_text("Pog'")
    expect(page.locator("[data-ground]")).to_be_focused()
    page.keyboard.press("+")
    page.keyboard.press("ArrowDown")
    page.keyboard.press("Enter")
    saved(page)
    expect(page.locator('[data-point="Pog\'"] [data-words]')).to_have_text("placed")
    before = state_of(page)["points"]["Pog'"]
    page.locator('[data-point="Pog\'"]').focus()
    page.keyboard.press("Enter")
    for keys in ("Shift+ArrowRight", "ArrowUp", "Alt+ArrowLeft"):
        page.keyboard.press(keys)
    page.keyboard.press("u")
    saved(page)
    after = state_of(page)["points"]["Pog'"]
    assert after["uncertain"]
    assert round(after["x"] - before["x"], 2) == 9.9
    assert round(after["y"] - before["y"], 2) == -1
    page.locator('[data-point="Pog\'"]').focus()
    page.keyboard.press("Enter")
    page.keyboard.press("Delete")
    expect(page.locator("[data-count]")).to_have_text("0 of 45 points")
    page.keyboard.press("Control+z")
    expect(page.locator("[data-count]")).to_have_text("1 of 45 points")
    page.keyboard.press("Control+Shift+z")
    expect(page.locator("[data-count]")).to_have_text("0 of 45 points")


@pytest.fixture
def phone(page: Page, browser: Browser, served: Served, complaints: Complaints) -> Iterator[Page]:
    """A narrow screen that is touched, signed in as the person of `page`."""
    come_in(page, served)
    context = browser.new_context(
        base_url=served.address,
        storage_state=page.context.storage_state(),
        viewport={"width": 390, "height": 844},
        has_touch=True,
        is_mobile=True,
    )
    touched = context.new_page()
    complaints.listen_to(touched)
    yield touched
    context.close()


def test_by_touch_a_tap_places_and_a_press_held_still_enlarges_and_lifts(
    page: Page, phone: Page, served: Served, tmp_path: Path
) -> None:
    begin(page, served, tmp_path)
    phone.goto(page.url)
    phone.locator("[data-tracing][data-ready]").wait_for()
    assert phone.evaluate("document.documentElement.scrollWidth") <= 390
    phone.locator('[data-point="S"]').tap()
    x, y = on_screen(phone, *original("S"))
    phone.touchscreen.tap(x, y)
    saved(phone)
    tapped = state_of(phone)["points"]["S"]
    assert abs(tapped["x"] - original("S")[0]) < 5

    phone.locator('[data-point="N"]').tap()
    x, y = on_screen(phone, *original("N"))
    finger = phone.context.new_cdp_session(phone)
    finger.send("Input.dispatchTouchEvent", {"type": "touchStart", "touchPoints": [{"x": x, "y": y}]})
    expect(phone.locator(".aim")).to_be_visible()
    large = shown_width(phone)
    finger.send("Input.dispatchTouchEvent", {"type": "touchMove", "touchPoints": [{"x": x + 12, "y": y}]})
    finger.send("Input.dispatchTouchEvent", {"type": "touchEnd", "touchPoints": []})
    saved(phone)
    assert large > 3 * shown_width(phone)
    held = state_of(phone)["points"]["N"]
    assert abs(held["y"] - original("N")[1]) < 12
    assert 3 < held["x"] - original("N")[0] < 30


def test_two_windows_keep_each_others_points_and_ask_about_the_same_one(
    page: Page, served: Served, tmp_path: Path, complaints: Complaints
) -> None:
    complaints.expect("409")
    begin(page, served, tmp_path)
    place(page, "S")
    other = page.context.new_page()
    other.goto(page.url)
    other.locator("[data-tracing][data-ready]").wait_for()
    place(other, "N")
    place(page, "A")
    expect(page.locator("[data-count]")).to_have_text("3 of 45 points")

    for window in (other, page):
        window.locator('[data-point="S"]').click()
        window.keyboard.press("Shift+ArrowRight" if window is other else "Shift+ArrowLeft")
        if window is other:
            saved(other)
    question = page.locator("[data-detail] [data-mark]")
    expect(question).to_contain_text("S was changed in another window meanwhile")
    question.get_by_role("button", name="Keep the other").click()
    expect(question).to_be_hidden()
    assert state_of(page)["points"]["S"] == state_of(other)["points"]["S"]


def test_an_outline_takes_knots_in_any_order_and_follows_a_landmark(
    page: Page, served: Served, tmp_path: Path
) -> None:
    begin(page, served, tmp_path)
    place(page, "N")
    page.get_by_role("tab", name="Outlines").click()
    page.get_by_role("button", name="Cranial base").click()
    for x, y in ((300, 330), (500, 300), (400, 315)):
        page.mouse.click(*on_screen(page, x, y))
    page.mouse.click(*on_screen(page, *original("N")))
    saved(page)
    row = state_of(page)["outlines"]["cranial_base"]
    assert row[-1] == "N"
    assert [round(knot[0], -1) for knot in row[:-1]] == [300, 400, 500]
    page.get_by_role("tab", name="Outlines").click()
    page.get_by_role("button", name="Cranial base").click()
    for across, down in (original("N"), (400, 315)):
        page.mouse.click(*on_screen(page, across, down))
        page.keyboard.press("Delete")
        saved(page)
    state = state_of(page)
    assert [round(knot[0], -1) for knot in state["outlines"]["cranial_base"]] == [300, 500]
    assert "N" in state["points"]
