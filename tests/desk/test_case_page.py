"""The case page: stages with sheets and scores, downloads, consents, private locator."""

from __future__ import annotations

import re

import pytest
from django.db import connection
from django.test import Client
from django.test.utils import CaptureQueriesContext
from django.urls import reverse

from accounts.models import User
from portfolio import readings, services
from portfolio.models import Case, Portfolio, RecordSet, Sheet
from portfolio.selectors import reading
from scoring import registry
from tests.factories.accounts import person, signed_in
from tests.factories.portfolio import NOON, case_of, recorded, save
from tests.factories.scoring import OPEN_FRONT, loaded, measured_sheet

pytestmark = pytest.mark.django_db


@pytest.fixture
def owner() -> User:
    return person(name="Odile Marchetti")


@pytest.fixture
def client(owner: User) -> Client:
    return signed_in(owner)


def words(client: Client, case: Case) -> str:
    answer = client.get(reverse("desk:case", args=[case.public_id]))
    assert answer.status_code == 200
    return " ".join(re.sub(r"<[^>]+>", " ", answer.content.decode()).split())


def test_each_stage_shows_age_sheet_and_score(client: Client, owner: User) -> None:
    sheet = measured_sheet(owner, *OPEN_FRONT)
    case = sheet.record_set.case
    services.add_record_set(owner, case, services.RecordSetDetails(stage="final", age_months=200))
    text = words(client, case)
    assert "35 Discrepancy index" in text
    assert "16 y 8 m, permanent dentition, 28 teeth listed" in text
    assert registry.index("outcome").label in text
    assert "findings by Odile Marchetti, on plaster casts" in text


def test_an_incomplete_score_says_at_least_and_what_is_missing(client: Client, owner: User) -> None:
    sheet = measured_sheet(owner, "overjet 11 11", "- anb mouth", "- impa mouth")
    assert "at least 5 Discrepancy index; still missing: ANB, Lower incisor to mandibular plane" in words(
        client, sheet.record_set.case
    )


def test_stages_stand_in_the_order_of_treatment(client: Client, owner: User) -> None:
    case = case_of(owner, stage="final", age_months=200)
    services.add_record_set(owner, case, services.RecordSetDetails(stage="initial", age_months=150))
    services.add_record_set(owner, case, services.RecordSetDetails(stage="interim", age_months=180))
    assert "Initial, 12 y 6 m; Interim 1, 15 y 0 m; Final, 16 y 8 m" in words(client, case)


def test_contradictions_are_told(client: Client, owner: User) -> None:
    case = case_of(owner, stage="final", age_months=100)
    services.add_record_set(owner, case, services.RecordSetDetails(stage="initial", age_months=150))
    assert "The age falls from 12 y 6 m at initial to 8 y 4 m at final." in words(client, case)


def test_findings_that_no_longer_fit_are_told_in_the_notation_of_the_portfolio(
    client: Client, owner: User
) -> None:
    sheet = measured_sheet(owner, "overjet 22 3")
    case = sheet.record_set.case
    Portfolio.objects.filter(owner=owner).update(notation="universal")
    RecordSet.objects.filter(pk=sheet.record_set.pk).update(teeth="11 21 31 41 16 26 36 46")
    assert "Initial: overjet 10: 10 has not erupted" in words(client, case)


def test_the_consent_and_the_private_locator_are_shown_to_the_owner(client: Client, owner: User) -> None:
    case = case_of(owner, new_patient=services.PatientDetails(locator="shelf 4 box 12"))
    assert "No consent is recorded." in words(client, case)
    services.add_consent(
        owner,
        case.patient,
        services.ConsentDetails(
            purposes=["examination"], media=["casts"], signer="patient", signed_on=NOON.date()
        ),
    )
    text = words(client, case)
    assert "shelf 4 box 12 (seen by you only)" in text
    assert "in force this board examination; casts and scans" in text


def test_somebody_elses_case_does_not_exist(owner: User) -> None:
    sheet = measured_sheet(owner)
    stranger = signed_in(person(name="Piet Vandermeulen"))
    for name, public_id in (
        ("desk:case", sheet.record_set.case.public_id),
        ("desk:sheet_json", sheet.public_id),
        ("desk:sheet_csv", sheet.public_id),
    ):
        assert stranger.get(reverse(name, args=[public_id])).status_code == 404


def download(client: Client, sheet: Sheet, kind: str) -> tuple[str, str, str]:
    answer = client.get(reverse(f"desk:sheet_{kind}", args=[sheet.public_id]))
    assert answer.status_code == 200
    return answer.content.decode(), answer["Content-Disposition"], answer["Content-Type"]


def test_the_downloaded_files_read_back_to_the_same_sheet(client: Client, owner: User) -> None:
    sheet = measured_sheet(owner, *OPEN_FRONT, "crossbite 16 upper_inside", "crossbite mouth rest_none")
    text, _, kind = download(client, sheet, "json")
    assert kind == "application/json"
    assert readings.read_json(text) == reading(loaded(sheet))
    text, _, kind = download(client, sheet, "csv")
    assert kind == "text/csv; charset=utf-8"
    assert readings.read_csv(text) == reading(loaded(sheet))


def test_a_note_that_looks_like_a_formula_stays_a_note_and_the_page_says_so(
    client: Client, owner: User
) -> None:
    sheet = measured_sheet(owner)
    entry = services.Entry("added_complexity", "mouth", typed='=HYPERLINK("x")', note="+1 -1 @home")
    recorded(save(sheet, entry))
    text = client.get(reverse("desk:sheet_csv", args=[sheet.public_id])).content.decode()
    assert readings.read_csv(text).findings == reading(loaded(sheet)).findings
    assert "begins with = + - or @ for a formula" in words(client, sheet.record_set.case)


def test_a_file_is_named_after_code_and_stage_only(client: Client, owner: User) -> None:
    sheet = measured_sheet(owner)
    case = sheet.record_set.case
    assert download(client, sheet, "json")[1] == f'attachment; filename="{case.code}-initial.json"'
    services.add_record_set(owner, case, services.RecordSetDetails(stage="interim", age_months=200))
    later = Sheet.objects.get(record_set__case=case, record_set__stage="interim")
    assert download(client, later, "csv")[1] == f'attachment; filename="{case.code}-interim-1.csv"'


def test_the_page_takes_few_queries_whatever_the_number_of_stages(client: Client, owner: User) -> None:
    case = measured_sheet(owner, *OPEN_FRONT).record_set.case
    address = reverse("desk:case", args=[case.public_id])
    client.get(address)  # the first page of a session also writes the session
    with CaptureQueriesContext(connection) as one_stage:
        client.get(address)
    for n in range(6):
        services.add_record_set(owner, case, services.RecordSetDetails(stage="interim", age_months=200 + n))
    with CaptureQueriesContext(connection) as seven_stages:
        client.get(address)
    assert len(seven_stages) == len(one_stage) < 12
