"""From a folder of photographs to a record in three bands: sending many, keys, sides, turning, frames, not taken."""

from __future__ import annotations

from pathlib import Path

from playwright.sync_api import Locator, Page, expect

from tests.browser.conftest import Complaints
from tests.browser.serving import Served, come_in, start_case
from tests.imaging.made_pictures import corner, jpeg, marked_jpeg, png


def pictures_of_a_new_case(page: Page, served: Served) -> None:
    come_in(page, served)
    start_case(page)
    page.get_by_role("link", name="Pictures", exact=True).click()
    page.locator("#add-form[data-ready]").wait_for()


def made(folder: Path) -> list[Path]:
    """Eight pictures that differ, one with words in every place, one cut off, one of a kind that is not taken."""
    found = []
    for number in range(8):
        file = folder / f"picture {number}.jpg"
        file.write_bytes(marked_jpeg((600, 400)) if number == 4 else jpeg(corner((300 + number, 200))))
        found.append(file)
    half, phone = folder / "half.jpg", folder / "phone.heic"
    half.write_bytes(found[0].read_bytes()[:400])
    phone.write_bytes(b"\x00\x00\x00\x18ftypheic" + bytes(60))
    return [found[0], half, phone, *found[1:]]


def test_many_pictures_are_sent_assigned_by_keys_checked_and_turned(
    page: Page, served: Served, tmp_path: Path
) -> None:
    pictures_of_a_new_case(page, served)
    page.locator("#id_pictures").set_input_files(made(tmp_path))
    waiting = page.locator(".band-wide [data-picture]")
    expect(waiting).to_have_count(8)
    sent = page.locator("#sent-files li")
    expect(sent).to_have_count(10)
    expect(sent.nth(1)).to_contain_text("Refused: The file is incomplete")
    expect(sent.nth(2)).to_contain_text("Refused: This HEIC file cannot be read")

    waiting.first.focus()
    for done, key in enumerate("12345", start=1):
        page.keyboard.press(key)
        expect(waiting).to_have_count(8 - done)
        expect(waiting.first).to_be_focused()
    expect(page.locator("#board")).to_contain_text("5 of 8 usual views")

    lower = page.locator("#place-lower")
    lower.get_by_text("Not taken").click()
    lower.get_by_role("button", name="State this").click()
    expect(lower).to_contain_text("no clinical indication")
    expect(page.locator("#board")).to_contain_text("6 of 8 usual views")

    page.locator("#place-front .card-image").click()
    page.get_by_role("button", name="Mirror").click()
    expect(page.locator(".done-list")).to_contain_text("Mirrored left to right")
    page.get_by_role("button", name="Undo the last one").click()
    expect(page.locator(".done-list")).to_have_count(0)
    page.get_by_label("right of the picture").check()
    page.get_by_label("there is no such mark").check()
    page.get_by_role("button", name="Keep the answers").click()
    expect(page.get_by_text("here it is a mirror image")).to_be_visible()
    page.get_by_label("left of the picture").check()
    page.get_by_label("there is no such mark").check()
    page.get_by_role("button", name="Keep the answers").click()
    expect(page.get_by_text("Right and left are checked.")).to_be_visible()

    page.get_by_role("link", name="Delete this picture").click()
    page.get_by_role("button", name="Delete the picture").click()
    expect(page.locator("#board")).to_contain_text("5 of 8 usual views")


DROP = """([name, bytes]) => {
    const carried = new DataTransfer();
    carried.items.add(new File([Uint8Array.from(bytes)], name));
    for (const kind of ["dragover", "drop"])
        document.getElementById("add-form").dispatchEvent(
            new DragEvent(kind, { bubbles: true, cancelable: true, dataTransfer: carried }));
}"""


def test_a_dropped_picture_is_added(page: Page, served: Served) -> None:
    pictures_of_a_new_case(page, served)
    page.evaluate(DROP, ["Doe Jane 2001-02-03 smile.jpg", list(jpeg(corner((320, 200))))])
    expect(page.locator(".band-wide [data-picture]")).to_have_count(1)
    expect(page.locator("#sent-files")).to_contain_text("looks like a person or a date")


def one_picture(page: Page, served: Served, tmp_path: Path, view: str, label: str) -> None:
    """A picture of 1000 by 600 in a view of a new case; ends on its own page."""
    pictures_of_a_new_case(page, served)
    file = tmp_path / "one.png"
    file.write_bytes(png(corner((1000, 600))))
    page.locator("#id_pictures").set_input_files([file])
    card = page.locator(".band-wide [data-picture]")
    expect(card).to_have_count(1)
    card.get_by_label("View of this picture").select_option(view)
    card.get_by_role("button", name="Assign", exact=True).click()
    page.locator(f"#place-{view} .card-image").click()
    page.get_by_role("heading", name=label, level=1).wait_for()
    page.locator(".picture-page[data-ready]").wait_for()


