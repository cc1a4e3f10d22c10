"""Pages of record sets: stage, age, the teeth that stand, and what is told."""

from __future__ import annotations

import uuid

import pytest
from django.test import Client
from django.urls import reverse

from accounts.models import User
from portfolio import services
from portfolio.models import Portfolio, RecordSet, Sheet
from portfolio.services import Entry
from tests.factories.accounts import person, signed_in
from tests.factories.portfolio import (
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


def record_set_form(row: RecordSet | None = None, **fields: str | list[str]) -> dict[str, str | list[str]]:
    standing = row.teeth.split() if row else list(services.usual_teeth("permanent"))
    return {
        "key": str(uuid.uuid4()),
        "version": str(row.version) if row else "",
        "stage": row.stage if row else "final",
        "dentition": row.dentition if row else "permanent",
        "occlusion": "intercuspal",
        "teeth": standing,
        "teeth_shown": " ".join(standing),
        **fields,
    }


def test_records_of_a_stage_come_with_an_empty_sheet_and_the_next_number(pages: Client, owner: User) -> None:
    case = case_of(owner)
    for _ in range(2):
        form = record_set_form(stage="interim", age_months="14;2")
        pages.post(reverse("portfolio:record_set_new", args=[case.public_id]), form)
    sets = RecordSet.objects.filter(case=case, stage="interim").order_by("ordinal")
    assert [(one.ordinal, one.age_months) for one in sets] == [(1, 170), (2, 170)]
    assert Sheet.objects.filter(record_set__in=sets).count() == 2


def test_a_number_in_use_is_refused(pages: Client, owner: User) -> None:
    case = case_of(owner)
    form = record_set_form(stage="initial", ordinal="1")
    answer = pages.post(reverse("portfolio:record_set_new", args=[case.public_id]), form)
    assert answer.status_code == 422
    assert "already has records of this stage" in answer.content.decode()
    assert case.record_sets.count() == 1


def test_a_mixed_dentition_asks_for_the_teeth(pages: Client, owner: User) -> None:
    row = record_set_of(case_of(owner))
    address = reverse("portfolio:record_set_edit", args=[row.public_id])
    answer = pages.post(address, record_set_form(row, dentition="mixed"))
    assert answer.status_code == 422
    assert "at least one primary tooth" in answer.content.decode()
    standing = ["16", "55", "54", "53", "12", "11", "21", "22", "63", "64", "65", "26", "36", "46"]
    pages.post(address, record_set_form(row, dentition="mixed", teeth=standing))
    row.refresh_from_db()
    assert (row.dentition, set(row.teeth.split())) == ("mixed", set(standing))


def test_a_primary_dentition_takes_its_usual_teeth_when_none_were_ticked_anew(
    pages: Client, owner: User
) -> None:
    row = record_set_of(case_of(owner))
    address = reverse("portfolio:record_set_edit", args=[row.public_id])
    pages.post(address, record_set_form(row, dentition="primary"))
    row.refresh_from_db()
    assert set(row.teeth.split()) == set(services.usual_teeth("primary"))


def test_teeth_are_listed_in_the_notation_of_the_portfolio(pages: Client, owner: User) -> None:
    PortfolioFactory(owner=owner, notation="palmer")
    row = record_set_of(case_of(owner))
    page = pages.get(reverse("portfolio:record_set_edit", args=[row.public_id])).content.decode()
    assert "UR6" in page
    assert 'value="16" checked' in page


def test_findings_stay_when_their_tooth_is_unticked_and_the_contradiction_is_told(
    pages: Client, owner: User
) -> None:
    sheet = sheet_of(owner)
    save(sheet, Entry("crossbite", "14", typed="edge"))
    row = sheet.record_set
    without = [one for one in row.teeth.split() if one != "14"]
    address = reverse("portfolio:record_set_edit", args=[row.public_id])
    pages.post(address, record_set_form(row, teeth=without))
    assert sheet.findings.get().value == "edge"
    told = pages.get(reverse("portfolio:patients", args=[row.case.patient.portfolio.public_id]))
    assert "14 has not erupted" in told.content.decode()


def test_ages_that_fall_between_stages_are_told_and_kept(pages: Client, owner: User) -> None:
    case = case_of(owner, age_months=170)
    form = record_set_form(stage="final", age_months="13;0")
    pages.post(reverse("portfolio:record_set_new", args=[case.public_id]), form)
    assert RecordSet.objects.get(stage="final").age_months == 156
    told = pages.get(reverse("portfolio:patients", args=[case.patient.portfolio.public_id])).content.decode()
    assert "The age falls from 14 y 2 m at initial to 13 y 0 m at final" in told


def test_a_late_edit_of_records_is_refused_with_both_versions(pages: Client, owner: User) -> None:
    row = record_set_of(case_of(owner))
    address = reverse("portfolio:record_set_edit", args=[row.public_id])
    pages.post(address, record_set_form(row, occlusion="retruded"))
    late = pages.post(address, record_set_form(row, occlusion="articulator"))
    assert late.status_code == 409
    assert "retruded contact" in late.content.decode()
    row.refresh_from_db()
    assert row.occlusion == "retruded"


def test_records_are_removed_after_a_question_and_not_when_they_have_moved_on(
    pages: Client, owner: User
) -> None:
    row = record_set_of(case_of(owner))
    address = reverse("portfolio:record_set_delete", args=[row.public_id])
    assert b"Remove the initial records" in pages.get(address).content
    assert pages.post(address, {"version": "7"}).status_code == 409
    assert RecordSet.objects.exists()
    pages.post(address, {"version": "1"})
    assert not RecordSet.objects.exists()


def test_lists_take_the_same_number_of_queries_whatever_they_hold(
    pages: Client, owner: User, django_assert_max_num_queries: object
) -> None:
    portfolio: Portfolio = PortfolioFactory(owner=owner)
    for _ in range(30):
        case_of(owner)
    address = reverse("portfolio:patients", args=[portfolio.public_id])
    with django_assert_max_num_queries(12):  # type: ignore[operator]
        pages.get(address)
