"""Signing in and out: by e-mail address and password, closed to strangers, limited, noted without names."""

from __future__ import annotations

import logging

import pytest
from django.core import mail
from django.test import Client, RequestFactory
from django.urls import NoReverseMatch, reverse

from accounts.adapter import ClosedDoor
from accounts.models import User
from tests.factories.accounts import PASSWORD, person, signed_in, the_cast

SIGN_IN = "/accounts/login/"


def is_signed_in(browser: Client) -> bool:
    return "_auth_user_id" in browser.session


@pytest.mark.django_db
@pytest.mark.parametrize("typed", ["odile@clinic.example", "Odile@Clinic.Example"])
def test_the_address_may_be_typed_in_capitals(typed: str) -> None:
    the_cast()
    browser = Client()
    answer = browser.post(SIGN_IN, {"login": typed, "password": PASSWORD})
    assert answer.headers["Location"] == "/"
    assert is_signed_in(browser)


@pytest.mark.django_db
def test_a_wrong_password_and_an_unknown_address_get_the_same_words() -> None:
    the_cast()
    wrong = Client().post(SIGN_IN, {"login": "odile@clinic.example", "password": "no"})
    unknown = Client().post(SIGN_IN, {"login": "nobody@clinic.example", "password": "no"})
    assert wrong.context["form"].errors == unknown.context["form"].errors
    assert "do not belong together" in wrong.content.decode()


@pytest.mark.django_db
def test_a_deactivated_person_is_told_so_only_with_the_right_password() -> None:
    cast = the_cast()
    browser = Client()
    right = browser.post(SIGN_IN, {"login": cast.deactivated.email, "password": PASSWORD}, follow=True)
    wrong = Client().post(SIGN_IN, {"login": cast.deactivated.email, "password": "no"})
    assert "deactivated" in right.content.decode()
    assert "deactivated" not in wrong.content.decode()
    assert not is_signed_in(browser)


@pytest.mark.django_db
def test_a_person_without_a_password_cannot_sign_in() -> None:
    who = person(password=None)
    browser = Client()
    browser.post(SIGN_IN, {"login": who.email, "password": "!"})
    assert not is_signed_in(browser)


@pytest.mark.django_db
def test_the_page_asked_for_opens_after_sign_in() -> None:
    cast = the_cast()
    browser = Client()
    asked = browser.get("/account/")
    answer = browser.post(
        asked.headers["Location"], {"login": cast.owner.email, "password": PASSWORD, "next": "/account/"}
    )
    assert answer.headers["Location"] == "/account/"


@pytest.mark.django_db
def test_sign_in_leads_to_no_foreign_site() -> None:
    cast = the_cast()
    answer = Client().post(
        SIGN_IN, {"login": cast.owner.email, "password": PASSWORD, "next": "https://elsewhere.example/"}
    )
    assert answer.headers["Location"] == "/"


@pytest.mark.django_db
def test_signing_in_begins_a_new_session() -> None:
    cast = the_cast()
    browser = Client()
    browser.get(SIGN_IN)
    session = browser.session
    session["seen"] = True
    session.save()
    before = session.session_key
    browser.post(SIGN_IN, {"login": cast.owner.email, "password": PASSWORD})
    assert browser.session.session_key != before


@pytest.mark.django_db
def test_six_wrong_passwords_close_the_address_for_a_while_even_to_the_right_one() -> None:
    cast = the_cast()
    for _ in range(5):
        Client().post(SIGN_IN, {"login": cast.owner.email, "password": "no"})
    refused = Client().post(SIGN_IN, {"login": cast.owner.email, "password": PASSWORD})
    assert "Too many tries" in refused.content.decode()
    browser = Client()
    browser.post(SIGN_IN, {"login": cast.another.email, "password": PASSWORD})
    assert is_signed_in(browser), "another person is not locked out by it"


@pytest.mark.django_db
def test_signing_out_takes_a_post_and_ends_the_session() -> None:
    browser = signed_in(the_cast().owner)
    asked = browser.get("/accounts/logout/")
    assert asked.status_code == 200
    assert is_signed_in(browser)
    browser.post("/accounts/logout/")
    assert not is_signed_in(browser)


@pytest.mark.django_db
@pytest.mark.parametrize("method", ["get", "post"])
def test_there_is_no_open_sign_up(method: str) -> None:
    the_cast()
    strangers = {"email": "stranger@clinic.example", "password1": PASSWORD}
    answer = getattr(Client(), method)("/accounts/signup/", strangers)
    assert answer.status_code == (200 if method == "get" else 405)
    assert not User.objects.filter(email="stranger@clinic.example").exists()


def test_the_sign_in_package_itself_holds_the_door_closed() -> None:
    assert not ClosedDoor().is_open_for_signup(RequestFactory().post("/accounts/signup/"))


@pytest.mark.parametrize(
    "name", ["account_email", "account_set_password", "account_reset_password_done", "account_confirm_email"]
)
def test_the_mail_pages_of_the_package_are_not_there(name: str) -> None:
    with pytest.raises(NoReverseMatch):
        reverse(name)


@pytest.mark.django_db
def test_a_forgotten_password_leads_to_the_administrator_and_sends_nothing() -> None:
    the_cast()
    shown = Client().get(reverse("account_reset_password")).content.decode()
    assert "one-time link" in shown
    assert "administrator" in shown
    assert mail.outbox == []


@pytest.mark.django_db
def test_sign_ins_and_refusals_are_noted_without_names(caplog: pytest.LogCaptureFixture) -> None:
    cast = the_cast()
    with caplog.at_level(logging.INFO, "foliowright.security"):
        browser = Client()
        browser.post(SIGN_IN, {"login": cast.owner.email, "password": "no"})
        browser.post(SIGN_IN, {"login": cast.deactivated.email, "password": PASSWORD})
        browser.post(SIGN_IN, {"login": cast.owner.email, "password": PASSWORD})
        browser.post("/accounts/logout/")
    noted = [record.getMessage() for record in caplog.records if record.name == "foliowright.security"]
    assert noted == [
        "sign-in refused",
        f"sign-in refused for a deactivated person person {cast.deactivated.pk}",
        f"signed in person {cast.owner.pk}",
        f"signed out person {cast.owner.pk}",
    ]
    for private in ("Odile", "Marchetti", "clinic.example", PASSWORD):
        assert private not in caplog.text
