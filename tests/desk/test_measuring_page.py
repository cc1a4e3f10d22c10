"""The measuring page: every field the index reads, what drops out, what is asked only when it matters."""

from __future__ import annotations

import re
import xml.etree.ElementTree as ElementTree
from pathlib import Path

import pytest
from django.test import Client
from django.urls import reverse
from pytest_django import DjangoAssertNumQueries

from accounts.models import User
from desk.measuring.layout import GROUPS, TOOTH_QUANTITIES
from portfolio import readings
from portfolio.models import Portfolio, Sheet
from portfolio.services import Entry
from portfolio.services.findings import state_free
from portfolio.vocabulary import QUANTITIES
from scoring import registry
from tests.factories.accounts import person, signed_in
from tests.factories.portfolio import NOON, recorded, save, sheet_of
from tests.factories.scoring import measured_sheet

DRAWINGS = Path(__file__).resolve().parents[2] / "templates" / "drawings"
SVG = "{http://www.w3.org/2000/svg}"
ON_THE_PAGE = (
    tuple(plan.quantity for group in GROUPS for plan in group.plans if plan.drawn) + TOOTH_QUANTITIES
)

pytestmark = pytest.mark.django_db


@pytest.fixture
def owner() -> User:
    return person(name="Odile Marchetti")


@pytest.fixture
def sheet(owner: User) -> Sheet:
    return sheet_of(owner)


@pytest.fixture
def client(owner: User) -> Client:
    return signed_in(owner)


def html_of(client: Client, sheet: Sheet) -> str:
    answer = client.get(reverse("desk:measure", args=[sheet.public_id]))
    assert answer.status_code == 200
    return answer.content.decode()


def fields_of(html: str) -> set[str]:
    """Names of the fields on the page; the forms of single teeth are templates and not counted."""
    outside = re.sub(r"<template.*?</template>", "", html, flags=re.S)
    return set(re.findall(r'data-field="([^"]+)"', outside))


def row_of(html: str, quantity: str) -> str:
    """The part of the page that belongs to one quantity."""
    start = html.index(f'data-row="{quantity}"')
    return html[html.rindex("<section", 0, start) : html.index("</section>", start)]


def test_every_quantity_the_index_reads_has_its_place_on_the_page() -> None:
    empty = readings.Sheet(stage="initial", dentition="permanent")
    read = {ask.quantity for ask in registry.needs(("discrepancy",), empty)}
    assert read <= set(ON_THE_PAGE)


def test_every_quantity_has_a_place_on_the_page_once_it_is_recorded() -> None:
    places = [plan.quantity for group in GROUPS for plan in group.plans] + list(TOOTH_QUANTITIES)
    assert sorted(places) == sorted(QUANTITIES)


@pytest.mark.parametrize(
    "finding",
    [
        "canine_relation right end2",
        "incisor_class mouth II/1",
        "rotation 12 20",
        "arch_depth upper 30",
        "habit mouth thumb",
    ],
)
def test_what_is_recorded_and_read_by_no_index_is_seen_and_can_be_changed(
    client: Client, owner: User, finding: str
) -> None:
    quantity, site, value = finding.split()
    assert f"{quantity}-{site}-1" not in fields_of(html_of(client, measured_sheet(owner)))
    html = html_of(client, measured_sheet(owner, finding))
    assert f"{quantity}-{site}-1" in fields_of(html)
    assert value in row_of(html, quantity)
    assert "Recorded besides" in html


def test_an_arch_breaks_between_its_sides(client: Client, owner: User) -> None:
    html = html_of(client, sheet_of(owner, stage="final", age_months=200))
    halves = re.findall(
        r'<div class="half half-7">(.*?)(?=<div class="half |data-messages)',
        row_of(html, "alignment_step"),
        re.S,
    )
    sites = [re.findall(r'data-site="([0-9]+)"', half) for half in halves]
    assert [(s[0], s[-1]) for s in sites] == [("17", "11"), ("21", "27"), ("47", "41"), ("31", "37")]


def test_every_field_the_index_needs_is_on_an_empty_page(client: Client, sheet: Sheet) -> None:
    empty = readings.Sheet(stage="initial", dentition="permanent")
    needed = {
        f"{ask.quantity}-{site}-1"
        for ask in registry.needs(("discrepancy",), empty)
        if ask.needed and ask.quantity not in TOOTH_QUANTITIES
        for site in ask.sites
    }
    assert needed
    assert needed <= fields_of(html_of(client, sheet))


