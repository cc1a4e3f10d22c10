"""Measuring with the keyboard: what is taken, refused, told, kept through a lost connection and signing out."""

from __future__ import annotations

import re
from pathlib import Path
from urllib.parse import urlsplit

import pytest
from playwright.sync_api import Browser, Locator, Page, ViewportSize, expect

from tests.browser.conftest import Complaints
from tests.browser.serving import Served, come_in, sign_in, start_case

PHONE: ViewportSize = {"width": 390, "height": 800}
MARK = "data-mark"


@pytest.fixture
def measuring(page: Page, served: Served) -> Page:
    """The measuring page of a new case."""
    come_in(page, served)
    start_case(page)
    page.get_by_role("link", name="Measure").first.click()
    page.locator("[data-measure][data-ready]").wait_for()
    return page


def field(page: Page, name: str) -> Locator:
    return page.locator(f"#f-{name}")


def cell(page: Page, name: str) -> Locator:
    return page.locator(f'[data-field="{name}"]')


def message(page: Page, quantity: str) -> Locator:
    return page.locator(f'[data-row="{quantity}"] [data-messages]')


def total(page: Page) -> Locator:
    return page.locator("[data-bar-total]")


def enter(page: Page, name: str, text: str, key: str = "Enter") -> None:
    field(page, name).fill(text)
    field(page, name).press(key)


def test_a_front_row_is_entered_with_the_keyboard_alone(measuring: Page, complaints: Complaints) -> None:
    complaints.expect("status of 422")
    page = measuring
    field(page, "overjet-13-1").focus()
    for text in ("3,5", "11", "3.02", "x2", "e", "1e3"):
        page.keyboard.type(text)
        page.keyboard.press("Enter")
    expect(field(page, "overbite-13-1")).to_be_focused()
    for text in ("o4", "4o", "3.5 mm"):
        page.keyboard.type(text)
        page.keyboard.press("Tab")
    page.keyboard.press("Shift+Enter")
    expect(field(page, "overbite-11-1")).to_be_focused()
    page.keyboard.press("ArrowUp")
    expect(field(page, "overjet-11-1")).to_be_focused()

    for tooth, text in (("13", "3.5"), ("12", "11"), ("11", "3.0"), ("21", "x 2"), ("22", "0")):
        expect(cell(page, f"overjet-{tooth}-1")).to_have_attribute(MARK, "saved")
        expect(field(page, f"overjet-{tooth}-1")).to_have_value(text)
    expect(message(page, "overjet")).to_contain_text("11: 3.02 recorded as 3.0")
    expect(cell(page, "overjet-21-1")).to_contain_text("reverse")
    expect(cell(page, "overjet-22-1")).to_contain_text("edge")
    expect(field(page, "overbite-12-1")).to_have_value("o 4")

    expect(cell(page, "overjet-23-1")).to_have_attribute(MARK, "refused")
    expect(field(page, "overjet-23-1")).to_have_value("1e3")
    expect(message(page, "overjet")).to_contain_text('23: "1e3" is not a number')

    page.reload()
    expect(field(page, "overjet-21-1")).to_have_value("x 2")
    expect(field(page, "overjet-23-1")).to_have_value("")
    expect(total(page)).to_have_text(re.compile(r"at least \d+"))


def test_enter_in_the_last_field_saves_it_and_keeps_it_in_hand(measuring: Page) -> None:
    page = measuring
    enter(page, "added_complexity-mouth-1", "short roots")
    expect(cell(page, "added_complexity-mouth-1")).to_have_attribute(MARK, "saved")
    expect(field(page, "added_complexity-mouth-1")).to_be_focused()
    page.keyboard.press("Enter")
    expect(field(page, "added_complexity-mouth-2")).to_be_focused()


BREAKS = """() => [...document.querySelectorAll('[data-tooth-words]')].filter((place) => {
  if (!place.textContent.trim()) return false;
  const lines = (text, from, to) => {
    const range = document.createRange();
    range.setStart(text, from);
    range.setEnd(text, to);
    return range.getClientRects().length;
  };
  const text = place.firstChild;
  return [...text.data.matchAll(/\\S+/g)].some((word) => lines(text, word.index, word.index + word[0].length) > 1)
    || place.getBoundingClientRect().right > place.parentElement.getBoundingClientRect().right;
}).map((place) => place.textContent)"""