def opened(page: Page, kind: str) -> Locator:
    """The layer over the picture, after crop or mask was opened and the picture stands still."""
    page.locator(f"[data-frame={kind}] summary").click()
    layer = page.locator(f".frame-layer[data-kind={kind}]")
    layer.wait_for()
    page.evaluate("() => new Promise((done) => requestAnimationFrame(() => requestAnimationFrame(done)))")
    return layer


def spot(layer: Locator, across: float, down: float) -> tuple[float, float]:
    """A place on the picture in pixels of the window, from per cent."""
    box = layer.bounding_box()
    assert box is not None
    return box["x"] + box["width"] * across / 100, box["y"] + box["height"] * down / 100


def drag(page: Page, start: tuple[float, float], end: tuple[float, float]) -> None:
    page.mouse.move(*start)
    page.mouse.down()
    page.mouse.move((start[0] + end[0]) / 2, (start[1] + end[1]) / 2)
    page.mouse.move(*end)
    page.mouse.up()


def edges(page: Page, kind: str) -> list[float]:
    return [
        float(page.locator(f"#{kind}-{edge}").input_value()) for edge in ("left", "right", "top", "bottom")
    ]


def near(found: list[float], wanted: list[float]) -> bool:
    """Within half a per cent: a pixel of the window is no tenth of a per cent."""
    return all(abs(a - b) <= 0.5 for a, b in zip(found, wanted, strict=True))


def test_a_crop_is_drawn_moved_pulled_nudged_called_off_and_done(
    page: Page, served: Served, tmp_path: Path
) -> None:
    one_picture(page, served, tmp_path, "front", "Front")
    layer = opened(page, "crop")
    drag(page, spot(layer, 20, 30), spot(layer, 70, 80))
    assert near(edges(page, "crop"), [20, 30, 30, 20])
    drag(page, spot(layer, 45, 50), spot(layer, 35, 40))
    assert near(edges(page, "crop"), [10, 40, 20, 30])
    drag(page, spot(layer, 10, 20), spot(layer, 5, 0))
    assert near(edges(page, "crop"), [5, 40, 0, 30])

    page.locator("#crop-right").fill("25,5")
    right = page.get_by_role("slider", name="Right edge of the frame")
    expect(right).to_have_attribute("aria-valuenow", "25.5")
    right.focus()
    page.keyboard.press("ArrowLeft")
    page.keyboard.press("Shift+ArrowLeft")
    page.keyboard.press("ArrowUp")
    assert edges(page, "crop")[1] == 26.6
    expect(right).to_have_attribute("aria-valuetext", "26.6 per cent from the right")

    before = edges(page, "crop")
    page.mouse.move(*spot(layer, 40, 40))
    page.mouse.down()
    page.mouse.move(*spot(layer, 60, 60))
    assert edges(page, "crop") != before
    page.keyboard.press("Escape")
    assert edges(page, "crop") == before, "a drag that is called off leaves the frame as it was"
    page.mouse.up()
    assert edges(page, "crop") == before

    for edge, value in (("left", "10"), ("right", "0"), ("top", "0"), ("bottom", "50")):
        page.locator(f"#crop-{edge}").fill(value)
    page.locator("[data-frame=crop]").get_by_role("button", name="Crop").click()
    expect(page.locator(".done-list")).to_contain_text("Cropped by 10 % from the left, 50 % from the bottom")
    page.locator(".picture-page[data-ready]").wait_for()
    page.wait_for_function("document.querySelector('#large-picture img').complete")
    assert page.locator("#large-picture img").evaluate("one => [one.naturalWidth, one.naturalHeight]") == [
        900,
        300,
    ]

    opened(page, "crop")
    page.locator("#crop-left").fill("20")
    page.keyboard.press("Escape")
    expect(page.locator(".frame-layer")).to_have_count(0)
    expect(page.locator("[data-frame=crop] summary")).to_be_focused()
    assert edges(page, "crop") == [0, 0, 0, 0]


