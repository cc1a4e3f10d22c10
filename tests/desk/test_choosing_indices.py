"""What records are measured for: presets and single indices, the page that asks for them and no more."""

from __future__ import annotations

import re
import uuid

import pytest
from django.test import Client
from django.urls import reverse

from accounts.models import User
from portfolio import services
from portfolio.finding_sheet import Sheet as Frame
from portfolio.models import Sheet
from portfolio.services import Entry
from scoring import presets, registry
from scoring.models import IndexChoice, StageIndices
from tests.factories.accounts import person, signed_in
from tests.factories.portfolio import NOON, recorded, save, sheet_of
from tests.factories.scoring import measured_sheet
from tests.scoring.sheets import neutral_with

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


def choose(client: Client, sheet: Sheet, **data: object) -> str:
    answer = client.post(
        reverse("desk:choose_indices", args=[sheet.public_id]), data, follow=True, HTTP_ACCEPT="text/html"
    )
    return answer.content.decode()


def rows_of(html: str) -> set[str]:
    """Rows of the page with fields, in view or folded."""
    found = re.findall(r'<section class="quantity[^>]*data-row="([a-z_]+)"[^>]*?(hidden)?>', html, re.S)
    return {key for key, hidden in found if not hidden}


def test_an_untouched_portfolio_measures_for_the_index_of_the_stage(client: Client, sheet: Sheet) -> None:
    html = client.get(reverse("desk:measure", args=[sheet.public_id])).content.decode()
    assert "Measured for: Discrepancy index" in html
    assert "contact_offset" not in rows_of(html)
    assert "overjet" in rows_of(html)


@pytest.mark.parametrize("preset", list(presets.PRESETS))
def test_a_preset_asks_for_the_union_of_its_indices_and_for_nothing_else(
    client: Client, sheet: Sheet, preset: str
) -> None:
    html = choose(client, sheet, preset=preset)
    frame = presets.preset(preset, _frame(sheet))
    assert StageIndices.objects.get().indices.split() == list(frame)
    read = {ask.quantity for ask in registry.needs(frame, _frame(sheet))}
    needed = {ask.quantity for ask in registry.needs(frame, _frame(sheet)) if ask.needed}
    shown = rows_of(html)
    assert shown <= read
    states = set(re.findall(r'data-row-of-state="([a-z_]+)"', html))
    assert needed - {"submerged", "retained_primary"} <= shown | states


def _frame(sheet: Sheet) -> Frame:
    return Frame(sheet.record_set.stage, sheet.record_set.dentition)


def test_a_choice_holds_for_all_records_of_the_stage_and_no_others(
    client: Client, owner: User, sheet: Sheet
) -> None:
    choose(client, sheet, indices=["par"])
    other, final = sheet_of(owner), sheet_of(owner, stage="final", age_months=200)
    assert "Measured for: PAR" in client.get(reverse("desk:measure", args=[other.public_id])).content.decode()
    later = client.get(reverse("desk:measure", args=[final.public_id])).content.decode()
    assert "Measured for: PAR" not in later


def test_choosing_nothing_is_refused_in_words_and_changes_nothing(client: Client, sheet: Sheet) -> None:
    assert "Choose at least one index." in choose(client, sheet)
    assert "Nothing was changed." in choose(client, sheet, indices=["unheard"])
    assert not StageIndices.objects.exists()


def test_recorded_findings_stay_on_the_page_when_no_chosen_index_reads_them(
    client: Client, owner: User
) -> None:
    sheet = measured_sheet(owner, "anb mouth 4")
    html = choose(client, sheet, indices=["par"])
    assert "anb" in rows_of(html)
    assert "recorded, read by none of the indices chosen" in html