@pytest.mark.parametrize("width", [1280, 390])
def test_words_under_a_tooth_are_not_broken(measuring: Page, width: int) -> None:
    page = measuring
    page.set_viewport_size({"width": width, "height": 900})
    states = {"14": "extracted", "24": "extracted", "34": "extracted", "44": "extracted"}
    for tooth, state in states.items():
        page.locator(f'[data-tooth="{tooth}"]').click()
        field(page, f"missing-{tooth}-1").select_option(state)
        expect(cell(page, f"missing-{tooth}-1")).to_have_attribute(MARK, "saved")
    for quantity in ("anomalous", "transposed", "ankylosed"):
        page.locator('[data-tooth="12"]').click()
        field(page, f"{quantity}-12-1").select_option("yes")
        expect(cell(page, f"{quantity}-12-1")).to_have_attribute(MARK, "saved")
        page.keyboard.press("Escape")
    expect(page.locator('[data-tooth="12"]')).to_contain_text("transposed")
    assert page.evaluate(BREAKS) == []
    assert page.evaluate("document.documentElement.scrollWidth <= window.innerWidth")


def test_one_key_states_the_rest_free_and_undo_takes_it_back(measuring: Page) -> None:
    page = measuring
    enter(page, "overjet-11-1", "6")
    expect(total(page)).to_have_text("at least 3")
    field(page, "posterior_open_bite-16-1").focus()
    page.keyboard.press("Alt+n")
    expect(page.locator('[data-statements="posterior_open_bite"]')).to_contain_text("right: none")
    expect(field(page, "posterior_open_bite-15-1")).to_have_attribute("placeholder", "none")
    page.keyboard.press("Alt+m")
    expect(page.locator('[data-statements="missing"]')).to_contain_text("whole mouth: none")
    expect(page.locator('[data-statements="overjet"]')).to_contain_text("whole mouth: rest none")

    page.keyboard.press("Alt+z")
    expect(page.locator('[data-statements="missing"]')).to_be_empty()
    expect(page.locator('[data-statements="posterior_open_bite"]')).to_contain_text("right: none")
    page.locator("h1").click()
    page.keyboard.press("Control+z")
    expect(page.locator('[data-statements="posterior_open_bite"]')).to_be_empty()
    page.get_by_role("button", name="Undo").click()
    expect(field(page, "overjet-11-1")).to_have_value("")
    expect(page.get_by_role("button", name="Undo")).to_be_disabled()


def test_a_lost_connection_marks_the_fields_and_sends_them_again(
    measuring: Page, complaints: Complaints
) -> None:
    complaints.expect("ERR_INTERNET_DISCONNECTED")
    page = measuring
    page.context.set_offline(True)
    enter(page, "overjet-11-1", "4")
    enter(page, "overjet-12-1", "5")
    expect(cell(page, "overjet-11-1")).to_have_attribute(MARK, "waiting")
    expect(cell(page, "overjet-12-1")).to_have_attribute(MARK, "waiting")
    expect(page.locator("[data-queue-bar]")).to_contain_text("2 entries wait")
    # htmx notes the address of the page; nothing typed is kept in the browser's storage.
    kept = page.evaluate("() => Object.entries({...localStorage, ...sessionStorage})")
    assert [
        entry for entry in kept if entry != ["htmx-current-path-for-history", urlsplit(page.url).path]
    ] == []
    page.context.set_offline(False)
    for name in ("overjet-11-1", "overjet-12-1"):
        expect(cell(page, name)).to_have_attribute(MARK, "saved")
    expect(page.locator("[data-queue-bar]")).to_be_hidden()
    page.reload()
    expect(field(page, "overjet-12-1")).to_have_value("5")


def test_a_field_typed_three_times_without_connection_ends_with_the_last_value(
    measuring: Page, complaints: Complaints
) -> None:
    complaints.expect("ERR_INTERNET_DISCONNECTED")
    page = measuring
    page.context.set_offline(True)
    for text in ("4", "5", "6"):
        enter(page, "overjet-11-1", text)
        expect(cell(page, "overjet-11-1")).to_have_attribute(MARK, "waiting")
    page.context.set_offline(False)
    expect(cell(page, "overjet-11-1")).to_have_attribute(MARK, "saved")
    expect(field(page, "overjet-11-1")).to_have_value("6")
    page.keyboard.press("Alt+z")  # 5 never left the page
    expect(field(page, "overjet-11-1")).to_have_value("4")