def test_a_mask_is_placed_only_with_the_statement_and_nothing_typed_is_lost(
    page: Page, served: Served, tmp_path: Path, complaints: Complaints
) -> None:
    complaints.expect("422")
    one_picture(page, served, tmp_path, "panoramic", "Panoramic radiograph")
    layer = opened(page, "mask")
    expect(layer.locator(".frame-box")).to_be_hidden()
    drag(page, spot(layer, 60, 2), spot(layer, 98, 12))
    placed = edges(page, "mask")
    assert near(placed, [60, 2, 2, 88])
    form = page.locator("[data-frame=mask]")
    with page.expect_navigation():
        form.get_by_role("button", name="Mask").click()
    expect(form).to_contain_text("state that it lies outside the anatomy")
    expect(form.get_by_label("lies outside the anatomy")).to_be_focused()
    assert edges(page, "mask") == placed
    expect(page.locator(".frame-layer[data-kind=mask] .frame-box")).to_be_visible()
    form.get_by_label("lies outside the anatomy").check()
    with page.expect_navigation():
        form.get_by_role("button", name="Mask").click()
    expect(page.locator(".done-list")).to_contain_text("Masked with one grey outside the anatomy")

    page.get_by_label("I have looked at the whole picture").check()
    with page.expect_navigation():
        page.get_by_role("button", name="Keep this statement").click()
    expect(page.locator("[aria-labelledby=text]")).to_contain_text("Ada First stated on")
    with page.expect_navigation():
        page.get_by_role("button", name="Undo the last one").click()
    expect(page.get_by_label("I have looked at the whole picture")).not_to_be_checked()


def test_a_frame_is_drawn_with_finger_and_pen_on_a_narrow_screen(
    page: Page, served: Served, tmp_path: Path
) -> None:
    page.set_viewport_size({"width": 390, "height": 800})
    one_picture(page, served, tmp_path, "front", "Front")
    layer = opened(page, "crop")
    assert page.evaluate("document.documentElement.scrollWidth <= innerWidth")
    expect(layer).to_be_in_viewport(ratio=1)
    expect(page.locator("#crop-left")).to_be_in_viewport()
    devices = page.context.new_cdp_session(page)

    def touch(kind: str, *points: tuple[float, float]) -> None:
        devices.send(
            "Input.dispatchTouchEvent", {"type": kind, "touchPoints": [{"x": x, "y": y} for x, y in points]}
        )

    touch("touchStart", spot(layer, 10, 10))
    touch("touchMove", spot(layer, 40, 40))
    touch("touchMove", spot(layer, 60, 80))
    touch("touchEnd")
    assert near(edges(page, "crop"), [10, 40, 10, 20])

    x, y = spot(layer, 35, 45)
    to_x, to_y = spot(layer, 55, 45)
    for kind, at, pressed in (("mouseMoved", x, 0), ("mousePressed", x, 1), ("mouseMoved", to_x, 1)):
        devices.send(
            "Input.dispatchMouseEvent",
            {
                "type": kind,
                "x": at,
                "y": to_y,
                "button": "left" if pressed else "none",
                "buttons": pressed,
                "clickCount": 1,
                "pointerType": "pen",
            },
        )
    assert near(edges(page, "crop"), [30, 20, 10, 20])
    assert abs(y - to_y) < 1


def test_enter_takes_the_next_free_view_and_a_record_may_lie_elsewhere(
    page: Page, served: Served, tmp_path: Path
) -> None:
    pictures_of_a_new_case(page, served)
    smiling = page.locator("#place-face_smiling")
    smiling.get_by_text("Taken, not filed here").click()
    smiling.get_by_label("Where it is, in your words").fill("shelf 4")
    smiling.get_by_role("button", name="State this").click()
    expect(smiling).to_contain_text("taken, not filed here shelf 4")
    files = []
    for number in range(3):
        files.append(tmp_path / f"{number}.jpg")
        files[-1].write_bytes(jpeg(corner((300 + number, 200))))
    page.locator("#id_pictures").set_input_files(files)
    waiting = page.locator(".band-wide [data-picture]")
    expect(waiting).to_have_count(3)
    expect(page.locator("#board")).to_contain_text("now Face at rest")
    waiting.first.focus()
    for left, view in ((2, "face_rest"), (1, "profile")):
        page.keyboard.press("Enter")
        expect(waiting).to_have_count(left)
        expect(page.locator(f"#place-{view} [data-picture]")).to_have_count(1)
        expect(waiting.first).to_be_focused()
    waiting.first.get_by_role("button", name="Next free view: Right side").click()
    expect(page.locator("#place-right [data-picture]")).to_have_count(1)
    expect(page.locator("#board")).to_contain_text("4 of 8 usual views")
