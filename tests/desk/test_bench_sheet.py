"""The bench sheet: the order of the page, boxes without values, the case code and nothing else of the patient."""

from __future__ import annotations

import re

import pytest
from django.test import Client
from django.urls import reverse

from accounts.models import User
from desk.measuring.layout import GROUPS, TOOTH_QUANTITIES
from portfolio.models import Sheet
from portfolio.services import Entry
from portfolio.vocabulary import QUANTITIES
from scoring import registry
from tests.factories.accounts import person, signed_in
from tests.factories.portfolio import recorded, save, sheet_of
from tests.scoring.sheets import neutral_with

pytestmark = pytest.mark.django_db
READ = {ask.quantity for ask in registry.needs(["discrepancy"], neutral_with())} | {
    "molar_beyond",
    "molar_substitute",
    "retained_primary",
}
"""What the index of the records before treatment reads."""


@pytest.fixture
def owner() -> User:
    return person(name="Odile Marchetti")


@pytest.fixture
def sheet(owner: User) -> Sheet:
    return sheet_of(owner)


@pytest.fixture
def client(owner: User) -> Client:
    return signed_in(owner)


def paper(html: str) -> str:
    """The two pages that are printed, without the drawings."""
    return re.sub(
        r"<svg.*?</svg>", "", html[html.index('class="bench-page"') : html.index("</main>")], flags=re.S
    )


def printed(client: Client, sheet: Sheet) -> str:
    return paper(client.get(reverse("desk:bench_sheet", args=[sheet.public_id])).content.decode())


def test_the_sheet_has_two_pages_with_the_case_code_on_each(client: Client, sheet: Sheet) -> None:
    html = printed(client, sheet)
    assert html.count("bench-page") == 2
    assert html.count(f"<b>{sheet.record_set.case.code}</b>") == 2
    assert "page 1 of 2" in html
    assert "page 2 of 2" in html


def test_the_quantities_stand_in_the_order_of_the_measuring_page(client: Client, sheet: Sheet) -> None:
    html = printed(client, sheet)
    labels = [
        QUANTITIES[key].label
        for group in GROUPS
        for key in ([plan.quantity for plan in group.plans] or TOOTH_QUANTITIES)
        if key in READ
    ]
    places = [html.index(f"<b>{label}</b>") for label in labels]
    assert places == sorted(places)


def test_nothing_that_tells_who_the_patient_is_is_printed(client: Client, sheet: Sheet) -> None:
    patient = sheet.record_set.case.patient
    patient.locator = "shelf 4 box 12"
    patient.save()
    assert "shelf 4" not in printed(client, sheet)
    assert "Odile" not in printed(client, sheet)


def test_no_recorded_value_is_printed(client: Client, sheet: Sheet) -> None:
    recorded(save(sheet, Entry("overjet", "11", typed="7.3")))
    assert "7.3" not in printed(client, sheet)


def test_a_missing_tooth_has_no_box(client: Client, sheet: Sheet) -> None:
    before = printed(client, sheet)
    recorded(save(sheet, Entry("missing", "14", typed="extracted")))
    after = printed(client, sheet)
    assert "15–14" in before
    assert "15–14" not in after
    assert "15–13" in after


def test_cautions_stand_on_the_sheet(client: Client, sheet: Sheet) -> None:
    html = printed(client, sheet)
    assert "never to complete a portfolio" in html
    assert "no measure of difficulty" in html
    assert "keep names off it" in html


@pytest.mark.parametrize(("notation", "tooth"), [("", "13"), ("universal", "6"), ("palmer", "UR3")])
def test_a_blank_sheet_names_no_case_and_takes_a_notation(client: Client, notation: str, tooth: str) -> None:
    html = paper(client.get(reverse("desk:bench_sheet_blank"), {"notation": notation}).content.decode())
    assert "case code <span" in html
    first = re.search(r"<small>([^<]+)</small>", html)
    assert first
    assert first.group(1) == tooth