def test_escape_brings_back_what_is_stored_with_its_words(measuring: Page) -> None:
    page = measuring
    enter(page, "overjet-11-1", "x2")
    expect(cell(page, "overjet-11-1")).to_have_attribute(MARK, "saved")
    field(page, "overjet-11-1").fill("9")
    field(page, "overjet-11-1").press("Escape")
    expect(field(page, "overjet-11-1")).to_have_value("x 2")
    expect(cell(page, "overjet-11-1")).to_contain_text("reverse")
    enter(page, "overjet-11-1", "x 2")  # the same again: nothing is saved, the words stay
    expect(cell(page, "overjet-11-1")).to_have_attribute(MARK, "saved")
    expect(cell(page, "overjet-11-1")).to_contain_text("reverse")
    page.get_by_role("link", name="History").click()
    expect(page.locator(".history > li")).to_have_count(1)


def test_a_lost_answer_makes_no_second_change(measuring: Page, complaints: Complaints) -> None:
    complaints.expect("net::ERR_FAILED")
    page = measuring
    lost: list[str] = []

    def lose_the_first_answer(route: object) -> None:
        post = route.request.post_data  # type: ignore[attr-defined]
        if not lost:
            route.fetch()  # type: ignore[attr-defined]
            lost.append(post)
            route.abort()  # type: ignore[attr-defined]
        else:
            lost.append(post)
            route.continue_()  # type: ignore[attr-defined]

    page.route("**/findings/", lose_the_first_answer)
    enter(page, "overjet-11-1", "4")
    expect(cell(page, "overjet-11-1")).to_have_attribute(MARK, "saved")
    assert lost[0] == lost[1]
    page.get_by_role("link", name="History").click()
    expect(page.locator(".history > li")).to_have_count(1)


def test_a_change_from_elsewhere_is_told_and_either_value_can_be_kept(
    measuring: Page, browser: Browser, served: Served, complaints: Complaints
) -> None:
    complaints.expect("status of 409")
    page = measuring
    elsewhere = browser.new_context(base_url=served.address)
    other = elsewhere.new_page()
    complaints.listen_to(other)
    sign_in(other, served.email)
    other.goto(page.url)
    other.locator("[data-measure][data-ready]").wait_for()
    enter(other, "overjet-11-1", "6.5")
    enter(other, "overjet-12-1", "2")
    for name in ("overjet-11-1", "overjet-12-1"):
        expect(cell(other, name)).to_have_attribute(MARK, "saved")

    enter(page, "overjet-11-1", "7")
    expect(message(page, "overjet")).to_contain_text("Ada First has recorded 6.5 mm")
    expect(field(page, "overjet-11-1")).to_have_value("7")
    page.get_by_role("button", name="Save mine").click()
    expect(cell(page, "overjet-11-1")).to_have_attribute(MARK, "saved")

    enter(other, "overjet-11-1", "8")
    expect(message(other, "overjet")).to_contain_text("Ada First has recorded 7 mm")
    other.get_by_role("button", name="Keep theirs").click()
    expect(field(other, "overjet-11-1")).to_have_value("7")
    elsewhere.close()


def test_signing_out_in_another_tab_loses_nothing_that_was_typed(
    measuring: Page, served: Served, complaints: Complaints
) -> None:
    complaints.expect("status of 401")
    page = measuring
    tab = page.context.new_page()
    tab.goto("/account/")
    tab.get_by_role("button", name="Sign out", exact=True).click()
    tab.get_by_role("heading", name="Sign in").wait_for()

    enter(page, "overjet-11-1", "4")
    enter(page, "overjet-12-1", "3.5")
    expect(page.locator("[data-queue-bar]")).to_contain_text("You are signed out. 2 entries are kept here")
    expect(page.get_by_role("link", name="Sign in on a new page")).to_be_visible()
    expect(field(page, "overjet-12-1")).to_have_value("3.5")

    sign_in(tab, served.email)  # gives the browser a new CSRF token, which the waiting page has to read
    page.get_by_role("button", name="send now").click()
    for name in ("overjet-11-1", "overjet-12-1"):
        expect(cell(page, name)).to_have_attribute(MARK, "saved")
    tab.close()


