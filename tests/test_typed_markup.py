"""Markup typed into any field for words stays words on every page."""

from __future__ import annotations

import json

import pytest

from accounts.models import User
from portfolio.models import Case, Consent, Finding, Patient, Portfolio, RecordSet, Sheet
from portfolio.services import Entry
from tests.factories.accounts import signed_in_and_confirmed, the_cast
from tests.factories.portfolio import recorded, save
from tests.test_every_address import ADDRESSES, Address, World

pytestmark = [pytest.mark.django_db, pytest.mark.any_database]
MARKUP = "<script>f()</script>\"'><img src=x onerror=f()>{{ 7 }}{% now %}"
AS_MARKUP = ("<script>f(", "<img src=x")


def holds_markup(text: str) -> bool:
    return any(tag in text for tag in AS_MARKUP)


def write_into_every_field(who: User) -> None:
    """Put the markup wherever somebody may type words: columns, findings and their history."""
    for model, column in (
        (User, "name"),
        (Portfolio, "name"),
        (Patient, "locator"),
        (Consent, "paper_lies"),
        (Case, "note"),
        (RecordSet, "reason"),
        (Sheet, "origin"),
    ):
        assert model._default_manager.update(**{column: MARKUP}), f"{model.__name__} has no row to write into"
    for sheet in Sheet.objects.filter(reader=who):
        row = Finding.objects.filter(sheet=sheet, quantity="overjet", site="11").first()
        seen = row.changed_in if row else 0
        recorded(save(sheet, Entry("added_complexity", "mouth", nth=9, typed=MARKUP, note=MARKUP)))
        recorded(save(sheet, Entry("overjet", "11", typed="3", note=MARKUP, seen=seen)))


def test_markup_in_any_words_is_shown_and_never_run() -> None:
    cast = the_cast()
    world = World(cast)
    # Pages of the sign-in package about keys and codes show no words but the names of keys, which are its own.
    ours = [address for address in ADDRESSES if not address.name.startswith("mfa_")]
    paths = {who: [world.path(address, who) for address in ours] for who in (cast.owner, cast.administrator)}
    for who in paths:
        write_into_every_field(who)
    shown = 0
    for who, addresses in paths.items():
        browser = signed_in_and_confirmed(who)
        for path in addresses:
            answer = browser.get(path)
            if answer.headers.get("Content-Type", "").startswith("text/html"):
                text = answer.content.decode()
                assert not holds_markup(text), path
                shown += "&lt;script&gt;f(" in text
    assert shown > 10


def test_markup_is_no_markup_in_what_a_save_sends_back() -> None:
    cast = the_cast()
    sheet = Sheet.objects.get(public_id=World(cast).text(*_of_a_sheet(), cast.owner))
    browser = signed_in_and_confirmed(cast.owner)
    entry = {"quantity": "added_complexity", "site": "mouth", "typed": MARKUP, "note": MARKUP}
    seen = {"added_complexity": "as it was before"}
    for part, body in (
        ("findings", {"request_key": "a" * 32, "entries": [entry], "layouts": seen}),
        ("what-if", {"wanted": [entry], "layouts": seen}),
    ):
        answer = browser.post(
            f"/sheets/{sheet.public_id}/{part}/", json.dumps(body), content_type="application/json"
        )
        assert answer.status_code == 200, answer.content
        sent = answer.json()
        html = [sent["live"], *sent.get("rows", {}).values()]
        assert html
        assert not any(holds_markup(part) for part in html)
        assert any("&lt;script&gt;f(" in part for part in html)


def _of_a_sheet() -> tuple[Address, str]:
    return next(address for address in ADDRESSES if address.name == "desk:measure"), "sheet"
