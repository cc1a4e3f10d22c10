"""Measuring finished casts: a radiograph that was not taken, and gaps that are kept."""

from __future__ import annotations

import json
import re
import uuid

import pytest
from django.test import Client
from django.urls import reverse

from accounts.models import User
from portfolio import readings, selectors
from portfolio.models import Sheet
from portfolio.services import Entry
from portfolio.services.findings import state_free
from scoring import registry
from scoring.result import Score
from tests.factories.accounts import person, signed_in
from tests.factories.portfolio import NOON, recorded, save, sheet_of, values

pytestmark = pytest.mark.django_db
WHOLE = "root_angulation-mouth-1"


@pytest.fixture
def owner() -> User:
    return person(name="Odile Marchetti")


@pytest.fixture
def sheet(owner: User) -> Sheet:
    made = sheet_of(owner)
    made.record_set.stage = "final"
    made.record_set.save()
    return made


@pytest.fixture
def client(owner: User) -> Client:
    return signed_in(owner)


def html_of(client: Client, sheet: Sheet) -> str:
    answer = client.get(reverse("desk:measure", args=[sheet.public_id]))
    assert answer.status_code == 200
    return re.sub(r"<template.*?</template>", "", answer.content.decode(), flags=re.S)


def fields_of(html: str) -> set[str]:
    return set(re.findall(r'data-field="([^"]+)"', html))


def score_of(sheet: Sheet) -> Score:
    return registry.score("outcome", selectors.reading(Sheet.objects.get(pk=sheet.pk)))


def test_every_field_the_evaluation_needs_is_on_an_empty_page(client: Client, sheet: Sheet) -> None:
    empty = readings.Sheet("final", "permanent")
    needed = {
        f"{ask.quantity}-{site.replace('.', '_')}-1"
        for ask in registry.needs(["outcome"], empty)
        if ask.needed
        for site in ask.sites
    }
    assert needed | {WHOLE} <= fields_of(html_of(client, sheet))


def test_that_no_radiograph_was_taken_is_chosen_once_for_the_whole_mouth(
    client: Client, sheet: Sheet
) -> None:
    entry = {"quantity": "root_angulation", "site": "mouth", "typed": "not_taken"}
    answer = client.post(
        reverse("desk:findings", args=[sheet.public_id]),
        json.dumps({"entries": [entry], "request_key": uuid.uuid4().hex}),
        content_type="application/json",
        headers={"X-Requested-With": "fetch"},
    )
    assert answer.status_code == 200
    assert values(sheet) == {"root_angulation mouth": "not_taken"}
    score = score_of(sheet)
    assert "roots" not in {missing.category for missing in score.missing}
    assert [c.taken_as for c in score.conventions] == ["casts only"]
    assert re.search(r'<option value="not_taken" selected', html_of(client, sheet))


def test_a_statement_that_stands_there_is_no_choice_of_the_field_and_gives_way_to_one(
    client: Client, sheet: Sheet
) -> None:
    recorded(state_free(sheet.reader, sheet, [("root_angulation", "mouth")], uuid.uuid4().hex, NOON))
    html = html_of(client, sheet)
    assert not re.search(r'<option value="not_taken" selected', html)
    assert "whole mouth: none" in html
    seen = re.search(rf'data-field="{WHOLE}"[^>]*data-seen="([0-9]+)"', html)
    assert seen is not None
    entry = {
        "quantity": "root_angulation",
        "site": "mouth",
        "typed": "not_taken",
        "seen": int(seen.group(1)),
    }
    answer = client.post(
        reverse("desk:findings", args=[sheet.public_id]),
        json.dumps({"entries": [entry], "request_key": uuid.uuid4().hex}),
        content_type="application/json",
        headers={"X-Requested-With": "fetch"},
    )
    assert answer.status_code == 200
    assert values(sheet) == {"root_angulation mouth": "not_taken"}


def test_what_becomes_of_a_gap_is_offered_where_one_is_open(client: Client, sheet: Sheet) -> None:
    assert not {f for f in fields_of(html_of(client, sheet)) if f.startswith("gap_plan")}
    recorded(save(sheet, Entry("gap", "11-21", typed="2"), Entry("gap", "12-11", typed="0")))
    assert {f for f in fields_of(html_of(client, sheet)) if f.startswith("gap_plan")} == {"gap_plan-11-21-1"}
    assert score_of(sheet).categories["interproximal"] == 2
    recorded(save(sheet, Entry("gap_plan", "11-21", typed="keep")))
    assert "gap_plan-11-21-1" in fields_of(html_of(client, sheet))
    assert score_of(sheet).categories["interproximal"] == 0
