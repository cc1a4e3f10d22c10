"""Other machines come by name, by https, through a proxy that is named; nobody else's word about the way counts."""

import json
import os
import subprocess
import sys
from ipaddress import ip_network
from pathlib import Path
from typing import Any

import pytest
from django.core.checks import run_checks
from django.core.exceptions import ImproperlyConfigured
from django.test import Client

from config import reach
from config.reach import Reach

PROJECT = Path(__file__).resolve().parents[2]
NAMED = Reach(("portfolio.clinic.example",), (ip_network("10.1.0.0/16"), ip_network("127.0.0.1")))
PROXY = "10.1.0.7"
SIGN_IN = "/accounts/login/"


def started(**variables: str) -> "subprocess.CompletedProcess[str]":
    """The deployment checks and a few settings, in a process that reads these environment variables."""
    lines = (
        "import json, django; django.setup(); from django.conf import settings as s;"
        "from django.core.checks import run_checks;"
        "print(json.dumps({'hosts': s.ALLOWED_HOSTS, 'secure': [s.SESSION_COOKIE_SECURE, s.CSRF_COOKIE_SECURE],"
        "'redirect': s.SECURE_SSL_REDIRECT, 'promise': s.SECURE_HSTS_SECONDS, 'origins': s.CSRF_TRUSTED_ORIGINS,"
        "'silenced': s.SILENCED_SYSTEM_CHECKS,"
        "'heard': [c.id for c in run_checks(include_deployment_checks=True) if not c.is_silenced()]}))"
    )
    kept = {key: value for key, value in os.environ.items() if not key.startswith("FOLIOWRIGHT_")}
    return subprocess.run(
        [sys.executable, "-c", lines],
        cwd=PROJECT,
        env={**kept, **variables, "DJANGO_SETTINGS_MODULE": "config.settings"},
        capture_output=True,
        text=True,
    )


def test_without_any_setting_this_machine_alone_is_served_by_plain_http() -> None:
    assert Reach().allowed_hosts == ["127.0.0.1", "localhost", "[::1]"]
    assert not Reach().https
    assert Reach().trusted_origins == []
    assert Reach().silenced_checks == reach.NEED_HTTPS


def test_a_name_and_a_proxy_turn_on_all_that_https_needs_and_its_checks_are_heard() -> None:
    done = started(FOLIOWRIGHT_HOSTS="Portfolio.clinic.example", FOLIOWRIGHT_HTTPS_PROXY="127.0.0.1")
    assert done.returncode == 0, done.stderr
    found = json.loads(done.stdout)
    assert found == {
        "hosts": ["127.0.0.1", "localhost", "[::1]", "portfolio.clinic.example"],
        "secure": [True, True],
        "redirect": True,
        "promise": reach.HTTPS_PROMISE_SECONDS,
        "origins": ["https://portfolio.clinic.example"],
        "silenced": reach.BEYOND_THE_NAME,
        "heard": [],
    }


def test_the_checks_about_https_are_heard_when_one_of_its_settings_is_missing(
    settings: Any,
) -> None:
    settings.SILENCED_SYSTEM_CHECKS = NAMED.silenced_checks
    settings.SESSION_COOKIE_SECURE = settings.CSRF_COOKIE_SECURE = settings.SECURE_SSL_REDIRECT = False
    settings.SECURE_HSTS_SECONDS = 0
    heard = {check.id for check in run_checks(include_deployment_checks=True) if not check.is_silenced()}
    assert heard >= set(reach.NEED_HTTPS)


@pytest.mark.parametrize(
    ("variables", "words"),
    [
        ({"FOLIOWRIGHT_HOSTS": "a.example"}, "FOLIOWRIGHT_HTTPS_PROXY is empty"),
        ({"FOLIOWRIGHT_HTTPS_PROXY": "127.0.0.1"}, "FOLIOWRIGHT_HOSTS is empty"),
    ],
)
def test_a_name_without_a_proxy_and_a_proxy_without_a_name_stop_the_start(
    variables: dict[str, str], words: str
) -> None:
    done = started(**variables)
    assert done.returncode == 1
    assert words in done.stderr
    with pytest.raises(ImproperlyConfigured, match="leave both empty"):
        Reach(names=("a.example",))


@pytest.mark.parametrize(
    ("peer", "forwarded", "asked_from"),
    [
        ("192.0.2.9", "198.51.100.1", "192.0.2.9"),
        (PROXY, "198.51.100.1", "198.51.100.1"),
        (PROXY, "203.0.113.5, 198.51.100.1", "198.51.100.1"),
        (PROXY, "198.51.100.1, 10.1.0.8", "198.51.100.1"),
        (PROXY, "::ffff:198.51.100.1", "198.51.100.1"),
        (PROXY, "", PROXY),
        (PROXY, "198.51.100.1, somewhere", PROXY),
        ("::ffff:10.1.0.7", "2001:db8::5", "2001:db8::5"),
    ],
)
def test_the_asking_machine_is_the_last_on_the_way_that_is_no_proxy_of_ours(
    peer: str, forwarded: str, asked_from: str
) -> None:
    assert NAMED.asked_from(peer, forwarded) == asked_from


