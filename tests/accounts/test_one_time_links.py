"""One-time links: shown once, kept as a digest, used once, for 72 hours, never past the second factor."""

from __future__ import annotations

import re
import threading
from datetime import timedelta

import pytest
from django.db import connection
from django.test import Client
from django.urls import reverse
from django.utils import timezone

from accounts import selectors, services
from accounts.models import OneTimeLink, User
from tests.factories.accounts import PASSWORD, person, signed_in, the_cast, with_authenticator_app

NEW_PASSWORD = "another mouthful 72"
NEW = {"password": NEW_PASSWORD, "password_again": NEW_PASSWORD}


def link_for(who: User, at_hours_ago: float = 0) -> str:
    by = person(administrator=True)
    issued = services.issue_link(by, who, timezone.now() - timedelta(hours=at_hours_ago))
    assert isinstance(issued, services.IssuedLink)
    return reverse("accounts:welcome", args=[issued.secret])


def link_on(page: str) -> str:
    found = re.search(r'value="http://testserver(/welcome/[^"]+)"', page)
    assert found
    return found[1]


@pytest.mark.django_db
def test_adding_a_person_shows_a_link_by_which_they_choose_a_password_and_sign_in() -> None:
    administrator = signed_in(the_cast().administrator)
    shown = administrator.post("/people/new/", {"name": "Tove Lind", "email": "Tove@Clinic.example"})
    assert shown.status_code == 200
    link = link_on(shown.content.decode())
    browser = Client()
    assert "Tove Lind" in browser.get(link).content.decode()
    assert browser.post(link, NEW).status_code == 302
    answer = browser.post("/accounts/login/", {"login": "tove@clinic.example", "password": NEW_PASSWORD})
    assert answer.status_code == 302
    assert answer.headers["Location"] == "/"
    assert "_auth_user_id" in browser.session


@pytest.mark.django_db
def test_the_secret_is_stored_only_as_a_digest() -> None:
    link = link_for(person(password=None))
    stored = OneTimeLink.objects.get()
    assert link.split("/")[2] not in str(vars(stored))


@pytest.mark.django_db
def test_the_page_of_the_link_names_its_end_72_hours_later() -> None:
    assert timedelta(hours=72) == services.LINK_LIFETIME
    who = person(password=None)
    link_for(who)
    row = selectors.person_row(who, who.public_id, timezone.now())
    assert row
    assert row.link_until
    assert timedelta(hours=71, minutes=59) < row.link_until - timezone.now() <= timedelta(hours=72)


@pytest.mark.django_db
def test_a_link_works_once() -> None:
    who = person(password=None)
    link = link_for(who)
    assert Client().post(link, NEW).status_code == 302
    again = Client().post(link, {"password": "a third mouthful 9", "password_again": "a third mouthful 9"})
    assert again.status_code == 404
    who.refresh_from_db()
    assert who.check_password(NEW_PASSWORD)


@pytest.mark.django_db
@pytest.mark.parametrize("method", ["get", "post"])
def test_a_link_ends_after_72_hours(method: str) -> None:
    who = person(password=None)
    spent = getattr(Client(), method)(link_for(who, at_hours_ago=72.01), NEW)
    assert spent.status_code == 404
    assert "no longer works" in spent.content.decode()
    who.refresh_from_db()
    assert not who.has_usable_password()


@pytest.mark.django_db
def test_a_newer_link_ends_the_earlier_one() -> None:
    who = person(password=None)
    first, second = link_for(who), link_for(who)
    assert Client().get(first).status_code == 404
    assert Client().get(second).status_code == 200


@pytest.mark.django_db
def test_an_unknown_link_is_told_in_words() -> None:
    answer = Client().get("/welcome/no-such-secret/")
    assert answer.status_code == 404
    assert "administrator" in answer.content.decode()


@pytest.mark.django_db
def test_a_refused_password_uses_up_nothing() -> None:
    who = person(password=None)
    link = link_for(who)
    refused = Client().post(link, {"password": "short", "password_again": "short"})
    assert refused.status_code == 422
    assert Client().post(link, NEW).status_code == 302


