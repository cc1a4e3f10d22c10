"""The first person comes in by the code, signs out and in, and lets a second person in by a one-time link."""

from __future__ import annotations

import pytest
from playwright.sync_api import Browser, Page, ViewportSize, expect

from tests.browser.conftest import Complaints
from tests.browser.serving import Served, begin_as_first_person, sign_in

PHONE: ViewportSize = {"width": 390, "height": 800}


@pytest.fixture(scope="module")
def served(fresh_app: Served) -> Served:
    return fresh_app


def no_sideways_scroll(page: Page) -> bool:
    return bool(page.evaluate("document.documentElement.scrollWidth <= window.innerWidth"))


def test_first_person_signs_out_and_in_and_lets_a_second_person_in(
    page: Page, served: Served, browser: Browser, complaints: Complaints
) -> None:
    complaints.expect("status of 422")
    page.goto("/first-run/")
    page.get_by_label("Set-up code").fill("2222-2222-2222")
    page.get_by_label("Your name").fill("Ada First")
    page.get_by_role("button", name="Begin").click()
    expect(page.get_by_text("This is not the set-up code")).to_be_visible()
    expect(page.get_by_label("Your name")).to_have_value("Ada First")

    begin_as_first_person(page, served)
    page.get_by_role("button", name="Sign out").click()
    expect(page.get_by_role("heading", name="Sign in")).to_be_visible()
    sign_in(page)

    page.get_by_role("link", name="People").click()
    page.get_by_role("link", name="Add a person").click()
    page.get_by_label("Name").fill("Bo Second")
    page.get_by_label("E-mail address").fill("bo@clinic.example")
    page.get_by_role("button", name="Add and show the link").click()
    link = page.get_by_label("Link").input_value()
    assert link.startswith(served.address + "/welcome/")
    page.context.grant_permissions(["clipboard-read", "clipboard-write"])
    page.get_by_role("button", name="Copy").click()
    expect(page.get_by_text("Copied.")).to_be_visible()
    assert page.evaluate("navigator.clipboard.readText()") == link

    elsewhere = browser.new_context(base_url=served.address, viewport=PHONE)
    theirs = elsewhere.new_page()
    complaints.listen_to(theirs)
    theirs.goto(link)
    expect(theirs.get_by_text("Bo Second")).to_be_visible()
    for name in ("#id_password", "#id_password_again"):
        theirs.locator(name).fill("red wax and floss 5")
    theirs.get_by_role("button", name="Set the password").click()
    expect(theirs.get_by_role("heading", name="Sign in")).to_be_visible()
    sign_in(theirs, "bo@clinic.example", "red wax and floss 5")
    expect(theirs.get_by_role("link", name="People")).to_have_count(0)

    page.goto("/people/")
    page.get_by_role("link", name="Bo Second").click()
    page.get_by_role("link", name="Deactivate").click()
    page.get_by_role("button", name="Deactivate").click()
    expect(page.get_by_text("Bo Second is deactivated.")).to_be_visible()
    theirs.goto("/account/")
    expect(theirs.get_by_role("heading", name="Sign in")).to_be_visible()
    elsewhere.close()


@pytest.mark.parametrize("width", [390, 1280])
def test_no_page_of_accounts_scrolls_sideways(page: Page, width: int) -> None:
    """The first person exists by now; the pages are read on a telephone and on a desk."""
    page.set_viewport_size({"width": width, "height": 800})
    sign_in(page)
    for address in ("/account/", "/people/", "/people/new/", "/accounts/2fa/", "/accounts/password/change/"):
        page.goto(address)
        assert no_sideways_scroll(page), address


def test_the_skip_link_is_the_first_stop_of_the_keyboard_and_leads_past_the_navigation(page: Page) -> None:
    sign_in(page)
    page.goto("/account/")
    page.keyboard.press("Tab")
    expect(page.get_by_role("link", name="Skip to the page")).to_be_focused()
    page.keyboard.press("Enter")
    page.keyboard.press("Tab")
    expect(page.get_by_label("Name")).to_be_focused()


def test_a_refused_form_shows_the_faulty_field_and_does_not_stand_in_the_way_back(
    page: Page, complaints: Complaints
) -> None:
    complaints.expect("status of 422")
    sign_in(page)
    page.goto("/portfolios/new/")
    page.locator("main form button[type=submit]").click()
    expect(page.get_by_label("Name")).to_be_focused()
    page.get_by_label("Name").fill("Harbour portfolio")
    page.locator("main form button[type=submit]").click()
    page.get_by_role("link", name="Start a case").first.click()
    page.locator("main form button[type=submit]").click()
    expect(page.locator("#id_age_months")).to_be_focused()
    page.locator("#id_age_months").fill("13;8")
    page.locator("main form button[type=submit]").click()
    page.get_by_role("heading", name="Records and sheets").wait_for()
    page.go_back()
    expect(page.get_by_role("heading", name="New case")).to_be_visible()


def test_a_form_sent_after_signing_out_elsewhere_keeps_what_was_typed(
    page: Page, complaints: Complaints
) -> None:
    complaints.expect("status of 401")
    sign_in(page)
    page.goto("/portfolios/new/")
    page.get_by_label("Name").fill("Lighthouse portfolio")
    elsewhere = page.context.new_page()
    elsewhere.goto("/")
    elsewhere.get_by_role("button", name="Sign out").click()
    elsewhere.get_by_role("heading", name="Sign in").wait_for()

    page.locator("main form button[type=submit]").click()
    expect(page.get_by_text("You are signed out. What you typed is still on this page.")).to_be_visible()
    expect(page.get_by_label("Name")).to_have_value("Lighthouse portfolio")
    sign_in(elsewhere)
    page.locator("main form button[type=submit]").click()
    expect(page.get_by_text("The portfolio Lighthouse portfolio is started.")).to_be_visible()
