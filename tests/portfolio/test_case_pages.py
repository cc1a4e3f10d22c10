"""Pages of cases: start, change, delete, restore, erase."""

from __future__ import annotations

import re
import uuid
from datetime import date

import pytest
from django.test import Client
from django.urls import reverse

from accounts.models import User
from portfolio import services
from portfolio.access import deleted_cases, visible_cases, visible_patients
from portfolio.codes import is_code, new_code
from portfolio.models import Case, Patient, Sheet
from portfolio.services import Entry
from portfolio.services.retention import KEPT_AFTER_DELETION
from tests.factories.accounts import person, signed_in
from tests.factories.portfolio import (
    NOON,
    PatientFactory,
    PortfolioFactory,
    case_of,
    record_set_of,
    save,
    sheet_of,
)

pytestmark = pytest.mark.django_db


@pytest.fixture
def owner() -> User:
    return person(name="Odile Marchetti")


@pytest.fixture
def pages(owner: User) -> Client:
    return signed_in(owner)


def case_form(**fields: str) -> dict[str, str]:
    return {"key": str(uuid.uuid4()), "code": new_code(), "stage": "initial", "age_months": "13;8", **fields}


def test_without_a_portfolio_a_new_case_first_asks_for_one(pages: Client) -> None:
    assert pages.get(reverse("portfolio:case_new"))["Location"] == reverse("portfolio:portfolio_new")


def test_a_case_starts_with_a_proposed_random_code_stage_and_age(pages: Client, owner: User) -> None:
    PortfolioFactory(owner=owner)
    page = pages.get(reverse("portfolio:case_new"))
    code = re.search(r'name="code" value="([^"]+)"', page.content.decode())
    assert code
    assert is_code(code[1])
    answer = pages.post(reverse("portfolio:case_new"), case_form(code=code[1]))
    case = visible_cases(owner).get()
    assert answer["Location"] == reverse("desk:case", args=[case.public_id])
    assert case.code == code[1]
    assert record_set_of(case).age_months == 164
    assert Sheet.objects.get(record_set__case=case).reader == owner


def test_the_age_is_worked_out_from_two_dates_and_the_birth_date_is_thrown_away(
    pages: Client, owner: User
) -> None:
    PortfolioFactory(owner=owner)
    form = case_form(age_months="", birth_date="2011-01-31", taken_on="2025-02-28")
    pages.post(reverse("portfolio:case_new"), form)
    case = visible_cases(owner).get()
    assert record_set_of(case).age_months == 168
    assert record_set_of(case).taken_on == date(2025, 2, 28)
    assert case.patient.birth_date is None


def test_the_birth_date_is_kept_only_when_the_owner_ticks_so(pages: Client, owner: User) -> None:
    PortfolioFactory(owner=owner)
    form = case_form(age_months="", birth_date="2011-01-31", taken_on="2025-03-01", keep_birth_date="on")
    pages.post(reverse("portfolio:case_new"), form)
    case = visible_cases(owner).get()
    assert (record_set_of(case).age_months, case.patient.birth_date) == (169, date(2011, 1, 31))


@pytest.mark.parametrize(
    ("fields", "words"),
    [
        ({"age_months": ""}, "Give the age"),
        ({"age_months": "13.8"}, "fraction of a year"),
        ({"age_months": "14 y 12 m"}, "only 0 to 11"),
        ({"age_months": "12 y 0 m", "birth_date": "2011-01-31", "taken_on": "2025-02-28"}, "give 14 y 0 m"),
        ({"age_months": "", "birth_date": "2025-03-01", "taken_on": "2025-02-28"}, "before the birth"),
        ({"taken_on": "2999-01-01"}, "in the future"),
        ({"age_months": "", "birth_date": "2011-01-31"}, "day of the records is needed"),
        ({"code": "ANNA2011"}, "easily mistaken"),
        ({"code": "MEYER-1"}, "easily mistaken"),
    ],
)
def test_a_case_that_cannot_be_is_refused_beside_the_field_and_nothing_is_made(
    pages: Client, owner: User, fields: dict[str, str], words: str
) -> None:
    PortfolioFactory(owner=owner)
    answer = pages.post(reverse("portfolio:case_new"), case_form(**fields))
    assert answer.status_code == 422
    assert words in answer.content.decode()
    assert not visible_cases(owner)
    assert not visible_patients(owner)


def test_a_case_form_sent_twice_makes_one_case_and_one_patient(pages: Client, owner: User) -> None:
    PortfolioFactory(owner=owner)
    form = case_form()
    places = {pages.post(reverse("portfolio:case_new"), form)["Location"] for _ in range(2)}
    assert len(places) == 1
    assert (visible_cases(owner).count(), visible_patients(owner).count()) == (1, 1)


