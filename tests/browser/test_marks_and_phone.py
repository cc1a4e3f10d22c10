"""Marks made with a real pointer and taken over as a finding; a witness picture handed in by a phone."""

from __future__ import annotations

import re
from pathlib import Path

from playwright.sync_api import Browser, Locator, Page, expect

from tests.browser.conftest import Complaints
from tests.browser.serving import Served, come_in, measure_overjet, start_case
from tests.imaging.made_pictures import corner, jpeg

WIDE, HIGH = 1200, 900


def upper_arch(page: Page, served: Served, folder: Path) -> None:
    """A new case with one picture of the upper arch; ends on the page of its marks."""
    come_in(page, served)
    start_case(page)
    page.get_by_role("link", name="Pictures", exact=True).click()
    page.locator("#add-form[data-ready]").wait_for()
    file = folder / "upper.jpg"
    file.write_bytes(jpeg(corner((WIDE, HIGH))))
    page.locator("#id_pictures").set_input_files(file)
    waiting = page.locator(".band-wide [data-picture]")
    expect(waiting).to_have_count(1)
    waiting.first.focus()
    page.keyboard.press("7")
    page.locator("#place-upper .card-image").click()
    page.get_by_role("link", name="Marks", exact=True).click()
    page.locator("[data-marks][data-ready]").wait_for()


def on_screen(page: Page, x: float, y: float) -> tuple[float, float]:
    """Where a pixel of the whole picture lies on the screen."""
    box = page.locator("[data-ground]").bounding_box()
    assert box is not None
    scale = min(box["width"] / WIDE, box["height"] / HIGH)
    left, top = box["x"] + (box["width"] - scale * WIDE) / 2, box["y"] + (box["height"] - scale * HIGH) / 2
    return left + scale * x, top + scale * y


def press(page: Page, *spots: tuple[float, float]) -> None:
    for spot in spots:
        page.mouse.click(*on_screen(page, *spot))


def row(page: Page, number: int) -> Locator:
    return page.locator(".mark-row").nth(number)


def degrees(page: Page) -> float:
    """The angle of the first mark, once it is saved."""
    value = row(page, 0).locator("[data-value]")
    expect(value).to_have_text(re.compile(r"^[0-9.]+°$"))
    return float(value.inner_text().rstrip("°"))


def take_over_once(page: Page) -> None:
    """Presses "Take over" of the first mark twice at once; the page asks for it once."""
    sent: list[str] = []
    page.on("request", lambda request: sent.append(request.url) if request.url.endswith("/take/") else None)
    row(page, 0).get_by_role("button", name="Take over").dblclick()
    expect(row(page, 0)).to_contain_text("stands on the sheet")
    page.wait_for_load_state("networkidle")
    assert len(sent) == 1


def test_marks_are_made_moved_stepped_back_kept_offline_and_taken_over(
    page: Page, served: Served, tmp_path: Path, complaints: Complaints
) -> None:
    complaints.expect("ERR_INTERNET_DISCONNECTED")
    complaints.expect("status of 422")
    upper_arch(page, served, tmp_path)
    said = page.locator("[data-said]")
    page.get_by_role("button", name="Angle", exact=True).click()
    expect(said).to_contain_text("press the first arm")
    press(page, (600, 300), (300, 300), (300, 600))
    expect(row(page, 0).locator("[data-value]")).to_have_text("90.0°")

    page.get_by_role("button", name="Distance", exact=True).click()
    press(page, (700, 200), (900, 200))
    expect(row(page, 1)).to_contain_text("No length: the picture has no scale.")

    page.keyboard.press("Escape")
    page.mouse.move(*on_screen(page, 600, 300))
    page.mouse.down()
    page.mouse.move(*on_screen(page, 600, 450), steps=4)
    page.mouse.up()
    expect(row(page, 0).locator("[data-value]")).not_to_have_text("90.0°")
    dragged = degrees(page)
    assert 62 < dragged < 65, "atan(150/300) less than a right angle"
    page.keyboard.press("Shift+ArrowUp")
    expect(row(page, 0).locator("[data-value]")).not_to_have_text(re.compile(rf"^({dragged:.1f}°)?$"))
    assert degrees(page) > dragged

    page.get_by_role("button", name="Undo").click()
    expect(row(page, 0).locator("[data-value]")).to_have_text(f"{dragged:.1f}°")
    page.get_by_role("button", name="Undo").click()
    expect(row(page, 0).locator("[data-value]")).to_have_text("90.0°")
    page.get_by_role("button", name="Do again").click()
    expect(row(page, 0).locator("[data-value]")).to_have_text(f"{dragged:.1f}°")

    page.context.set_offline(True)
    name = row(page, 0).get_by_label("Name of the mark")
    name.fill("Turn of 11")
    name.press("Enter")
    expect(page.locator("[data-queue-bar]")).to_contain_text("No connection")
    page.context.set_offline(False)
    # The page may have sent on its own by now and taken the bar away; a press then does nothing.
    page.locator("[data-bar-again]").dispatch_event("click")
    expect(said).to_contain_text("Saved.")
    page.reload()
    expect(row(page, 0).get_by_label("Name of the mark")).to_have_value("Turn of 11")

    row(page, 0).get_by_text("Take over as a finding").click()
    row(page, 0).get_by_label("Where").select_option("11")
    row(page, 0).get_by_role("button", name="Take over").click()
    expect(row(page, 0)).to_contain_text("Choose the direction")
    row(page, 0).get_by_label("Direction").select_option("+")
    take_over_once(page)
    page.reload()
    page.get_by_role("link", name="Measure", exact=True).click()
    page.get_by_role("link", name="Evidence", exact=True).click()
    expect(page.locator("h2")).to_contain_text("Rotation, 11")
    expect(page.locator("svg.evidence-picture circle")).to_have_count(6)


def test_a_phone_hands_in_a_witness_picture_of_a_value(
    page: Page, served: Served, browser: Browser, tmp_path: Path
) -> None:
    come_in(page, served)
    measure_overjet(page, start_case(page), "4.5")
    page.locator("#f-overjet-13-1").focus()
    page.get_by_role("link", name="Add a witness picture of this value by phone").click()
    expect(page.get_by_label("Witness of")).to_have_value("overjet/13/1")
    page.get_by_role("button", name="Show a code").click()
    code = page.locator(".phone-code").inner_text()

    context = browser.new_context(
        base_url=served.address, viewport={"width": 390, "height": 844}, has_touch=True
    )
    phone = context.new_page()
    phone.goto(f"/phone/#{code}")
    expect(phone.get_by_text("Overjet, 13")).to_be_visible()
    assert code not in phone.url
    assert phone.evaluate("document.documentElement.scrollWidth") <= 390
    file = tmp_path / "witness.jpg"
    file.write_bytes(jpeg(corner((640, 480))))
    phone.get_by_label("Picture", exact=True).set_input_files(file)
    phone.get_by_role("button", name="Send the picture").click()
    expect(phone.get_by_role("heading", name="The picture has arrived")).to_be_visible()
    context.close()

    expect(page.locator("#standing")).to_contain_text("Arrived")
    page.get_by_role("link", name="Look at the picture").click()
    expect(page.get_by_role("heading", name="Witness picture")).to_be_visible()