def test_what_if_scores_without_storing(measuring: Page) -> None:
    page = measuring
    enter(page, "overjet-11-1", "6")
    expect(total(page)).to_have_text("at least 3")
    page.keyboard.press("Alt+w")
    expect(page.locator("[data-what-if-bar]")).to_be_visible()
    enter(page, "overjet-11-1", "11")
    expect(total(page)).to_have_text("at least 5")
    enter(page, "overbite-11-1", "5.5")
    expect(total(page)).to_have_text("at least 8")
    page.get_by_role("button", name="Leave and bring").click()
    expect(total(page)).to_have_text("at least 3")
    expect(field(page, "overjet-11-1")).to_have_value("6")
    expect(field(page, "overbite-11-1")).to_have_value("")
    expect(page.locator('[data-row="palatal_contact"]')).to_have_class(re.compile("quantity-folded"))
    page.get_by_role("link", name="History").click()
    expect(page.locator(".history > li")).to_have_count(1)


def test_a_missing_tooth_leaves_the_rows_and_its_neighbours_close_up(measuring: Page) -> None:
    page = measuring
    page.locator('[data-tooth="14"]').click()
    page.locator("#f-missing-14-1").select_option("extracted")
    expect(cell(page, "posterior_open_bite-14-1")).to_have_count(0)
    expect(field(page, "gap-15-13-1")).to_be_visible()
    expect(page.locator('[data-tooth="14"]')).to_contain_text("extracted")
    page.keyboard.press("Escape")
    page.keyboard.press("Escape")
    expect(page.locator('[data-tooth="14"]')).to_be_focused()
    page.keyboard.press("ArrowRight")
    page.keyboard.press("Enter")
    expect(page.locator("#f-missing-13-1")).to_be_focused()


def test_a_note_is_kept_with_the_value_of_the_field_in_hand(measuring: Page) -> None:
    page = measuring
    enter(page, "posterior_open_bite-15-1", "2", "Tab")
    field(page, "posterior_open_bite-15-1").focus()
    page.keyboard.press("Alt+o")
    page.keyboard.type("to the line of the cusps: 45 is missing")
    page.keyboard.press("Enter")
    expect(field(page, "posterior_open_bite-15-1")).to_be_focused()
    expect(cell(page, "posterior_open_bite-15-1")).to_contain_text("note")
    page.reload()
    page.locator("[data-measure][data-ready]").wait_for()
    field(page, "posterior_open_bite-15-1").focus()
    expect(page.locator('[data-row="posterior_open_bite"] [data-row-note]')).to_have_value(
        "to the line of the cusps: 45 is missing"
    )
    field(page, "posterior_open_bite-15-1").press("Escape")
    expect(page.locator("#w-posterior_open_bite-15-1 [data-word]")).to_have_text("note")
    enter(page, "posterior_open_bite-15-1", "3")
    expect(page.locator("#w-posterior_open_bite-15-1 [data-word]")).to_have_text("note")


def test_a_telephone_shows_everything_without_scrolling_sideways(measuring: Page) -> None:
    page = measuring
    page.set_viewport_size(PHONE)
    field(page, "overjet-11-1").fill("3")
    page.locator('[data-row="overjet"]').get_by_role("button", name="reverse").click()
    expect(field(page, "overjet-11-1")).to_have_value("x 3")
    field(page, "overjet-11-1").press("Enter")
    expect(cell(page, "overjet-11-1")).to_have_attribute(MARK, "saved")
    page.locator('[data-tooth="14"]').click()
    assert page.evaluate("document.documentElement.scrollWidth") <= PHONE["width"]
    small = page.evaluate(
        """() => [...document.querySelectorAll('.cell-entry, .measure button')]
             .filter(e => e.checkVisibility() && e.getBoundingClientRect().height < 24).map(e => e.outerHTML.slice(0, 80))"""
    )
    assert [one for one in small if "btn-plain" not in one] == []
    page.mouse.wheel(0, 3000)
    expect(total(page)).to_be_in_viewport()


@pytest.mark.parametrize("paper", ["A4", "Letter"])
def test_the_bench_sheet_prints_on_exactly_two_pages(measuring: Page, paper: str, tmp_path: Path) -> None:
    page = measuring
    page.get_by_role("link", name="Bench sheet to print").click()
    for address in (page.url, "/bench-sheet/?notation=palmer"):
        page.goto(address)
        printed = page.pdf(path=tmp_path / "bench.pdf", format=paper)
        assert len(re.findall(rb"/Type\s*/Page\b(?!s)", printed)) == 2
