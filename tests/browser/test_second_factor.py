"""Second factors in a real browser: the authenticator app, and a passkey kept by a virtual device."""

from __future__ import annotations

import re
import time

import pytest
from allauth.mfa.totp.internal.auth import format_hotp_value, hotp_value
from playwright.sync_api import Page, expect

from tests.browser.conftest import Complaints
from tests.browser.serving import PASSWORD, Served, begin_as_first_person

EMAIL = "first@clinic.example"


@pytest.fixture(scope="module")
def served(fresh_app: Served) -> Served:
    return fresh_app


def confirm_password(page: Page) -> None:
    page.get_by_label("Password").fill(PASSWORD)
    page.get_by_role("button", name="Go on").click()


def sign_in(page: Page, address: str) -> None:
    page.goto(f"{address}/accounts/login/")
    page.get_by_label("E-mail address").fill(EMAIL)
    page.get_by_label("Password").fill(PASSWORD)
    page.get_by_role("button", name="Sign in", exact=True).click()


def sign_out(page: Page) -> None:
    page.get_by_role("button", name="Sign out").click()
    expect(page.get_by_role("heading", name="Sign in")).to_be_visible()


def code_of(secret: str) -> str:
    return str(format_hotp_value(hotp_value(secret, int(time.time()) // 30)))


def test_a_passkey_opens_the_account_where_the_address_has_a_name(
    page: Page, served: Served, complaints: Complaints
) -> None:
    begin_as_first_person(page, served)
    page.goto("/accounts/2fa/webauthn/add/")
    confirm_password(page)
    expect(page.get_by_text("open it as localhost")).to_be_visible()
    sign_out(page)
    expect(page.get_by_role("button", name="Sign in with a passkey")).to_be_hidden()

    device = page.context.new_cdp_session(page)
    device.send("WebAuthn.enable")
    device.send(
        "WebAuthn.addVirtualAuthenticator",
        {
            "options": {
                "protocol": "ctap2",
                "transport": "internal",
                "hasResidentKey": True,
                "hasUserVerification": True,
                "isUserVerified": True,
                "automaticPresenceSimulation": True,
            }
        },
    )
    named = served.address.replace("127.0.0.1", "localhost")
    sign_in(page, named)
    page.goto(f"{named}/accounts/2fa/webauthn/add/")
    confirm_password(page)
    page.get_by_label("Name").fill("Key of this test")
    page.get_by_label("Passwordless").check()
    page.get_by_role("button", name="Add the key").click()
    expect(page.get_by_text("10 of 10 are unused")).to_be_visible()
    page.goto(f"{named}/accounts/2fa/webauthn/")
    expect(page.get_by_role("row", name=re.compile("Key of this test.*as a passkey"))).to_be_visible()
    sign_out(page)
    page.get_by_role("button", name="Sign in with a passkey").click()
    expect(page.get_by_role("button", name="Sign out")).to_be_visible()

    page.goto(f"{named}/accounts/2fa/webauthn/")
    page.get_by_role("link", name="Remove").click()
    confirm_password(page)
    page.get_by_role("button", name="Remove").click()
    expect(page.get_by_text("No keys yet")).to_be_visible()


def test_a_second_factor_is_asked_for_at_the_next_sign_in_and_a_recovery_code_will_do(
    page: Page, served: Served
) -> None:
    sign_in(page, served.address)
    page.goto("/accounts/2fa/")
    page.get_by_role("link", name="Set up an authenticator app").click()
    confirm_password(page)
    secret = page.get_by_label("Or type this into the app").input_value()
    page.get_by_role("textbox", name="Code").fill(code_of(secret))
    page.get_by_role("button", name="Set up").click()
    expect(page.get_by_text("The authenticator app is set up.")).to_be_visible()
    recovery_code = page.locator(".recovery-codes li").first.inner_text()
    sign_out(page)
    sign_in(page, served.address)
    expect(page.get_by_role("heading", name="Second factor")).to_be_visible()
    page.get_by_role("textbox", name="Code").fill("000000")
    page.get_by_role("button", name="Sign in", exact=True).click()
    expect(page.get_by_text("This code is not right")).to_be_visible()
    page.get_by_role("textbox", name="Code").fill(recovery_code)
    page.get_by_role("button", name="Sign in", exact=True).click()
    expect(page.get_by_role("button", name="Sign out")).to_be_visible()
