"""One's own account: name, password, other sessions."""

from __future__ import annotations

import pytest
from django.urls import reverse

from tests.factories.accounts import PASSWORD, person, signed_in

NEW_PASSWORD = "another mouthful 72"
CHANGE = "/accounts/password/change/"


def change(**changes: str) -> dict[str, str]:
    return {"oldpassword": PASSWORD, "password1": NEW_PASSWORD, "password2": NEW_PASSWORD} | changes


@pytest.mark.django_db
def test_the_name_is_saved() -> None:
    who = person()
    browser = signed_in(who)
    assert browser.post("/account/", {"name": "  Odile M. "}).status_code == 302
    who.refresh_from_db()
    assert who.name == "Odile M."
    assert "Name saved." in browser.get("/account/").content.decode()


@pytest.mark.django_db
def test_an_empty_name_is_refused_and_the_old_one_kept() -> None:
    who = person(name="Odile")
    refused = signed_in(who).post("/account/", {"name": " "})
    assert refused.status_code == 422
    who.refresh_from_db()
    assert who.name == "Odile"


@pytest.mark.django_db
def test_changing_the_password_keeps_this_session_and_ends_the_others() -> None:
    who = person()
    here, there = signed_in(who), signed_in(who)
    answer = here.post(CHANGE, change())
    assert answer.headers["Location"] == reverse("accounts:own_account")
    assert here.get("/account/").status_code == 200
    assert there.get("/account/").status_code == 302
    who.refresh_from_db()
    assert who.check_password(NEW_PASSWORD)


@pytest.mark.django_db
@pytest.mark.parametrize(
    ("field", "value"), [("oldpassword", "wrong"), ("password1", "short"), ("password2", "something else 9")]
)
def test_a_refused_change_of_password_changes_nothing(field: str, value: str) -> None:
    who = person()
    refused = signed_in(who).post(CHANGE, change(**{field: value}))
    assert field in refused.context["form"].errors
    who.refresh_from_db()
    assert who.check_password(PASSWORD)


@pytest.mark.django_db
def test_signing_out_everywhere_else_keeps_this_session() -> None:
    who = person()
    here, there = signed_in(who), signed_in(who)
    here.post("/account/end-other-sessions/")
    assert here.get("/account/").status_code == 200
    assert there.get("/account/").status_code == 302


@pytest.mark.django_db
def test_the_people_page_is_offered_to_administrators_only() -> None:
    assert 'href="/people/"' in signed_in(person(administrator=True)).get("/account/").content.decode()
    assert 'href="/people/"' not in signed_in(person()).get("/account/").content.decode()