@pytest.mark.parametrize("quantity", ON_THE_PAGE)
def test_every_quantity_has_a_drawing_that_says_what_it_shows(quantity: str) -> None:
    drawing = ElementTree.parse(DRAWINGS / f"{quantity}.svg").getroot()
    title, desc = drawing.find(f"{SVG}title"), drawing.find(f"{SVG}desc")
    assert title is not None
    assert title.text
    assert desc is not None
    assert desc.text
    assert drawing.get("aria-labelledby") == f"{title.get('id')} {desc.get('id')}"
    assert not [e.tag for e in drawing.iter() if "style" in e.attrib or e.tag == f"{SVG}style"]


def test_definition_and_drawing_stand_beside_every_quantity(client: Client, sheet: Sheet) -> None:
    html = html_of(client, sheet)
    for key in (
        ask.quantity for ask in registry.needs(["discrepancy"], readings.Sheet("initial", "permanent"))
    ):
        if key in ("molar_beyond", "molar_substitute", "retained_primary"):
            continue  # not asked on this sheet
        assert f"drawing-{key.replace('_', '-')}-title" in html, key
        assert QUANTITIES[key].definition.split("'")[0] in html, key


def test_a_missing_tooth_drops_out_of_the_rows_and_its_neighbours_become_a_contact(
    client: Client, sheet: Sheet
) -> None:
    recorded(save(sheet, Entry("missing", "14", typed="extracted")))
    fields = fields_of(html_of(client, sheet))
    assert "posterior_open_bite-14-1" not in fields
    assert "crossbite-14-1" not in fields
    assert "gap-15-13-1" in fields
    assert "gap-14-13-1" not in fields


def test_an_unerupted_tooth_drops_out_of_the_rows(client: Client, sheet: Sheet) -> None:
    recorded(save(sheet, Entry("eruption", "13", typed="unerupted")))
    assert "overjet-13-1" not in fields_of(html_of(client, sheet))


def test_a_value_recorded_before_its_tooth_went_missing_from_the_rows_stays_in_sight(
    client: Client, sheet: Sheet
) -> None:
    recorded(save(sheet, Entry("overjet", "13", typed="2"), Entry("eruption", "13", typed="partial")))
    assert "overjet-13-1" in fields_of(html_of(client, sheet))


def test_contact_with_the_palate_is_folded_until_an_overbite_is_over_3_mm(
    client: Client, sheet: Sheet
) -> None:
    assert "quantity-folded" in row_of(html_of(client, sheet), "palatal_contact")
    recorded(save(sheet, Entry("overbite", "11", typed="3")))
    assert "quantity-folded" in row_of(html_of(client, sheet), "palatal_contact")
    recorded(save(sheet, Entry("overbite", "21", typed="3.1")))
    assert "quantity-folded" not in row_of(html_of(client, sheet), "palatal_contact")


def test_the_distance_past_a_full_step_is_asked_only_on_the_side_that_is_beyond(
    client: Client, sheet: Sheet
) -> None:
    assert not [f for f in fields_of(html_of(client, sheet)) if f.startswith("molar_beyond")]
    recorded(save(sheet, Entry("molar_relation", "left", typed="beyond2")))
    fields = fields_of(html_of(client, sheet))
    assert "molar_beyond-left-1" in fields
    assert "molar_beyond-right-1" not in fields
    recorded(save(sheet, Entry("molar_beyond", "left", typed="2")))
    fields = fields_of(html_of(client, sheet))
    assert "molar_beyond-left-1" in fields
    assert "molar_beyond-right-1" not in fields


def test_the_tooth_read_instead_is_asked_where_a_first_molar_is_missing(client: Client, sheet: Sheet) -> None:
    assert not [f for f in fields_of(html_of(client, sheet)) if f.startswith("molar_substitute")]
    recorded(save(sheet, Entry("missing", "46", typed="extracted")))
    assert "molar_substitute-right-1" in fields_of(html_of(client, sheet))


