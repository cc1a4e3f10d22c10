"""Error pages: in the look, in plain words, losing nothing that was typed."""

from __future__ import annotations

import re
from pathlib import Path

import pytest
from django.conf import settings as project
from django.core.exceptions import BadRequest, PermissionDenied
from django.db import OperationalError
from django.http import HttpRequest, HttpResponse
from django.test import Client, RequestFactory, override_settings
from django.urls import path
from django.views.defaults import bad_request, permission_denied

from accounts.error_pages import fault
from accounts.models import User
from tests.factories.accounts import PASSWORD, person, signed_in

TEMPLATES = Path(project.BASE_DIR) / "templates"


@pytest.fixture
def somebody(db: None) -> User:
    return person()


def test_an_unknown_address_is_told_in_the_look(somebody: User) -> None:
    answer = signed_in(somebody).get("/no/such/page/")
    assert answer.status_code == 404
    assert "site-header" in answer.content.decode()
    assert "not yours" in answer.content.decode()


@pytest.mark.parametrize(
    ("view", "fault", "status", "words"),
    [
        (bad_request, BadRequest(), 400, "Not understood"),
        (permission_denied, PermissionDenied(), 403, "Not allowed"),
    ],
)
def test_refusals_are_told_in_the_look(view: object, fault: Exception, status: int, words: str) -> None:
    request = RequestFactory().get("/")
    answer = view(request, fault)  # type: ignore[operator]
    assert answer.status_code == status
    assert words in answer.content.decode()


def test_the_page_of_a_fault_needs_neither_session_nor_database() -> None:
    """No database mark: a query would fail here."""
    answer = fault(RequestFactory().get("/"))
    assert answer.status_code == 500
    assert "Something went wrong" in answer.content.decode()


@override_settings(ROOT_URLCONF=__name__)
@pytest.mark.parametrize("headers", [{}, {"HX-Request": "true"}, {"X-Requested-With": "fetch"}])
@pytest.mark.parametrize(("address", "status"), [("/unreachable/", 503), ("/broken/", 500)])
def test_an_unreachable_database_is_told_as_busy_and_other_faults_as_faults(
    address: str, status: int, headers: dict[str, str]
) -> None:
    answer = Client(raise_request_exception=False).get(address, headers=headers)
    assert answer.status_code == status
    assert ("<html" in answer.content.decode()) is not bool(headers)
    assert ("Retry-After" in answer.headers) is (status == 503)


def test_a_database_that_fails_before_the_page_is_reached_is_told_as_busy(
    somebody: User, monkeypatch: pytest.MonkeyPatch
) -> None:
    browser = signed_in(somebody)
    browser.raise_request_exception = False

    def fail(*args: object) -> None:
        raise OperationalError("server closed the connection")

    monkeypatch.setattr("django.contrib.sessions.backends.db.SessionStore.load", fail)
    assert browser.get("/account/").status_code == 503


def test_the_pages_of_faults_stand_alone() -> None:
    for name in ("500.html", "503.html"):
        text = (TEMPLATES / name).read_text(encoding="utf-8")
        assert "{%" not in text
        assert "{{" not in text
        for address in re.findall(r'href="(/static/[^"]+)"', text):
            assert (Path(project.BASE_DIR) / address.lstrip("/")).is_file(), address


def test_a_form_without_a_valid_token_is_refused_and_what_was_typed_can_be_copied(somebody: User) -> None:
    browser = Client(enforce_csrf_checks=True)
    browser.force_login(somebody)
    answer = browser.post(
        "/account/",
        {
            "name": "A long <b>name</b>",
            "password": PASSWORD,
            "code": "K7RM",
            "csrfmiddlewaretoken": "a token of nobody",
        },
    )
    shown = answer.content.decode()
    assert answer.status_code == 403
    assert "back button" in shown
    assert "A long &lt;b&gt;name&lt;/b&gt;" in shown
    for secret in (PASSWORD, "K7RM", "a token of nobody"):
        assert secret not in shown


def test_a_page_script_with_an_old_token_is_told_to_read_it_anew(somebody: User) -> None:
    browser = Client(enforce_csrf_checks=True)
    browser.force_login(somebody)
    answer = browser.post("/account/", headers={"HX-Request": "true"})
    assert answer.status_code == 403
    assert "token" in answer.content.decode()


def broken(request: HttpRequest) -> HttpResponse:
    raise RuntimeError("a fault of this test with odile@clinic.example in it")


def unreachable(request: HttpRequest) -> HttpResponse:
    raise OperationalError("database is locked")


broken.login_required = False  # type: ignore[attr-defined]
unreachable.login_required = False  # type: ignore[attr-defined]
urlpatterns = [path("broken/", broken), path("unreachable/", unreachable)]
handler500 = "accounts.error_pages.fault"


@override_settings(ROOT_URLCONF=__name__)
def test_a_fault_shows_nothing_of_itself() -> None:
    answer = Client(raise_request_exception=False).get("/broken/")
    assert answer.status_code == 500
    assert "odile" not in answer.content.decode()
    assert "RuntimeError" not in answer.content.decode()
