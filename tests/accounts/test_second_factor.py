"""Second factor: authenticator app, recovery codes, keys; secrets unreadable in the database."""

from __future__ import annotations

import time

import pytest
from allauth.mfa.models import Authenticator
from allauth.mfa.totp.internal.auth import format_hotp_value, hotp_value
from django.test import Client
from django.urls import reverse
from pytest_django import Settings

from accounts.models import User
from accounts.second_factor import EncryptedSecrets
from tests.factories.accounts import (
    PASSWORD,
    person,
    signed_in,
    signed_in_and_confirmed,
    with_authenticator_app,
)

SIGN_IN = "/accounts/login/"
ACTIVATE = "/accounts/2fa/totp/activate/"


def code_of(secret: str) -> str:
    return str(format_hotp_value(hotp_value(secret, int(time.time()) // 30)))


def half_signed_in(who: User) -> Client:
    browser = Client()
    answer = browser.post(SIGN_IN, {"login": who.email, "password": PASSWORD})
    assert answer.headers["Location"] == reverse("mfa_authenticate")
    return browser


@pytest.mark.django_db
def test_setting_up_an_app_asks_for_the_password_once_more_and_then_shows_recovery_codes() -> None:
    who = person()
    browser = signed_in(who)
    asked = browser.get(ACTIVATE)
    assert asked.headers["Location"].startswith(reverse("account_reauthenticate"))
    browser.post(asked.headers["Location"], {"password": PASSWORD, "next": ACTIVATE})
    page = browser.get(ACTIVATE)
    secret = page.context["form"].secret
    assert "data:image/svg+xml" in page.content.decode()
    answer = browser.post(ACTIVATE, {"code": code_of(secret)})
    assert answer.headers["Location"] == reverse("mfa_view_recovery_codes")
    assert "10 of 10 are unused" in browser.get(answer.headers["Location"]).content.decode()


@pytest.mark.django_db
def test_a_wrong_code_sets_nothing_up() -> None:
    who = person()
    browser = signed_in_and_confirmed(who)
    browser.get(ACTIVATE)
    refused = browser.post(ACTIVATE, {"code": "000000"})
    assert "not right" in refused.content.decode()
    assert not Authenticator.objects.exists()


@pytest.mark.django_db
def test_the_password_alone_opens_nothing_once_an_app_is_set_up() -> None:
    who = person()
    secret = with_authenticator_app(who)
    browser = half_signed_in(who)
    assert browser.get("/account/").status_code == 302
    assert browser.post(reverse("mfa_authenticate"), {"code": code_of(secret)}).status_code == 302
    assert browser.get("/account/").status_code == 200


@pytest.mark.django_db
def test_a_code_of_the_app_is_taken_once() -> None:
    who = person()
    code = code_of(with_authenticator_app(who))
    half_signed_in(who).post(reverse("mfa_authenticate"), {"code": code})
    again = half_signed_in(who)
    again.post(reverse("mfa_authenticate"), {"code": code})
    assert again.get("/account/").status_code == 302


@pytest.mark.django_db
def test_a_recovery_code_stands_in_for_the_app_and_works_once() -> None:
    who = person()
    with_authenticator_app(who)
    codes = Authenticator.objects.get(user=who, type="recovery_codes").wrap().get_unused_codes()
    browser = half_signed_in(who)
    browser.post(reverse("mfa_authenticate"), {"code": codes[0]})
    assert browser.get("/account/").status_code == 200
    again = half_signed_in(who)
    again.post(reverse("mfa_authenticate"), {"code": codes[0]})
    assert again.get("/account/").status_code == 302


@pytest.mark.django_db
def test_guessing_codes_is_limited() -> None:
    who = person()
    secret = with_authenticator_app(who)
    browser = half_signed_in(who)
    for _ in range(5):
        browser.post(reverse("mfa_authenticate"), {"code": "000000"})
    browser.post(reverse("mfa_authenticate"), {"code": code_of(secret)})
    assert browser.get("/account/").status_code == 302


@pytest.mark.django_db
def test_the_secrets_cannot_be_read_in_the_database() -> None:
    who = person()
    secret = with_authenticator_app(who)
    stored = str(list(Authenticator.objects.values_list("data", flat=True)))
    assert secret not in stored
    assert EncryptedSecrets().decrypt(Authenticator.objects.get(type="totp").data["secret"]) == secret


@pytest.mark.django_db
def test_after_a_change_of_the_secret_key_no_code_fits_and_the_old_key_can_be_kept_beside(
    settings: Settings,
) -> None:
    who = person()
    secret = with_authenticator_app(who)
    old = settings.SECRET_KEY
    settings.SECRET_KEY = "a new key of this test"
    browser = half_signed_in(who)
    browser.post(reverse("mfa_authenticate"), {"code": code_of(secret)})
    assert browser.get("/account/").status_code == 302
    settings.SECRET_KEY_FALLBACKS = [old]
    assert EncryptedSecrets().decrypt(Authenticator.objects.get(type="totp").data["secret"]) == secret


@pytest.mark.django_db
def test_recovery_codes_under_a_lost_key_differ_at_each_reading(settings: Settings) -> None:
    """A fixed stand-in for the secret would make recovery codes that anybody can work out."""
    who = person()
    with_authenticator_app(who)
    settings.SECRET_KEY = "a new key of this test"
    codes = Authenticator.objects.get(user=who, type="recovery_codes").wrap()
    assert codes.generate_codes() != codes.generate_codes()
