"""From a value on the measuring page to what it rests on, and to a witness picture."""

from __future__ import annotations

import json
import uuid
from typing import Any

import pytest
from django.test import Client
from django.urls import reverse
from django.utils import timezone

from accounts.models import User
from imaging.models import Marking, PhoneCode
from imaging.phone.services import Asked, hand_in
from portfolio.models import Evidence, RecordItem, Sheet
from portfolio.services import EvidencePiece, erase_case, undo
from portfolio.services.answers import Entry, Refused
from portfolio.services.evidence_adding import add_evidence
from tests.factories.accounts import person, signed_in
from tests.factories.imaging import taken
from tests.factories.phone import asked_code
from tests.factories.portfolio import save, sheet_of
from tests.imaging.made_pictures import corner, jpeg

pytestmark = pytest.mark.django_db
PLACE = ("overjet", "11", 1)


@pytest.fixture
def owner() -> User:
    return person()


@pytest.fixture
def sheet(owner: User) -> Sheet:
    """A sheet with an overjet that a picture witnesses."""
    made = sheet_of(owner)
    save(made, Entry("overjet", "11", typed="4.5"))
    item = taken(owner, made.record_set, jpeg(corner()))
    add_evidence(owner, made, PLACE, EvidencePiece("witness", item.public_id), "added-first", timezone.now())
    made.refresh_from_db()
    return made


@pytest.fixture
def browser(owner: User) -> Client:
    return signed_in(owner)


def enter(browser: Client, sheet: Sheet, typed: str, seen: int) -> dict[str, Any]:
    entry = {"quantity": "overjet", "site": "11", "typed": typed, "seen": seen}
    answer = browser.post(
        reverse("desk:findings", args=[sheet.public_id]),
        json.dumps({"entries": [entry], "request_key": uuid.uuid4().hex}),
        content_type="application/json",
    )
    found: dict[str, Any] = json.loads(answer.content)
    return found


def test_the_field_of_a_witnessed_value_leads_to_its_evidence(browser: Client, sheet: Sheet) -> None:
    page = browser.get(reverse("desk:measure", args=[sheet.public_id])).content.decode()
    there = reverse("imaging:evidence", args=[sheet.public_id])
    assert page.count(f"{there}#e-") == 1
    assert f'href="{there}#e-overjet-11-1"' in page
    assert (
        'id="e-overjet-11-1"'
        in browser.get(reverse("imaging:evidence", args=[sheet.public_id])).content.decode()
    )


def test_another_value_leaves_the_evidence_of_the_old_one_behind_and_undo_brings_it_back(
    owner: User, browser: Client, sheet: Sheet
) -> None:
    state = enter(browser, sheet, "5", sheet.version)
    assert "evidence" not in state["fields"]["overjet-11-1"]
    undo(owner, sheet, state["version"], "back-again", timezone.now())
    page = browser.get(reverse("desk:measure", args=[sheet.public_id])).content.decode()
    assert f'href="{reverse("imaging:evidence", args=[sheet.public_id])}#e-overjet-11-1"' in page


def test_from_a_value_to_a_code_with_the_value_chosen(browser: Client, sheet: Sheet) -> None:
    page = browser.get(
        reverse("imaging:witness", args=[sheet.public_id]), {"for": "overjet/11/1"}, follow=True
    )
    assert '<option value="overjet/11/1" selected>' in page.content.decode()


def test_the_score_page_leads_to_the_evidence(browser: Client, sheet: Sheet) -> None:
    page = browser.get(reverse("desk:score", args=[sheet.public_id, "discrepancy"])).content.decode()
    assert reverse("imaging:evidence", args=[sheet.public_id]) in page


def test_a_closed_sheet_takes_no_evidence_and_the_picture_stays(owner: User, sheet: Sheet) -> None:
    _, code = asked_code(owner, sheet.record_set, Asked("witness", sheet, PLACE))
    Sheet.objects.filter(pk=sheet.pk).update(sealed=True)
    before = Evidence.objects.count()
    hand_in(code, jpeg(corner((90, 60))), timezone.now())
    assert Evidence.objects.count() == before
    assert RecordItem.objects.filter(record_set=sheet.record_set, view="witness").count() == 1


def test_evidence_sent_twice_is_added_once(owner: User, sheet: Sheet) -> None:
    item = RecordItem.objects.get(record_set=sheet.record_set)
    piece = EvidencePiece("witness", item.public_id)
    for _ in range(2):
        add_evidence(owner, sheet, PLACE, piece, "the-same-key", timezone.now())
    assert Evidence.objects.filter(at_change=sheet.version + 1).count() == 2, "the first piece and this one"


def test_nothing_is_added_where_nothing_is_recorded_or_from_other_records(owner: User, sheet: Sheet) -> None:
    foreign = taken(owner, sheet_of(owner).record_set, jpeg(corner()))
    piece = EvidencePiece("witness", foreign.public_id)
    for place in (PLACE, ("overbite", "11", 1)):
        assert isinstance(add_evidence(owner, sheet, place, piece, uuid.uuid4().hex, timezone.now()), Refused)


def test_marks_and_codes_go_with_an_erased_case(owner: User, sheet: Sheet) -> None:
    item = RecordItem.objects.get(record_set=sheet.record_set)
    Marking.objects.create(item=item, reader=owner)
    _, code = asked_code(owner, sheet.record_set, Asked("witness", sheet, PLACE))
    hand_in(code, jpeg(corner((90, 60))), timezone.now())
    case = sheet.record_set.case
    erase_case(case, case.code)
    assert not any(model.objects.exists() for model in (Marking, PhoneCode, Evidence, RecordItem))
