"""The administrator's pages about people."""

from __future__ import annotations

import threading

import pytest
from allauth.account.models import EmailAddress
from django.db import connection
from django.test import Client
from django.utils import timezone

from accounts import selectors, services
from accounts.models import User
from tests.factories.accounts import (
    PASSWORD,
    person,
    searched,
    signed_in,
    the_cast,
    with_authenticator_app,
)


def page_of(who: User, action: str = "") -> str:
    return f"/people/{who.public_id}/" + (f"{action}/" if action else "")


@pytest.mark.django_db
def test_the_list_shows_everybody_with_state_and_role() -> None:
    cast = the_cast()
    shown = signed_in(cast.administrator).get("/people/").content.decode()
    for who in (cast.owner, cast.another, cast.administrator, cast.deactivated):
        assert who.name in shown
        assert who.email in shown
    assert "deactivated" in shown
    assert "administrator" in shown


@pytest.mark.django_db
@pytest.mark.parametrize(
    ("search", "expected"),
    [
        ("marchetti", ["Odile Marchetti"]),
        ("ODILE clinic", ["Odile Marchetti"]),
        ("piet@", ["Piet Vandermeulen"]),
        ("piet\0vander", ["Piet Vandermeulen"]),
        ("nobody at all", []),
    ],
)
def test_the_search_takes_words_of_name_and_address(search: str, expected: list[str]) -> None:
    cast = the_cast()
    found = selectors.people_page(cast.administrator, search, "", "1", timezone.now())
    assert [row.name for row in found.page.object_list] == expected


@pytest.mark.django_db
def test_an_address_longer_than_is_kept_is_refused_beside_its_field() -> None:
    browser = signed_in(the_cast().administrator)
    address = f"{'a' * 60}@{'.'.join(['b' * 60] * 3)}.{'c' * 40}.example"
    assert 254 < len(address) < 320
    answer = browser.post("/people/new/", {"name": "Tiina Hõbe", "email": address})
    assert answer.status_code == 422
    assert "at most 254 characters" in answer.content.decode()


@pytest.mark.django_db
def test_an_empty_search_result_says_so_and_leads_back() -> None:
    shown = searched(signed_in(the_cast().administrator), "/people/", "zzz")
    assert "Nobody found" in shown
    assert "Show everybody" in shown


@pytest.mark.django_db
@pytest.mark.parametrize(
    ("sort", "first", "last"),
    [
        ("name", "Odile Marchetti", "Sven Aakjaer"),
        ("-name", "Sven Aakjaer", "Odile Marchetti"),
        ("-role", "Ruta Balcytis", "Sven Aakjaer"),
        ("state", "Sven Aakjaer", "Ruta Balcytis"),
        ("no such column", "Odile Marchetti", "Sven Aakjaer"),
    ],
)
def test_the_list_sorts_by_each_heading(sort: str, first: str, last: str) -> None:
    cast = the_cast()
    rows = selectors.people_page(cast.administrator, "", sort, "1", timezone.now()).page.object_list
    assert (rows[0].name, rows[-1].name) == (first, last)


@pytest.mark.django_db
def test_the_list_is_paged_and_costs_the_same_for_many(django_assert_max_num_queries: object) -> None:
    administrator = the_cast().administrator
    for _ in range(60):
        person()
    browser = signed_in(administrator)
    with django_assert_max_num_queries(8):  # type: ignore[operator]
        shown = browser.get("/people/?page=2").content.decode()
    assert "51 to 64 of 64 people" in shown


@pytest.mark.django_db
def test_a_second_person_with_the_same_address_is_refused_beside_the_field() -> None:
    cast = the_cast()
    answer = signed_in(cast.administrator).post(
        "/people/new/", {"name": "Twin", "email": "ODILE@clinic.example"}
    )
    assert answer.status_code == 422
    assert "already entered" in answer.context["form"].errors["email"][0]
    assert User.objects.count() == 4


@pytest.mark.django_db
def test_name_and_address_can_be_corrected_and_the_old_address_no_longer_signs_in() -> None:
    cast = the_cast()
    answer = signed_in(cast.administrator).post(
        page_of(cast.owner), {"name": "Odile M.", "email": "Odile.M@Clinic.example"}
    )
    assert answer.status_code == 302
    old = Client().post("/accounts/login/", {"login": "odile@clinic.example", "password": PASSWORD})
    new = Client().post("/accounts/login/", {"login": "odile.m@clinic.example", "password": PASSWORD})
    assert (old.status_code, new.status_code) == (200, 302)


@pytest.mark.django_db
def test_an_address_the_sign_in_package_has_stored_beside_ends_with_the_correction() -> None:
    cast = the_cast()
    EmailAddress.objects.create(user=cast.owner, email=cast.owner.email, verified=True, primary=True)
    services.correct_person(cast.administrator, cast.owner, "Odile M.", "odile.m@clinic.example")
    old = Client().post("/accounts/login/", {"login": "odile@clinic.example", "password": PASSWORD})
    assert old.status_code == 200


