"""The scale of a picture by hand: two marks clicked, dragged, nudged and typed, by mouse, keys and touch."""

from __future__ import annotations

import io
import re
from pathlib import Path

from PIL import Image, ImageDraw
from playwright.sync_api import Browser, Locator, Page, expect

from tests.browser.conftest import Complaints
from tests.browser.serving import Served, come_in, sign_in, start_case

SIZE = (1200, 900)
FIRST, SECOND = (100, 800), (1100, 800)
"""Marks of a ruler of 100 mm, in pixels of the original: 0.1 mm a pixel."""


def film() -> bytes:
    """A grey picture with a level and an upright ruler of 100 and 50 mm."""
    picture = Image.new("L", SIZE, 60)
    draw = ImageDraw.Draw(picture)
    draw.ellipse((350, 120, 900, 700), fill=150)
    for millimetre in range(0, 101, 10):
        x = FIRST[0] + millimetre * 10
        draw.line((x, FIRST[1] - 12, x, FIRST[1] + 12), fill=250, width=3)
    draw.line((*FIRST, *SECOND), fill=250, width=3)
    draw.line((100, 200, 100, 700), fill=250, width=3)
    to = io.BytesIO()
    picture.save(to, "PNG")
    return to.getvalue()


def picture_of_a_new_case(page: Page, served: Served, folder: Path, key: str) -> str:
    """A picture assigned by a key of the pictures page; ends on its scale, whose address is given."""
    come_in(page, served)
    start_case(page)
    page.get_by_role("link", name="Pictures", exact=True).click()
    page.locator("#add-form[data-ready]").wait_for()
    file = folder / "film.png"
    file.write_bytes(film())
    page.locator("#id_pictures").set_input_files([file])
    waiting = page.locator(".band-wide [data-picture]")
    waiting.first.focus()
    page.keyboard.press(key)
    expect(waiting).to_have_count(0)
    page.locator(".place .card-image").first.click()
    page.get_by_role("navigation", name="What can be done with it").get_by_role("link", name="Scale").click()
    page.get_by_role("heading", name="Scale in use").wait_for()
    page.locator("[data-ground]").scroll_into_view_if_needed()
    return page.url


def spot(page: Page, place: tuple[float, float]) -> tuple[float, float]:
    """Where a place of the original lies on the screen, while the whole picture is shown."""
    box = page.locator("[data-ground] img").bounding_box()
    assert box is not None
    return box["x"] + place[0] * box["width"] / SIZE[0], box["y"] + place[1] * box["height"] / SIZE[1]


def value(page: Page, label: str, ruler: int = 1) -> float:
    return float(page.locator(f'[data-ruler="{ruler}"]').get_by_label(label).input_value())


def result(page: Page) -> Locator:
    return page.locator("[data-result]")


def test_two_clicks_on_a_ruler_give_the_scale_that_is_dragged_nudged_kept_and_undone(
    page: Page, served: Served, tmp_path: Path
) -> None:
    picture_of_a_new_case(page, served, tmp_path, "s")
    expect(page.locator(".scale-now")).to_contain_text("No scale: angles and ratios only, no lengths.")
    expect(page.get_by_role("button", name="Click the two marks in the picture now")).to_be_visible()
    page.get_by_role("button", name="Click the two marks in the picture now").click()
    page.mouse.click(*spot(page, FIRST))
    page.mouse.click(*spot(page, (1000, 800)))
    length = page.locator("#ruler-ruler_1_mm")
    expect(length).to_be_focused()
    page.keyboard.type("100")
    page.get_by_label(re.compile("amid the patient")).check()
    expect(result(page)).to_contain_text("± 0.4 % (1 SD): natural size.")

    page.mouse.move(*spot(page, (1000, 800)))
    page.mouse.down()
    page.mouse.move(*spot(page, (1050, 790)), steps=4)
    page.mouse.move(*spot(page, SECOND), steps=4)
    page.mouse.up()
    assert abs(value(page, "Second mark, across") - SECOND[0]) < 4
    expect(result(page)).to_contain_text(re.compile(r"0\.(0997|0998|0999|1000|1001|1002|1003) mm a pixel"))

    before = value(page, "Second mark, across")
    for _ in range(3):
        page.keyboard.press("ArrowRight")
    page.keyboard.press("Alt+ArrowLeft")
    assert abs(value(page, "Second mark, across") - before - 2.9) < 0.011

    page.locator("#ruler-ruler_1_start_across").fill("100")
    page.locator("#ruler-ruler_1_start_down").fill("800")
    page.locator("#ruler-ruler_1_end_across").fill("1100")
    page.locator("#ruler-ruler_1_end_down").fill("800")
    expect(result(page)).to_contain_text("0.1000 mm a pixel ± 0.4 % (1 SD): natural size.")
    with page.expect_navigation():
        page.locator("[data-rulers]").get_by_role("button", name="Keep this scale").click()
    now = page.locator(".scale-now")
    expect(now).to_contain_text("0.1000 mm a pixel ± 0.4 % (1 SD)")
    expect(now).to_contain_text("A ruler of 100 mm in the picture, lying amid the patient. Kept by Ada First")

    with page.expect_navigation():
        page.get_by_role("button", name="Undo the last statement").click()
    expect(now).to_contain_text("No scale: angles and ratios only")
    with page.expect_navigation():
        page.get_by_role("button", name="Do it again").click()
    expect(now).to_contain_text("0.1000 mm a pixel")
    expect(page.locator("#history + .table-frame tbody tr")).to_have_count(3)


