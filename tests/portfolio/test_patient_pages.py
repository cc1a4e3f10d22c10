"""Pages of coded patients and their consents."""

from __future__ import annotations

import re
import uuid
from datetime import date

import pytest
from django.test import Client
from django.urls import reverse

from accounts.models import User
from portfolio import services
from portfolio.models import Consent, Patient
from tests.factories.accounts import person, searched, signed_in
from tests.factories.portfolio import (
    ConsentFactory,
    PatientFactory,
    PortfolioFactory,
    case_of,
    deleted_case_of,
)

pytestmark = pytest.mark.django_db


@pytest.fixture
def owner() -> User:
    return person(name="Odile Marchetti")


@pytest.fixture
def pages(owner: User) -> Client:
    return signed_in(owner)


def hidden(page: bytes, name: str) -> str:
    """The value of a hidden field on a page."""
    found = re.search(rf'name="{name}" value="([^"]*)"', page.decode())
    assert found, name
    return found[1]


def test_a_patient_page_shows_the_private_layer_to_the_owner(pages: Client, owner: User) -> None:
    patient = PatientFactory(
        portfolio=PortfolioFactory(owner=owner), locator="shelf 4 box 12", birth_date=date(2012, 3, 1)
    )
    page = pages.get(reverse("portfolio:patient", args=[patient.public_id])).content.decode()
    assert "shelf 4 box 12" in page
    assert "1 Mar 2012" in page
    title = re.search("<title>(.*?)</title>", page)
    assert title
    assert "2012" not in title[1]
    assert "shelf" not in title[1]


def test_a_search_takes_any_text(pages: Client, owner: User) -> None:
    patient = PatientFactory(portfolio=PortfolioFactory(owner=owner), locator="shelf 4", searchable="shelf 4")
    address = reverse("portfolio:patients", args=[patient.portfolio.public_id])
    assert patient.code in searched(pages, address, "shelf\0 4")


def test_the_administrator_sees_nobodys_records(owner: User) -> None:
    case = case_of(owner)
    administrator = signed_in(person(administrator=True))
    for name, row in (("portfolio:patient", case.patient), ("portfolio:case_edit", case)):
        assert administrator.get(reverse(name, args=[row.public_id])).status_code == 404


def test_a_birth_date_stays_the_same_day_after_three_savings(pages: Client, owner: User) -> None:
    patient = PatientFactory(portfolio=PortfolioFactory(owner=owner), birth_date=date(2012, 3, 1))
    address = reverse("portfolio:patient_edit", args=[patient.public_id])
    for _ in range(3):
        page = pages.get(address).content
        day = re.search(r'name="birth_date" value="([^"]*)"', page.decode())
        assert day
        assert day[1] == "2012-03-01"
        form = {"version": hidden(page, "version"), "sex": "", "locator": "", "birth_date": day[1]}
        assert pages.post(address, form).status_code == 302
    patient.refresh_from_db()
    assert patient.birth_date == date(2012, 3, 1)


def test_a_patient_with_cases_cannot_be_removed_deleted_ones_included(pages: Client, owner: User) -> None:
    case = deleted_case_of(owner)
    pages.post(reverse("portfolio:patient_delete", args=[case.patient.public_id]))
    assert Patient.objects.filter(pk=case.patient.pk).exists()
    services.erase_case(case, case.code)
    pages.post(reverse("portfolio:patient_delete", args=[case.patient.public_id]))
    assert not Patient.objects.filter(pk=case.patient.pk).exists()


def test_a_consent_is_noted_corrected_and_withdrawn(pages: Client, owner: User) -> None:
    patient = PatientFactory(portfolio=PortfolioFactory(owner=owner))
    form: dict[str, object] = {
        "key": str(uuid.uuid4()),
        "purposes": ["examination", "teaching"],
        "covers": ["faces"],
        "signer": "guardian",
        "signed_on": "2025-04-02",
        "paper_lies": "binder 3",
    }
    new = reverse("portfolio:consent_new", args=[patient.public_id])
    for _ in range(2):
        pages.post(new, form)
    consent = Consent.objects.get()
    assert (consent.purposes, consent.media) == (["examination", "teaching"], ["faces"])
    edit = reverse("portfolio:consent_edit", args=[consent.public_id])
    pages.post(edit, form | {"version": "1", "covers": ["faces", "casts"]})
    withdraw = reverse("portfolio:consent_withdraw", args=[consent.public_id])
    pages.post(withdraw, {"version": "2", "withdrawn_on": "2025-06-01"})
    consent.refresh_from_db()
    assert (consent.media, consent.withdrawn_on, consent.version) == (["faces", "casts"], date(2025, 6, 1), 3)
    page = pages.get(reverse("portfolio:patient", args=[patient.public_id])).content.decode()
    assert "withdrawn" in page
    assert "Local law prevails" in page


@pytest.mark.parametrize(
    ("fields", "words"),
    [
        ({"purposes": []}, "at least one purpose"),
        ({"signed_on": "2999-01-01"}, "in the future"),
        ({"expires": "2020-01-01"}, "before the day of signing"),
    ],
)
def test_a_consent_that_cannot_be_is_refused(
    pages: Client, owner: User, fields: dict[str, object], words: str
) -> None:
    patient = PatientFactory(portfolio=PortfolioFactory(owner=owner))
    form: dict[str, object] = {"purposes": ["teaching"], "covers": ["faces"], "signer": "patient"}
    form |= {"signed_on": "2025-04-02", **fields}
    answer = pages.post(reverse("portfolio:consent_new", args=[patient.public_id]), form)
    assert answer.status_code == 422
    assert words in answer.content.decode()
    assert not Consent.objects.exists()


def test_a_withdrawal_before_the_signing_is_refused(pages: Client, owner: User) -> None:
    consent = ConsentFactory(patient__portfolio__owner=owner)
    address = reverse("portfolio:consent_withdraw", args=[consent.public_id])
    assert pages.post(address, {"version": "1", "withdrawn_on": "2001-01-01"}).status_code == 422