@pytest.mark.django_db
def test_a_reset_ends_the_sessions_of_the_person() -> None:
    who = person()
    browser = signed_in(who)
    assert browser.get("/account/").status_code == 200
    link = link_for(who)
    assert browser.get("/account/").status_code == 200, "making the link alone ends nothing"
    assert Client().post(link, NEW).status_code == 302
    assert browser.get("/account/").status_code == 302


@pytest.mark.django_db
def test_a_reset_does_not_pass_the_second_factor() -> None:
    who = person()
    with_authenticator_app(who)
    browser = Client()
    assert browser.post(link_for(who), NEW).status_code == 302
    answer = browser.post("/accounts/login/", {"login": who.email, "password": NEW_PASSWORD})
    assert answer.headers["Location"] == reverse("mfa_authenticate")
    assert browser.get("/account/").status_code == 302


@pytest.mark.django_db
def test_deactivation_withdraws_the_link() -> None:
    who = person(password=None)
    link = link_for(who)
    services.deactivate(person(administrator=True), who, timezone.now())
    assert Client().post(link, NEW).status_code == 404
    services.reactivate(person(administrator=True), who)
    assert Client().post(link, NEW).status_code == 404


@pytest.mark.django_db
def test_no_link_is_made_for_a_deactivated_person() -> None:
    cast = the_cast()
    refused = services.issue_link(cast.administrator, cast.deactivated, timezone.now())
    assert isinstance(refused, services.Refused)
    assert not OneTimeLink.objects.exists()


@pytest.mark.django_db
def test_a_link_says_whether_it_sets_the_first_or_a_new_password() -> None:
    assert (
        "first password"
        in signed_in(the_cast().administrator)
        .post(f"/people/{person(password=None).public_id}/one-time-link/")
        .content.decode()
    )
    other = person(administrator=True)
    shown = signed_in(other).post(f"/people/{person().public_id}/one-time-link/")
    assert "new password" in shown.content.decode()


@pytest.mark.django_db
def test_the_old_password_works_until_the_reset_link_is_used() -> None:
    who = person()
    link_for(who)
    browser = Client()
    answer = browser.post("/accounts/login/", {"login": who.email, "password": PASSWORD})
    assert answer.headers["Location"] == "/"


@pytest.mark.django_db
def test_too_many_tries_at_links_are_refused() -> None:
    link = link_for(person(password=None))
    statuses = [Client().post(link, {"password": "short"}).status_code for _ in range(21)]
    assert statuses == [422] * 20 + [429]


def secret_for(who: User) -> str:
    return link_for(who).split("/")[2]


@pytest.mark.django_db
@pytest.mark.parametrize("ended", ["used", "withdrawn", "expired", "deactivated"])
def test_a_link_that_ends_while_its_page_is_open_sets_no_password(ended: str) -> None:
    """The page was opened in time; the form comes too late."""
    who = person(password=None)
    secret = secret_for(who)
    at = timezone.now()
    if ended == "used":
        assert services.use_link(secret, NEW_PASSWORD, at)
    elif ended == "withdrawn":
        link_for(who)
    elif ended == "expired":
        at += services.LINK_LIFETIME
    else:
        who.is_active = False
        who.save()
    assert services.use_link(secret, "a third mouthful 9", at) is None
    who.refresh_from_db()
    assert not who.check_password("a third mouthful 9")


@pytest.mark.django_db(transaction=True)
def test_of_two_who_use_a_link_at_once_one_sets_the_password() -> None:
    who = person(password=None)
    secret = secret_for(who)
    outcomes: list[User | None] = []
    start = threading.Barrier(2)

    def use(password: str) -> None:
        start.wait()
        try:
            outcomes.append(services.use_link(secret, password, timezone.now()))
        finally:
            connection.close()

    threads = [threading.Thread(target=use, args=(password,)) for password in (NEW_PASSWORD, PASSWORD)]
    for thread in threads:
        thread.start()
    for thread in threads:
        thread.join()
    assert sorted(outcome is not None for outcome in outcomes) == [False, True]
