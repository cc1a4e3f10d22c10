"""Signed-out requests: a redirect for the browser, 401 for a page's script; sessions end by time."""

from __future__ import annotations

from typing import Any

import pytest
from django.contrib.auth.models import AnonymousUser
from django.http import Http404, HttpResponse
from django.test import Client, RequestFactory
from pytest_django import Settings

from accounts.admission import administrator_only
from accounts.admission import signed_in as signed_in_only
from accounts.models import User
from tests.factories.accounts import person, signed_in

HTMX = {"HX-Request": "true"}
FETCH = {"X-Requested-With": "fetch"}


@pytest.fixture
def somebody(db: None) -> User:
    return person()


@pytest.mark.parametrize("headers", [HTMX, FETCH], ids=["htmx", "fetch"])
@pytest.mark.parametrize("method", ["get", "post"])
def test_a_page_script_gets_401_and_never_a_redirect(
    somebody: User, method: str, headers: dict[str, str]
) -> None:
    answer = getattr(Client(), method)("/account/", headers=headers)
    assert answer.status_code == 401
    assert "still here" in answer.content.decode()


@pytest.mark.parametrize("headers", [HTMX, FETCH], ids=["htmx", "fetch"])
def test_a_page_script_gets_401_even_with_a_token_of_an_earlier_sign_in(
    somebody: User, headers: dict[str, str]
) -> None:
    answer = Client(enforce_csrf_checks=True).post("/account/", headers=headers)
    assert answer.status_code == 401


def test_the_browser_is_led_to_sign_in_and_back(somebody: User) -> None:
    answer = Client().get("/account/?part=2")
    assert answer.headers["Location"] == "/accounts/login/?next=/account/%3Fpart%3D2"


def test_a_form_sent_while_signed_out_leads_to_sign_in_without_a_way_back_to_a_bare_form(
    somebody: User,
) -> None:
    assert Client().post("/account/", {"name": "X"}).headers["Location"] == "/accounts/login/"


@pytest.mark.parametrize("decorator", [signed_in_only, administrator_only])
def test_the_decorators_hold_without_the_middleware(somebody: User, decorator: Any) -> None:
    request = RequestFactory(headers=HTMX).get("/")
    request.user = AnonymousUser()
    assert decorator(lambda request: HttpResponse("open"))(request).status_code == 401


def test_an_administrators_page_does_not_exist_for_others(somebody: User) -> None:
    request = RequestFactory().get("/")
    request.user = somebody
    with pytest.raises(Http404):
        administrator_only(lambda request: HttpResponse("open"))(request)


@pytest.mark.parametrize(
    ("began_ago", "used_ago", "open_still"),
    [(3600, 3600, True), (7000, 7300, False), (12 * 3600 + 10, 5, False), (12 * 3600 - 60, 5, True)],
)
def test_a_session_ends_after_two_idle_hours_and_after_twelve_hours_in_any_case(
    somebody: User, began_ago: int, used_ago: int, open_still: bool, monkeypatch: pytest.MonkeyPatch
) -> None:
    now = 1_800_000_000
    browser = signed_in(somebody)
    session = browser.session
    session["signed_in_at"], session["last_used_at"] = now - began_ago, now - used_ago
    session.save()
    monkeypatch.setattr("accounts.middleware.time.time", lambda: now)
    assert browser.get("/account/").status_code == (200 if open_still else 302)


def test_using_a_session_keeps_it_from_being_idle(
    somebody: User, monkeypatch: pytest.MonkeyPatch, settings: Settings
) -> None:
    browser = signed_in(somebody)
    now = 1_800_000_000
    for hours in (0, 1.5, 3, 4.5):
        monkeypatch.setattr("accounts.middleware.time.time", lambda at=now + hours * 3600: at)
        assert browser.get("/account/").status_code == 200
    monkeypatch.setattr("accounts.middleware.time.time", lambda: now + settings.SESSION_COOKIE_AGE + 1)
    assert browser.get("/account/").status_code == 302