def test_every_chosen_index_is_scored_beside_the_fields_and_on_the_case_page(
    client: Client, owner: User
) -> None:
    sheet = measured_sheet(owner)
    html = choose(client, sheet, indices=["discrepancy", "par"])
    assert html.count('class="live-index"') == 2
    page = client.get(reverse("desk:case", args=[sheet.record_set.case.public_id])).content.decode()
    assert reverse("desk:score", args=[sheet.public_id, "par"]) in page
    assert reverse("desk:score", args=[sheet.public_id, "discrepancy"]) in page


def test_the_transfer_sheet_lists_the_rows_of_each_form_in_its_order(client: Client, owner: User) -> None:
    sheet = measured_sheet(owner, "overjet 11 11", "- anb mouth")
    choose(client, sheet, indices=["discrepancy", "par"])
    html = client.get(reverse("desk:transfer_sheet", args=[sheet.public_id])).content.decode()
    for key in ("discrepancy", "par"):
        part = html[html.index(f'id="part-{key}"') :]
        places = [
            part.index(f'<th scope="row">{label}</th>') for label in registry.index(key).categories.values()
        ]
        assert places == sorted(places)
    assert "at least 5" in re.sub(r"\s+", " ", re.sub(r"<[^>]+>", "", html))
    stranger = signed_in(person(name="Piet Vandermeulen"))
    assert stranger.get(reverse("desk:transfer_sheet", args=[sheet.public_id])).status_code == 404


def test_crowding_can_be_taken_over_from_the_space_analysis(client: Client, owner: User) -> None:
    sheet = sheet_of(owner)
    found = neutral_with(["arch_segment upper-right-back 11.5"], "space")
    recorded(services.import_sheet(owner, sheet, found, uuid.uuid4().hex, NOON))
    html = choose(client, sheet, indices=["discrepancy", "space"])
    short = registry.score("space", found).extra["upper"]["discrepancy"]  # type: ignore[index, call-overload]
    assert short.startswith("-")  # type: ignore[union-attr]
    assert f'data-offer="crowding-upper-1" data-text="{short[1:]}" data-direction="+"' in html  # type: ignore[index]
    recorded(save(sheet, Entry("crowding", "upper", typed=short[1:])))  # type: ignore[index, arg-type]
    again = client.get(reverse("desk:measure", args=[sheet.public_id])).content.decode()
    assert 'data-offer="crowding-upper-1"' not in again


def edition(client: Client, sheet: Sheet, **data: str) -> tuple[int, str]:
    answer = client.post(reverse("desk:choose_edition", args=[sheet.public_id, "par"]), data, follow=True)
    return answer.status_code, answer.content.decode()


OWN = {
    "edition": "own",
    "name": "harbour",
    "upper_anterior": "1",
    "lower_anterior": "0",
    "buccal": "2",
    "overjet": "4.5",
    "overbite": "3",
    "centreline": "3.5",
}


def test_another_set_of_weights_changes_the_total_and_is_named(client: Client, owner: User) -> None:
    sheet = measured_sheet(owner, "overjet 11 4")
    _, html = edition(client, sheet, edition="us1995")
    assert IndexChoice.objects.get().edition == "us1995"
    assert registry.index("par").edition_words("us1995") in html
    _, html = edition(client, sheet, **OWN)
    assert IndexChoice.objects.get().edition == "site:harbour:1,0,2,4.5,3,3.5"
    assert "4.5" in html
    edition(client, sheet, edition="uk1992")
    assert IndexChoice.objects.get().edition == ""


def test_wrong_weights_are_refused_beside_their_field_and_nothing_is_lost(
    client: Client, owner: User
) -> None:
    sheet = measured_sheet(owner)
    status, html = edition(client, sheet, **{**OWN, "buccal": "21", "name": "two words"})
    assert status == 422
    assert "less than or equal to 20" in html
    assert "Letters, digits" in html
    assert 'value="4.5"' in html
    assert not IndexChoice.objects.exists()
    _, html = edition(client, sheet, edition="uk1066")
    assert "That is no edition of this index" in html
