"""The first run: a code printed where the app was started makes one person, once."""

from __future__ import annotations

import threading
from io import StringIO

import pytest
from django.core.management import call_command
from django.db import connection
from django.test import Client
from django.urls import reverse
from django.utils import timezone

from accounts import services
from accounts.models import SetupCode, User
from tests.factories.accounts import PASSWORD, person

ADDRESS = "/first-run/"


def typed(code: str, **changes: str) -> dict[str, str]:
    answers = {
        "code": code,
        "name": "Odile Marchetti",
        "email": "Odile@Clinic.example",
        "password": PASSWORD,
        "password_again": PASSWORD,
    }
    return answers | changes


def fresh_code() -> str:
    code = services.setup_code(timezone.now())
    assert code
    return code


@pytest.mark.django_db
def test_the_command_prints_a_code_while_nobody_exists_and_nothing_afterwards() -> None:
    before, after = StringIO(), StringIO()
    call_command("setup_code", stdout=before)
    person()
    call_command("setup_code", stdout=after)
    assert len(before.getvalue().strip().replace("-", "")) == 12
    assert after.getvalue() == ""


@pytest.mark.django_db
def test_the_code_is_stored_only_as_a_digest() -> None:
    code = fresh_code()
    stored = SetupCode.objects.get()
    assert code not in stored.digest
    assert code.replace("-", "") not in stored.digest
    assert len(stored.digest) == 64


@pytest.mark.django_db
def test_a_second_start_replaces_the_code() -> None:
    first = fresh_code()
    second = fresh_code()
    assert Client().post(ADDRESS, typed(first)).status_code == 422
    assert Client().post(ADDRESS, typed(second)).status_code == 302


@pytest.mark.django_db
@pytest.mark.parametrize("address", ["/first-run/", "/accounts/login/"])
def test_everybody_is_led_to_the_first_run_while_nobody_exists(address: str) -> None:
    answer = Client().get(address, follow=True)
    assert answer.status_code == 200
    assert answer.request["PATH_INFO"] == ADDRESS


@pytest.mark.django_db
def test_the_right_code_makes_the_first_person_an_administrator() -> None:
    code = fresh_code()
    browser = Client()
    answer = browser.post(ADDRESS, typed(code))
    assert answer.headers["Location"] == "/"
    made = User.objects.get()
    assert (made.email, made.name, made.administrator) == ("odile@clinic.example", "Odile Marchetti", True)
    assert made.check_password(PASSWORD)
    assert browser.get("/people/").status_code == 200, "signed in at once"
    assert not SetupCode.objects.exists()


@pytest.mark.django_db
def test_the_code_may_be_typed_in_small_letters_and_without_hyphens() -> None:
    code = fresh_code()
    assert Client().post(ADDRESS, typed(code.lower().replace("-", " "))).status_code == 302
    assert User.objects.count() == 1


@pytest.mark.django_db
def test_a_wrong_code_is_refused_beside_the_field_and_keeps_what_was_typed() -> None:
    fresh_code()
    answer = Client().post(ADDRESS, typed("2222-2222-2222"))
    assert answer.status_code == 422
    assert "not the set-up code" in answer.context["form"].errors["code"][0]
    assert "Odile Marchetti" in answer.content.decode()
    assert not User.objects.exists()


@pytest.mark.django_db
def test_a_wrong_code_is_told_together_with_the_other_faults() -> None:
    fresh_code()
    errors = Client().post(ADDRESS, typed("2222-2222-2222", name="")).context["form"].errors
    assert set(errors) == {"code", "name"}


@pytest.mark.django_db
def test_after_ten_wrong_codes_the_right_one_is_refused_too() -> None:
    code = fresh_code()
    for _ in range(services.WRONG_CODES_ALLOWED):
        refused = services.begin("2222-2222-2222", "Odile", "odile@clinic.example", PASSWORD)
        assert isinstance(refused, services.Refused)
    refused = services.begin(code, "Odile", "odile@clinic.example", PASSWORD)
    assert isinstance(refused, services.Refused)
    assert "Too many" in refused.message
    assert not User.objects.exists()


@pytest.mark.django_db
def test_too_many_tries_in_a_minute_are_refused_before_the_code_is_looked_at() -> None:
    code = fresh_code()
    statuses = [Client().post(ADDRESS, typed(code, name="")).status_code for _ in range(21)]
    assert statuses == [422] * 20 + [429]


@pytest.mark.django_db
@pytest.mark.parametrize(
    ("field", "value", "words"),
    [
        ("password", "short", "too short"),
        ("password", "1234567890", "numeric"),
        ("password", "password123", "common"),
        ("password_again", "something else 9", "differ"),
        ("email", "no address", "valid email"),
        ("name", "", "required"),
    ],
)
def test_each_refusal_stands_beside_its_field(field: str, value: str, words: str) -> None:
    code = fresh_code()
    answer = Client().post(ADDRESS, typed(code, **{field: value}))
    assert answer.status_code == 422
    assert words in " ".join(answer.context["form"].errors[field])
    assert not User.objects.exists()


@pytest.mark.django_db
def test_a_password_like_the_name_is_refused() -> None:
    code = fresh_code()
    answer = Client().post(ADDRESS, typed(code, password="odile marchetti", password_again="odile marchetti"))
    assert answer.status_code == 422
    assert "similar" in " ".join(answer.context["form"].errors["password"])


@pytest.mark.django_db
@pytest.mark.parametrize("method", ["get", "post"])
def test_the_page_is_gone_once_a_person_exists(method: str) -> None:
    code = fresh_code()
    person()
    answer = getattr(Client(), method)(ADDRESS, typed(code))
    assert answer.status_code == 302
    assert answer.headers["Location"] == reverse("account_login")
    assert User.objects.count() == 1


@pytest.mark.django_db(transaction=True)
def test_of_two_people_who_send_the_right_code_at_once_one_wins() -> None:
    code = fresh_code()
    outcomes: list[object] = []
    start = threading.Barrier(2)

    def send(email: str) -> None:
        start.wait()
        try:
            outcomes.append(services.begin(code, "Somebody", email, PASSWORD))
        finally:
            connection.close()

    threads = [threading.Thread(target=send, args=(f"{name}@clinic.example",)) for name in ("odile", "piet")]
    for thread in threads:
        thread.start()
    for thread in threads:
        thread.join()
    assert User.objects.count() == 1
    assert sorted(type(outcome).__name__ for outcome in outcomes) == ["Refused", "User"]