@pytest.mark.django_db
def test_an_address_of_somebody_else_is_refused_and_nothing_is_changed() -> None:
    cast = the_cast()
    answer = signed_in(cast.administrator).post(
        page_of(cast.owner), {"name": "X", "email": cast.another.email}
    )
    assert answer.status_code == 422
    cast.owner.refresh_from_db()
    assert (cast.owner.name, cast.owner.email) == ("Odile Marchetti", "odile@clinic.example")


@pytest.mark.django_db
def test_deactivation_asks_first_and_then_ends_sessions_and_sign_in() -> None:
    cast = the_cast()
    administrator, owner = signed_in(cast.administrator), signed_in(cast.owner)
    assert (
        "Deactivate Odile Marchetti?" in administrator.get(page_of(cast.owner, "deactivate")).content.decode()
    )
    assert owner.get("/account/").status_code == 200
    assert administrator.post(page_of(cast.owner, "deactivate")).status_code == 302
    assert owner.get("/account/").status_code == 302
    browser = Client()
    browser.post("/accounts/login/", {"login": cast.owner.email, "password": PASSWORD})
    assert "_auth_user_id" not in browser.session


@pytest.mark.django_db
def test_reactivation_lets_in_again_but_revives_no_session() -> None:
    cast = the_cast()
    owner = signed_in(cast.owner)
    assert owner.get("/account/").status_code == 200
    services.deactivate(cast.administrator, cast.owner, timezone.now())
    signed_in(cast.administrator).post(page_of(cast.owner, "reactivate"))
    assert owner.get("/account/").status_code == 302
    answer = Client().post("/accounts/login/", {"login": cast.owner.email, "password": PASSWORD})
    assert answer.headers["Location"] == "/"


@pytest.mark.django_db
def test_nobody_deactivates_themselves() -> None:
    cast = the_cast()
    person(administrator=True)
    assert isinstance(
        services.deactivate(cast.administrator, cast.administrator, timezone.now()), services.Refused
    )
    cast.administrator.refresh_from_db()
    assert cast.administrator.is_active


@pytest.mark.django_db
def test_the_last_active_administrator_cannot_be_unmade() -> None:
    cast = the_cast()
    person(administrator=True, is_active=False)
    answer = signed_in(cast.administrator).post(
        page_of(cast.administrator, "unmake-administrator"), follow=True
    )
    assert "last active administrator" in answer.content.decode()
    cast.administrator.refresh_from_db()
    assert cast.administrator.administrator


@pytest.mark.django_db
def test_the_last_active_administrator_cannot_be_deactivated() -> None:
    """The one who acts may have been unmade a moment ago, in another window."""
    cast = the_cast()
    refused = services.deactivate(cast.owner, cast.administrator, timezone.now())
    assert isinstance(refused, services.Refused)
    cast.administrator.refresh_from_db()
    assert cast.administrator.is_active


@pytest.mark.django_db
def test_a_person_is_made_and_unmade_an_administrator() -> None:
    cast = the_cast()
    browser = signed_in(cast.administrator)
    assert signed_in(cast.owner).get("/people/").status_code == 404
    browser.post(page_of(cast.owner, "make-administrator"))
    assert signed_in(cast.owner).get("/people/").status_code == 200
    browser.post(page_of(cast.owner, "unmake-administrator"))
    assert signed_in(cast.owner).get("/people/").status_code == 404


@pytest.mark.django_db
def test_a_deactivated_person_is_not_made_an_administrator() -> None:
    cast = the_cast()
    assert isinstance(services.make_administrator(cast.administrator, cast.deactivated), services.Refused)


@pytest.mark.django_db
def test_removing_a_second_factor_asks_first_and_ends_the_sessions() -> None:
    cast = the_cast()
    with_authenticator_app(cast.owner)
    owner, administrator = signed_in(cast.owner), signed_in(cast.administrator)
    assert owner.get("/account/").status_code == 200
    asked = administrator.get(page_of(cast.owner, "remove-second-factor")).content.decode()
    assert "Remove the second factor of Odile Marchetti?" in asked
    administrator.post(page_of(cast.owner, "remove-second-factor"))
    assert owner.get("/account/").status_code == 302
    answer = Client().post("/accounts/login/", {"login": cast.owner.email, "password": PASSWORD})
    assert answer.headers["Location"] == "/"


@pytest.mark.django_db(transaction=True)
def test_of_two_administrators_who_unmake_each_other_at_once_one_remains() -> None:
    """Several rounds: without the lock the two do not collide every time."""
    first, second = person(administrator=True), person(administrator=True)

    def unmake(start: threading.Barrier, by: User, other: User) -> None:
        start.wait()
        try:
            services.unmake_administrator(by, other)
        finally:
            connection.close()

    for _ in range(8):
        User.objects.update(administrator=True)
        start = threading.Barrier(2)
        pairs = ((start, first, second), (start, second, first))
        threads = [threading.Thread(target=unmake, args=pair) for pair in pairs]
        for thread in threads:
            thread.start()
        for thread in threads:
            thread.join()
        assert User.objects.filter(administrator=True).count() == 1