def test_a_code_in_use_is_refused_and_leaves_no_patient_behind(pages: Client, owner: User) -> None:
    PortfolioFactory(owner=owner)
    used = case_of(person()).code
    answer = pages.post(reverse("portfolio:case_new"), case_form(code=used))
    assert answer.status_code == 422
    assert "in use" in answer.content.decode()
    assert not visible_patients(owner)


def test_a_second_case_of_a_patient_takes_the_kept_birth_date(pages: Client, owner: User) -> None:
    patient = PatientFactory(portfolio=PortfolioFactory(owner=owner), birth_date=date(2011, 1, 31))
    form = case_form(patient=str(patient.public_id), age_months="", taken_on="2025-01-31")
    pages.post(reverse("portfolio:case_new"), form)
    case = visible_cases(owner).get()
    assert case.patient == patient
    assert record_set_of(case).age_months == 168


def test_somebody_elses_patient_cannot_be_chosen(pages: Client, owner: User) -> None:
    PortfolioFactory(owner=owner)
    theirs = PatientFactory()
    answer = pages.post(reverse("portfolio:case_new"), case_form(patient=str(theirs.public_id)))
    assert answer.status_code == 422
    assert not visible_cases(owner)


@pytest.mark.parametrize("portfolio", ["not-a-uuid", "00000000-0000-4000-8000-000000000000"])
def test_an_unknown_portfolio_in_the_address_is_not_found(pages: Client, owner: User, portfolio: str) -> None:
    PortfolioFactory(owner=owner)
    assert pages.get(reverse("portfolio:case_new"), {"portfolio": portfolio}).status_code == 404


def test_state_and_note_are_changed_and_late_edits_are_refused(pages: Client, owner: User) -> None:
    case = case_of(owner)
    address = reverse("portfolio:case_edit", args=[case.public_id])
    assert pages.post(address, {"version": "1", "state": "chosen", "note": "deep bite"}).status_code == 302
    late = pages.post(address, {"version": "1", "state": "done", "note": "open bite"})
    assert late.status_code == 409
    for words in ("deep bite", "open bite", "chosen"):
        assert words in late.content.decode()
    case.refresh_from_db()
    assert (case.state, case.note) == ("chosen", "deep bite")


def test_an_edit_without_its_version_overwrites_nothing(pages: Client, owner: User) -> None:
    case = case_of(owner)
    address = reverse("portfolio:case_edit", args=[case.public_id])
    assert pages.post(address, {"state": "done", "note": "x"}).status_code == 409
    case.refresh_from_db()
    assert case.state == "possible"


def test_a_deleted_case_is_seen_only_among_the_deleted_and_comes_back_whole(
    pages: Client, owner: User
) -> None:
    sheet = sheet_of(owner)
    save(sheet, Entry("overjet", "11", typed="4"))
    case = visible_cases(owner).get()
    answer = pages.post(reverse("portfolio:case_delete", args=[case.public_id]), follow=True)
    assert case.code in answer.content.decode()
    assert pages.get(reverse("portfolio:case_edit", args=[case.public_id])).status_code == 404
    assert pages.get(reverse("portfolio:sheet_import", args=[sheet.public_id])).status_code == 404
    pages.post(reverse("portfolio:case_restore", args=[case.public_id]))
    assert visible_cases(owner).get() == case
    assert sheet.findings.count() == 1


def test_a_case_is_erased_with_everything_when_its_code_is_typed(pages: Client, owner: User) -> None:
    sheet = sheet_of(owner)
    save(sheet, Entry("overjet", "11", typed="4"))
    case = visible_cases(owner).get()
    services.delete_case(case, sheet.changes.get().at)
    address = reverse("portfolio:case_erase", args=[case.public_id])
    wrong = pages.post(address, {"code": "AAAA2222"})
    assert wrong.status_code == 422
    assert "Nothing was erased" in wrong.content.decode()
    assert deleted_cases(owner).count() == 1
    pages.post(address, {"code": case.code.lower()})
    assert not Case.objects.exists()
    assert not Sheet.objects.exists()
    assert Patient.objects.count() == 1


def test_a_case_that_is_not_deleted_cannot_be_erased(pages: Client, owner: User) -> None:
    case = case_of(owner)
    address = reverse("portfolio:case_erase", args=[case.public_id])
    assert pages.post(address, {"code": case.code}).status_code == 404


def test_before_and_after_deleting_the_time_is_told_after_which_a_case_is_erased() -> None:
    who = person()
    case = case_of(who)
    browser = signed_in(who)
    assert "from there for 30 days" in browser.get(f"/cases/{case.public_id}/delete/").content.decode()
    services.delete_case(case, NOON)
    page = browser.get(f"/portfolios/{case.patient.portfolio.public_id}/deleted-cases/")
    assert f"{NOON + KEPT_AFTER_DELETION:%-d %b %Y, %H:%M} UTC" in page.content.decode()
