"""Pages are private and bound to the content policy; the key is a file of its own; logs name nobody."""

import copy
import logging
import stat
import sys
from pathlib import Path

import pytest
from django.conf import settings
from django.core.exceptions import DisallowedHost
from django.db import connection
from django.http import HttpResponse, StreamingHttpResponse
from django.test import Client, RequestFactory

from accounts.models import User
from config import security
from tests.factories.accounts import person, signed_in


@pytest.mark.django_db
def test_every_page_carries_the_content_policy_and_is_not_kept(client: Client) -> None:
    answer = client.get("/accounts/login/")
    rules = dict(rule.strip().split(" ", 1) for rule in answer.headers["Content-Security-Policy"].split(";"))
    assert rules["default-src"] == "'none'"
    assert rules["style-src"] == "'self'"
    assert rules["img-src"] == "'self' data:"
    assert rules["frame-ancestors"] == rules["base-uri"] == rules["object-src"] == "'none'"
    assert rules["font-src"] == rules["connect-src"] == rules["form-action"] == "'self'"
    assert "unsafe" not in answer.headers["Content-Security-Policy"]
    assert "no-store" in answer.headers["Cache-Control"]
    assert answer.headers["X-Content-Type-Options"] == "nosniff"
    assert answer.headers["Referrer-Policy"] == "same-origin"
    assert answer.headers["X-Frame-Options"] == "DENY"


@pytest.mark.django_db
@pytest.mark.parametrize("path", ["/", "/account/", "/nowhere/"])
def test_what_a_signed_in_person_sees_is_kept_by_no_browser_or_proxy(path: str) -> None:
    assert signed_in(person()).get(path).headers["Cache-Control"] == "no-store, private"


@pytest.mark.parametrize("method", ["HEAD", "GET"])
@pytest.mark.parametrize("page", [HttpResponse(b"a page"), StreamingHttpResponse([b"a page"])])
def test_asked_for_headers_alone_the_body_is_left_out(method: str, page: HttpResponse) -> None:
    page = copy.copy(page)
    page.headers["Content-Length"] = "6"
    answer = security.headers_only(lambda request: page)(RequestFactory().generic(method, "/"))
    assert b"".join(answer) == (b"" if method == "HEAD" else b"a page")
    assert answer.headers["Content-Length"] == "6"


@pytest.mark.django_db
def test_a_host_that_is_not_this_machine_is_refused(client: Client) -> None:
    assert client.get("/accounts/login/", headers={"host": "elsewhere.example"}).status_code == 400


def test_the_key_file_is_made_once_and_readable_by_its_owner_only(tmp_path: Path) -> None:
    data = tmp_path / "data"
    security.make_secret_key(data)
    first = security.secret_key(data)
    security.make_secret_key(data)
    assert security.secret_key(data) == first
    assert len(first) >= 50
    assert stat.S_IMODE((data / security.KEY_FILE).stat().st_mode) == 0o600
    assert [path.name for path in data.iterdir()] == [security.KEY_FILE]


def test_without_a_key_file_the_key_is_a_passing_one_and_nothing_is_written(tmp_path: Path) -> None:
    assert security.secret_key(tmp_path) != security.secret_key(tmp_path)
    assert list(tmp_path.iterdir()) == []


def test_two_data_folders_have_cookies_of_their_own_for_each_purpose() -> None:
    names = {
        security.cookie_name(purpose, Path(data)) for purpose in ("session", "csrf") for data in ("/a", "/b")
    }
    assert len(names) == 4
    assert security.cookie_name("csrf", Path("/a"), https=True).startswith("__Host-foliowright_csrf_")


@pytest.mark.django_db
def test_a_page_names_its_own_cookies_only(client: Client) -> None:
    answer = client.get("/first-run/")
    assert set(answer.cookies) == {settings.CSRF_COOKIE_NAME}
    assert settings.CSRF_COOKIE_NAME != "csrftoken"
    assert f'<meta name="csrf-cookie" content="{settings.CSRF_COOKIE_NAME}">' in answer.content.decode()


@pytest.mark.django_db
def test_what_a_page_says_about_people_and_cases_is_put_into_no_cookie() -> None:
    browser = signed_in(person(administrator=True))
    browser.post("/people/new/", {"name": "Tiina Hõbe", "email": "tiina@clinic.example"})
    tiina = User.objects.get(email="tiina@clinic.example")
    answer = browser.post(f"/people/{tiina.public_id}/deactivate/")
    assert "messages" not in answer.cookies
    assert "Tiina Hõbe is deactivated." in browser.get(answer["Location"]).content.decode()


@pytest.mark.parametrize(
    ("written", "masked"),
    [
        ("Not Found: /cases/6f1c1f0e-8a52-4d0c-9a38-0c2f8f0e6f11/", "Not Found: /cases/<id>/"),
        ("Gone: /welcome/abcDEF-123_x/", "Gone: /welcome/<token>/"),
        ("mail for jo.smith+x@clinic.example failed", "mail for <address> failed"),
        ("GET /people/?search=Miller now", "GET /people/?<query> now"),
        ("DETAIL:  Key (email)=(jo@x.org) already exists.", "DETAIL:  Key (email)=(<value>) already exists."),
        ("DETAIL:  Failing row contains (1, Jo, 1990-01-01).", "DETAIL:  Failing row contains <values>"),
        ("Set up 3 sheets in 0.2 s", "Set up 3 sheets in 0.2 s"),
    ],
)
def test_a_log_line_names_nobody(written: str, masked: str) -> None:
    assert security.mask(written) == masked


def test_a_traceback_is_masked_too() -> None:
    try:
        raise ValueError("jo@clinic.example")
    except ValueError:
        record = logging.getLogger("tried").makeRecord(
            "tried", logging.ERROR, "", 1, "broken", (), __import__("sys").exc_info()
        )
    line = security.MaskedFormatter("%(message)s").format(record)
    assert "ValueError: <address>" in line
    assert "jo@" not in line


def test_a_request_by_a_foreign_name_takes_one_line_of_the_log_and_names_the_setting() -> None:
    words = "Invalid HTTP_HOST header: 'a.example'. You may need to add 'a.example' to ALLOWED_HOSTS."
    try:
        raise DisallowedHost(words)
    except DisallowedHost:
        record = logging.getLogger("tried").makeRecord(
            "tried", logging.ERROR, "", 1, words, (), sys.exc_info()
        )
    assert security.refused_host_in_a_line(record)
    line = security.MaskedFormatter("%(levelname)s %(message)s").format(record)
    assert line == f"WARNING {words.replace('ALLOWED_HOSTS', 'FOLIOWRIGHT_HOSTS')}"


@pytest.mark.django_db(transaction=True)
def test_sqlite_waits_for_other_writers_and_keeps_saves_through_a_power_cut() -> None:
    if connection.vendor != "sqlite":
        assert settings.DATABASES["default"]["ENGINE"].endswith("postgresql")
        return
    with connection.cursor() as cursor:
        found = {
            name: cursor.execute(f"PRAGMA {name}").fetchone()[0]
            for name in ("journal_mode", "synchronous", "busy_timeout", "secure_delete")
        }
    assert found == {"journal_mode": "wal", "synchronous": 2, "busy_timeout": 20000, "secure_delete": 1}
    assert settings.DATABASES["default"]["OPTIONS"]["transaction_mode"] == "IMMEDIATE"
    assert ":memory:" not in str(connection.settings_dict["NAME"])