def test_a_short_ruler_and_a_stretched_picture_are_warned_about_at_once(
    page: Page, served: Served, tmp_path: Path
) -> None:
    picture_of_a_new_case(page, served, tmp_path, "s")
    page.get_by_label(re.compile("amid the patient")).check()
    page.mouse.click(*spot(page, (100, 800)))
    page.mouse.click(*spot(page, (300, 800)))
    page.keyboard.type("20")
    expect(result(page)).to_contain_text("Ruler 1 shows 20 mm. Below 30 mm")
    expect(result(page)).to_contain_text("± 2.1 %")
    page.get_by_text("A second ruler, across the first").click()
    page.locator('[data-place="2"]').click()
    page.mouse.click(*spot(page, (100, 200)))
    page.mouse.click(*spot(page, (100, 700)))
    page.keyboard.type("60")
    expect(result(page)).to_contain_text("The two rulers differ by")
    expect(result(page)).to_contain_text("mm across and")


def test_the_keyboard_alone_places_both_marks(page: Page, served: Served, tmp_path: Path) -> None:
    picture_of_a_new_case(page, served, tmp_path, "s")
    ground = page.locator("[data-ground]")
    ground.focus()
    for _ in range(6):
        page.keyboard.press("+")
    page.keyboard.press("Enter")
    for _ in range(4):
        page.keyboard.press("ArrowRight")
    page.keyboard.press("Enter")
    expect(page.locator("#ruler-ruler_1_mm")).to_be_focused()
    assert value(page, "Second mark, across") - value(page, "First mark, across") > 20
    assert value(page, "Second mark, down") == value(page, "First mark, down")


def test_a_refused_scale_says_why_beside_the_field_and_keeps_what_was_typed(
    page: Page, served: Served, complaints: Complaints, tmp_path: Path
) -> None:
    complaints.expect("status of 422")
    picture_of_a_new_case(page, served, tmp_path, "s")
    page.mouse.click(*spot(page, FIRST))
    page.mouse.click(*spot(page, SECOND))
    page.keyboard.type("much")
    with page.expect_navigation():
        page.locator("[data-rulers]").get_by_role("button", name="Keep this scale").click()
    expect(page.locator("[data-ruler='1']")).to_contain_text(
        "much is not taken; a number from 1 to 1000 mm is."
    )
    expect(page.locator("[data-rulers]")).to_contain_text("Choose where the ruler lies")
    assert abs(value(page, "Second mark, across") - SECOND[0]) < 4


def test_on_a_telephone_two_taps_are_enough_and_nothing_is_wider_than_the_screen(
    page: Page, browser: Browser, served: Served, tmp_path: Path
) -> None:
    address = picture_of_a_new_case(page, served, tmp_path, "7")
    context = browser.new_context(
        base_url=served.address, viewport={"width": 390, "height": 800}, has_touch=True, is_mobile=True
    )
    phone = context.new_page()
    sign_in(phone, served.email)
    phone.goto(address)
    expect(phone.locator("[data-rulers]")).to_contain_text("must lie in the very plane that is measured")
    phone.locator("[data-ground]").scroll_into_view_if_needed()
    phone.touchscreen.tap(*spot(phone, (150, 450)))
    phone.touchscreen.tap(*spot(phone, (1050, 450)))
    expect(phone.locator("#ruler-ruler_1_mm")).to_be_focused()
    phone.keyboard.type("10")
    expect(result(phone)).to_contain_text("natural size.")
    expect(result(phone)).to_contain_text("Below 30 mm")
    assert phone.evaluate("document.documentElement.scrollWidth") <= 390
    with phone.expect_navigation():
        phone.locator("[data-rulers]").get_by_role("button", name="Keep this scale").click()
    expect(phone.locator(".scale-now")).to_contain_text("lying in the plane that is measured")
    context.close()