def test_stored_values_are_shown_as_they_are_typed_with_their_direction_in_words(
    client: Client, sheet: Sheet
) -> None:
    recorded(
        save(
            sheet,
            Entry("overjet", "11", typed="x2"),
            Entry("overbite", "11", typed="3o"),
            Entry("crowding", "upper", typed="4.5"),
            Entry("crowding", "lower", typed="-1"),
            Entry("midline_offset", "mouth", typed="-2"),
        )
    )
    html = html_of(client, sheet)
    assert 'value="x 2"' in row_of(html, "overjet")
    assert "reverse" in row_of(html, "overjet")
    assert 'value="o 3"' in row_of(html, "overbite")
    assert "short by 4.5 mm" in row_of(html, "crowding")
    assert "1 mm to spare" in row_of(html, "crowding")
    assert "2 mm to the patient&#x27;s right" in row_of(html, "midline_offset")


def test_teeth_are_named_in_the_notation_of_the_portfolio(client: Client, sheet: Sheet, owner: User) -> None:
    Portfolio.objects.filter(owner=owner).update(notation="universal")
    html = html_of(client, sheet)
    assert re.search(r'for="f-overjet-11-1">8<', html)
    assert re.search(r'data-tooth="11" data-label="8"', html)


def test_a_tooth_with_a_recorded_state_stands_out_in_the_rows_at_once(client: Client, sheet: Sheet) -> None:
    recorded(save(sheet, Entry("anomalous", "12", typed="yes")))
    marked = re.findall(r'class="tooth[^"]*tooth-spoken[^"]*" data-tooth="(\d\d)"', html_of(client, sheet))
    assert marked == ["12"]


def test_no_two_controls_of_the_page_have_the_same_name(client: Client, sheet: Sheet) -> None:
    html = html_of(client, sheet)
    named = re.findall(r'<(?:select|input|button)[^>]*data-(?:method|sense)[^>]*aria-label="([^"]+)"', html)
    assert "Overjet: taken with" in named
    assert "Overbite: e edge to edge" in named
    assert len(named) == len(set(named)) == len(re.findall(r"data-(?:method|sense)\b", html))


def test_every_repeat_of_an_added_complexity_has_a_field_and_one_more_is_empty(
    client: Client, sheet: Sheet
) -> None:
    recorded(save(sheet, Entry("added_complexity", "mouth", nth=1, typed="scarred lip")))
    fields = fields_of(html_of(client, sheet))
    assert {"added_complexity-mouth-1", "added_complexity-mouth-2"} <= fields


def test_an_empty_field_inside_a_free_region_says_none(client: Client, sheet: Sheet, owner: User) -> None:
    recorded(state_free(owner, sheet, [("posterior_open_bite", "right")], "k" * 32, NOON))
    row = row_of(html_of(client, sheet), "posterior_open_bite")
    right = row[row.index('data-field="posterior_open_bite-16-1"') :][:900]
    left = row[row.index('data-field="posterior_open_bite-26-1"') :][:900]
    assert 'placeholder="none"' in right
    assert 'placeholder=""' in left
    assert "right: none" in row


def test_an_incomplete_total_is_written_as_a_floor(client: Client, sheet: Sheet) -> None:
    recorded(save(sheet, Entry("overjet", "11", typed="11")))
    total = re.search(r"<p[^>]* data-total>(.*?)</p>", html_of(client, sheet), re.S)
    assert total
    assert re.sub(r"<[^>]+>|\s+", " ", total.group(1)).split() == ["at", "least", "5"]


def test_primary_teeth_that_stand_are_among_the_teeth(client: Client, owner: User) -> None:
    sheet = sheet_of(owner)
    record_set = sheet.record_set
    record_set.dentition, record_set.teeth = "mixed", "16 55 54 53 12 11 21 22 63 64 65 26 46 41 31 36"
    record_set.save()
    html = html_of(client, sheet)
    assert 'data-tooth="55"' in html
    assert "crossbite-55-1" in fields_of(html)
    assert "Primary teeth kept" in html


def test_the_page_asks_the_database_as_often_for_a_full_sheet_as_for_an_empty_one(
    client: Client, sheet: Sheet, django_assert_max_num_queries: DjangoAssertNumQueries
) -> None:
    html_of(client, sheet)
    with django_assert_max_num_queries(11) as empty:
        html_of(client, sheet)
    teeth = ("13", "12", "11", "21", "22", "23")
    recorded(save(sheet, *(Entry(q, t, typed="2") for q in ("overjet", "overbite") for t in teeth)))
    with django_assert_max_num_queries(11) as full:
        html_of(client, sheet)
    assert len(full) == len(empty)
