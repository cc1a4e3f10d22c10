"""A coded patient handed over: belongs to one portfolio at a time, moves by a request that the other accepts."""

from __future__ import annotations

from datetime import date

import pytest
from django.test import Client
from django.urls import reverse

from accounts.models import User
from jobs.models import Job
from portfolio.access import visible_cases, visible_patients, visible_sheets
from portfolio.models import Consent, MoveAnswer, MoveRequest, Patient, Portfolio
from portfolio.moving import services
from portfolio.moving.services import CannotMove
from tests.factories.accounts import person, signed_in
from tests.factories.moving import asked
from tests.factories.portfolio import NOON, ConsentFactory, PortfolioFactory
from tests.factories.repeat_sheets import repeat_sheet_of
from tests.factories.scoring import measured_sheet

pytestmark = pytest.mark.django_db


@pytest.fixture
def owner() -> User:
    return person(name="Odile Marchetti")


@pytest.fixture
def colleague() -> User:
    return person(name="Ferran Oyelaran")


@pytest.fixture
def patient(owner: User) -> Patient:
    found: Patient = measured_sheet(owner).record_set.case.patient
    Patient.objects.filter(pk=found.pk).update(locator="shelf 4", birth_date=date(2011, 1, 31))
    ConsentFactory(patient=found)
    return found


@pytest.fixture
def into(colleague: User) -> Portfolio:
    made: Portfolio = PortfolioFactory(owner=colleague, name="Quay portfolio")
    return made


def test_nothing_changes_before_the_other_accepts_and_the_other_sees_the_code_alone(
    owner: User, colleague: User, patient: Patient, into: Portfolio
) -> None:
    asked(owner, colleague, patient)
    assert visible_patients(owner).get() == patient
    assert not visible_patients(colleague).exists()
    said = signed_in(colleague).get(reverse("portfolio:handing_over")).content.decode()
    assert patient.code in said
    case = patient.cases.get()
    assert case.code not in said
    assert "shelf 4" not in said
    assert reverse("portfolio:patient", args=[patient.public_id]) not in said
    assert signed_in(colleague).get(reverse("portfolio:patient", args=[patient.public_id])).status_code == 404


@pytest.mark.parametrize("along", [True, False])
def test_accepted_everything_goes_over_and_private_things_only_if_the_owner_says_so(
    owner: User, colleague: User, patient: Patient, into: Portfolio, along: bool
) -> None:
    move = asked(owner, colleague, patient, private_along=along)
    client = signed_in(colleague)
    answer = client.post(reverse("portfolio:take_over", args=[move.public_id]), {"into": str(into.public_id)})
    assert answer.status_code == 302
    patient.refresh_from_db()
    assert patient.portfolio == into
    assert (patient.locator, patient.birth_date) == (("shelf 4", date(2011, 1, 31)) if along else ("", None))
    assert ("shelf" in patient.searchable) is along
    assert visible_cases(colleague).count() == 1
    assert visible_sheets(colleague).get().reader == owner
    assert Consent.objects.get(patient=patient)
    for seen in (visible_patients(owner), visible_cases(owner), visible_sheets(owner)):
        assert not seen.exists()
    again = client.post(reverse("portfolio:take_over", args=[move.public_id]), {"into": str(into.public_id)})
    assert again.status_code == 404


def test_prints_of_the_former_owner_are_removed(
    owner: User, colleague: User, patient: Patient, into: Portfolio
) -> None:
    case = patient.cases.get()
    Job.objects.create(
        kind="dossier.case",
        subject=str(case.public_id),
        input_digest="d",
        asked_by=owner,
        asked_at=NOON,
        state="done",
        ended_at=NOON,
    )
    services.accept(colleague, asked(owner, colleague, patient), into, NOON)
    assert not Job.objects.exists()


def test_only_one_answer_counts(owner: User, colleague: User, patient: Patient, into: Portfolio) -> None:
    move = asked(owner, colleague, patient)
    services.withdraw(move, NOON)
    for late in (lambda: services.accept(colleague, move, into, NOON), lambda: services.decline(move, NOON)):
        with pytest.raises(CannotMove):
            late()
    patient.refresh_from_db()
    assert patient.portfolio.owner == owner
    assert MoveRequest.objects.get().answer == MoveAnswer.WITHDRAWN
    services.decline(asked(owner, colleague, patient), NOON)
    assert visible_patients(owner).exists()


@pytest.mark.parametrize(
    ("email", "told"),
    [
        ("nobody@quillhaven.example", "Nobody with this e-mail address"),
        ("own", "This is your own address"),
        ("x", "valid email"),
    ],
)
def test_a_wrong_address_is_told_beside_its_field_and_nobody_is_asked(
    owner: User, patient: Patient, email: str, told: str
) -> None:
    client = signed_in(owner)
    typed = {"email": owner.email if email == "own" else email, "note": "kept"}
    answer = client.post(reverse("portfolio:hand_over", args=[patient.public_id]), typed)
    assert answer.status_code == 422
    assert told in answer.content.decode()
    assert "kept" in answer.content.decode()
    assert not MoveRequest.objects.exists()


def test_a_second_request_and_an_open_repeat_stand_in_the_way(
    owner: User, colleague: User, patient: Patient, into: Portfolio
) -> None:
    move = asked(owner, colleague, patient)
    with pytest.raises(CannotMove, match="asked for this patient already"):
        asked(owner, colleague, patient)
    sheet = visible_sheets(owner).get()
    repeat_sheet_of(sheet)
    with pytest.raises(CannotMove, match="measured again"):
        services.accept(colleague, move, into, NOON)
    assert visible_patients(owner).exists()


def test_a_request_is_answered_by_the_one_who_was_asked_into_an_own_portfolio(
    owner: User, colleague: User, patient: Patient, into: Portfolio
) -> None:
    move = asked(owner, colleague, patient)
    address = reverse("portfolio:take_over", args=[move.public_id])
    other = PortfolioFactory(owner=person(name="Ilse Brandvold"))
    assert signed_in(owner).post(address, {"into": str(into.public_id)}).status_code == 404
    assert signed_in(colleague).post(address, {"into": str(other.public_id)}).status_code == 422
    assert visible_patients(owner).exists()


def test_the_page_of_a_patient_leads_to_the_request_and_an_empty_list_says_so(
    client: Client, owner: User, patient: Patient
) -> None:
    client = signed_in(owner)
    page = client.get(reverse("portfolio:patient", args=[patient.public_id])).content.decode()
    assert reverse("portfolio:hand_over", args=[patient.public_id]) in page
    assert "Nothing is offered" in client.get(reverse("portfolio:handing_over")).content.decode()