@pytest.fixture
def by_https(settings: Any) -> None:
    settings.REACH = NAMED
    settings.ALLOWED_HOSTS = NAMED.allowed_hosts
    settings.CSRF_TRUSTED_ORIGINS = NAMED.trusted_origins
    settings.SECURE_PROXY_SSL_HEADER = ("HTTP_X_FORWARDED_PROTO", "https")
    settings.SECURE_SSL_REDIRECT = settings.SESSION_COOKIE_SECURE = settings.CSRF_COOKIE_SECURE = True
    settings.SECURE_HSTS_SECONDS = reach.HTTPS_PROMISE_SECONDS


THROUGH = {
    "host": "portfolio.clinic.example",
    "x-forwarded-proto": "https",
    "x-forwarded-for": "198.51.100.1",
}


@pytest.mark.django_db
@pytest.mark.usefixtures("by_https")
def test_through_the_proxy_pages_are_answered_with_secure_cookies_and_the_promise_of_https() -> None:
    answer = Client(REMOTE_ADDR=PROXY).get(SIGN_IN, headers=THROUGH, follow=True)
    assert answer.status_code == 200
    assert answer.wsgi_request.META["REMOTE_ADDR"] == "198.51.100.1"
    assert answer.headers["Strict-Transport-Security"] == f"max-age={reach.HTTPS_PROMISE_SECONDS}"
    assert answer.cookies
    assert all(cookie["secure"] for cookie in answer.cookies.values())


@pytest.mark.django_db
@pytest.mark.usefixtures("by_https")
def test_whoever_is_no_proxy_cannot_pretend_to_come_by_https_or_from_elsewhere() -> None:
    answer = Client(REMOTE_ADDR="192.0.2.9").get(SIGN_IN, headers=THROUGH)
    assert answer.status_code == 301
    assert answer.headers["Location"] == f"https://portfolio.clinic.example{SIGN_IN}"
    assert answer.wsgi_request.META["REMOTE_ADDR"] == "192.0.2.9"


@pytest.mark.django_db
def test_without_a_proxy_nobodys_word_about_the_way_counts(client: Client) -> None:
    answer = client.get(SIGN_IN, headers={"x-forwarded-proto": "https", "x-forwarded-for": "198.51.100.1"})
    assert not answer.wsgi_request.is_secure()
    assert answer.wsgi_request.META["REMOTE_ADDR"] == "127.0.0.1"


@pytest.mark.django_db
@pytest.mark.usefixtures("by_https")
def test_plain_http_through_the_proxy_is_sent_on_to_https() -> None:
    answer = Client(REMOTE_ADDR=PROXY).get(SIGN_IN, headers={**THROUGH, "x-forwarded-proto": "http"})
    assert answer.headers["Location"] == f"https://portfolio.clinic.example{SIGN_IN}"


@pytest.mark.django_db
@pytest.mark.usefixtures("by_https")
def test_a_form_from_another_site_is_refused_and_one_from_the_name_is_not() -> None:
    browser = Client(REMOTE_ADDR=PROXY, enforce_csrf_checks=True)
    page = browser.get("/first-run/", headers=THROUGH)
    token = page.content.decode().partition('name="csrfmiddlewaretoken" value="')[2].partition('"')[0]
    sent = {"csrfmiddlewaretoken": token}
    for origin, status in (("https://elsewhere.example", 403), ("https://portfolio.clinic.example", 422)):
        answer = browser.post("/first-run/", sent, headers={**THROUGH, "origin": origin})
        assert answer.status_code == status, origin


@pytest.mark.django_db
@pytest.mark.usefixtures("by_https")
def test_a_name_that_was_not_given_is_refused_through_the_proxy_too() -> None:
    answer = Client(REMOTE_ADDR=PROXY).get(SIGN_IN, headers={**THROUGH, "host": "elsewhere.example"})
    assert answer.status_code == 400


@pytest.mark.django_db
@pytest.mark.usefixtures("by_https")
def test_the_machines_own_health_check_is_answered_by_plain_http() -> None:
    answer = Client(REMOTE_ADDR="127.0.0.1").get("/alive/", headers={"host": "127.0.0.1:8000"})
    assert (answer.status_code, answer.content) == (200, b"alive\n")
    assert not answer.cookies
