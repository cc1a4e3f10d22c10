"""What the measuring page saves: the answer to each kind of text, conflict, resend, undo, and what is told."""

from __future__ import annotations

import json
import uuid
from collections.abc import Mapping
from typing import Any

import pytest
from django.db import OperationalError
from django.test import Client
from django.urls import reverse
from pytest_django import DjangoAssertNumQueries

from accounts.models import User
from desk.views import measuring
from portfolio.models import Finding, Portfolio, Sheet, SheetChange
from portfolio.services import Entry
from tests.factories.accounts import person, signed_in
from tests.factories.portfolio import recorded, save, sheet_of, values

pytestmark = pytest.mark.django_db
SCRIPT = {"X-Requested-With": "fetch"}


class Page:
    """The measuring page of one person as its script uses it."""

    def __init__(self, sheet: Sheet, client: Client) -> None:
        self.sheet, self.client = sheet, client

    def post(self, name: str, body: Mapping[str, Any] | str, status: int = 200) -> dict[str, Any]:
        text = body if isinstance(body, str) else json.dumps(body)
        address = reverse(f"desk:{name}", args=[self.sheet.public_id])
        answer = self.client.post(address, text, content_type="application/json", headers=SCRIPT)
        assert answer.status_code == status, answer.content
        found: dict[str, Any] = answer.json()
        return found

    def enter(
        self, quantity: str, site: str, typed: str, *, status: int = 200, key: str = "", **more: Any
    ) -> dict[str, Any]:
        entry = {"quantity": quantity, "site": site, "typed": typed, **more}
        return self.post("findings", {"entries": [entry], "request_key": key or uuid.uuid4().hex}, status)

    def free(self, *statements: tuple[str, str], status: int = 200) -> dict[str, Any]:
        regions = [{"quantity": q, "site": s} for q, s in statements]
        return self.post("findings", {"free": regions, "request_key": uuid.uuid4().hex}, status)

    def whole_mouth(self) -> dict[str, Any]:
        return self.post("findings", {"whole_mouth": True, "request_key": uuid.uuid4().hex})

    def undo(self, number: int, status: int = 200) -> dict[str, Any]:
        return self.post("undo", {"number": number, "request_key": uuid.uuid4().hex}, status)


@pytest.fixture
def owner() -> User:
    return person(name="Odile Marchetti")


@pytest.fixture
def page(owner: User) -> Page:
    return Page(sheet_of(owner), signed_in(owner))


@pytest.mark.parametrize(
    ("quantity", "typed", "value", "text", "word"),
    [
        ("overjet", "3,5", "3.5", "3.5", ""),
        ("overjet", "3.5", "3.5", "3.5", ""),
        ("overjet", "3.5 mm", "3.5", "3.5", ""),
        ("overjet", "x2", "-2", "x 2", "reverse"),
        ("overjet", "2x", "-2", "x 2", "reverse"),
        ("overjet", "e", "0", "0", "edge"),
        ("overbite", "o3", "-3", "o 3", "open"),
        ("overbite", "−3", "-3", "o 3", "open"),
    ],
)
def test_a_typed_text_is_stored_and_echoed(
    page: Page, quantity: str, typed: str, value: str, text: str, word: str
) -> None:
    answer = page.enter(quantity, "11", typed)
    state = answer["fields"][f"{quantity}-11-1"]
    assert values(page.sheet) == {f"{quantity} 11": value}
    assert (state["text"], state.get("word", ""), state["seen"]) == (text, word, 1)


def test_a_rounded_value_says_so_beside_the_field_and_the_typed_text_stays_in_the_history(
    page: Page,
) -> None:
    answer = page.enter("overjet", "11", "3.02")
    assert answer["saved"] == [{"id": "overjet-11-1", "echo": "3.02 recorded as 3.0"}]
    assert answer["fields"]["overjet-11-1"]["text"] == "3.0"
    assert SheetChange.objects.get(sheet=page.sheet).items[0]["typed"] == "3.02"


def test_a_value_that_is_not_rounded_has_no_echo(page: Page) -> None:
    assert page.enter("overjet", "11", "3.5")["saved"][0]["echo"] == ""


@pytest.mark.parametrize("typed", ["1e3", "9.999", "1.234,5", "99", "o3", "abc", "3.5 %"])
def test_a_refused_text_is_told_beside_its_field_and_nothing_is_stored(page: Page, typed: str) -> None:
    answer = page.enter("overjet", "11", typed, status=422)
    assert [fault["id"] for fault in answer["faults"]] == ["overjet-11-1"]
    assert len(answer["faults"][0]["message"]) > 10
    assert not Finding.objects.filter(sheet=page.sheet).exists()
    assert not SheetChange.objects.filter(sheet=page.sheet).exists()


def test_a_change_by_somebody_else_is_told_with_value_name_and_time(page: Page) -> None:
    recorded(save(page.sheet, Entry("overjet", "11", typed="x4"), by=page.sheet.reader))
    answer = page.enter("overjet", "11", "5", status=409)
    (theirs,) = answer["theirs"]
    assert theirs["id"] == "overjet-11-1"
    assert theirs["by"] == "Odile Marchetti"
    assert theirs["value"] == "4 mm reverse"
    assert (theirs["text"], theirs["seen"]) == ("x 4", 1)
    assert theirs["at"] == "2 Mar 2026, 12:00 UTC"
    assert values(page.sheet) == {"overjet 11": "-4"}


def test_saving_mine_after_a_conflict_takes_the_number_the_answer_gave(page: Page) -> None:
    recorded(save(page.sheet, Entry("overjet", "11", typed="4")))
    theirs = page.enter("overjet", "11", "5", status=409)["theirs"][0]
    page.enter("overjet", "11", "5", seen=theirs["seen"])
    assert values(page.sheet) == {"overjet 11": "5"}


def test_a_cleared_value_of_somebody_else_is_told_as_nothing(page: Page) -> None:
    recorded(save(page.sheet, Entry("overjet", "11", typed="4")))
    recorded(save(page.sheet, Entry("overjet", "11", typed="", seen=1)))
    theirs = page.enter("overjet", "11", "5", seen=1, status=409)["theirs"][0]
    assert theirs["value"] == "nothing (cleared)"
    assert theirs["seen"] == 0


def test_a_resend_with_the_same_key_changes_nothing_twice_and_gets_the_same_answer(page: Page) -> None:
    first = page.enter("overjet", "11", "3.02", key="a" * 32)
    again = page.enter("overjet", "11", "3.02", key="a" * 32)
    assert SheetChange.objects.filter(sheet=page.sheet).count() == 1
    assert again["saved"] == first["saved"]
    assert again["fields"] == first["fields"]


def test_a_signed_out_page_gets_401_and_nothing_is_stored(page: Page) -> None:
    page.client.logout()
    address = reverse("desk:findings", args=[page.sheet.public_id])
    body = {"entries": [{"quantity": "overjet", "site": "11", "typed": "3"}], "request_key": "b" * 32}
    answer = page.client.post(address, body, content_type="application/json", headers=SCRIPT)
    assert answer.status_code == 401
    assert not Finding.objects.exists()


def test_a_busy_database_gives_503_and_asks_to_come_again(
    page: Page, monkeypatch: pytest.MonkeyPatch
) -> None:
    def locked(*_: object) -> None:
        raise OperationalError("database is locked")

    monkeypatch.setattr(measuring, "record_findings", locked)
    answer = page.enter("overjet", "11", "3", status=503)
    assert "busy" in answer["message"]


@pytest.mark.parametrize(
    "body",
    [
        "",
        "[]",
        "{",
        '{"request_key": "aaaaaaaaaaaa"}',
        '{"request_key": "aaaaaaaaaaaa", "entries": {}}',
        '{"request_key": "aaaaaaaaaaaa", "entries": [1]}',
        '{"request_key": "a", "entries": [{"quantity": "overjet", "site": "11", "typed": "3"}]}',
        '{"request_key": "aaaaaaaaaaaa", "entries": [{"quantity": "overjet", "site": "11", "typed": 3}]}',
        '{"request_key": "aaaaaaaaaaaa", "entries": [{"quantity": "overjet", "site": "11", "typed": "3", "seen": "1"}]}',
        '{"request_key": "aaaaaaaaaaaa", "entries": [{"quantity": "overjet", "site": "11", "typed": "3"}], "whole_mouth": true}',
        '{"request_key": "aaaaaaaaaaaa", "entries": [{"quantity": "overjet", "site": "11", "typed": "3\\u0000"}]}',
    ],
)
def test_a_body_of_another_shape_is_refused_in_words(page: Page, body: str) -> None:
    assert "unexpected" in page.post("findings", body, 400)["message"]
    assert not Finding.objects.exists()


def test_an_unknown_quantity_is_refused_and_not_an_error(page: Page) -> None:
    assert page.enter("no_such_thing", "11", "3", status=422)["faults"]


def test_one_key_states_the_rest_of_a_region_free(page: Page) -> None:
    page.enter("posterior_open_bite", "16", "2")
    answer = page.free(("posterior_open_bite", "right"), ("posterior_open_bite", "left"))
    assert values(page.sheet)["posterior_open_bite right"] == "rest_none"
    assert values(page.sheet)["posterior_open_bite left"] == "none"
    assert [s["words"] for s in answer["statements"]["posterior_open_bite"]] == [
        "left: none",
        "right: rest none",
    ]
    assert answer["fields"]["posterior_open_bite-15-1"] == {"covered": "none"}


def test_the_key_for_the_whole_mouth_states_all_that_says_nothing_yet_and_no_more(page: Page) -> None:
    page.enter("overjet", "11", "4")
    page.enter("impacted", "13", "yes")
    page.free(("crossbite", "right"), ("crossbite", "left"))
    page.whole_mouth()
    found = values(page.sheet)
    assert found["overjet mouth"] == "rest_none"
    assert "overbite mouth" not in found  # nobody has listed a single overbite
    assert found["impacted mouth"] == "rest_none"
    assert "crossbite mouth" not in found  # both sides have been stated
    for quantity in ("missing", "gap", "supernumerary", "ankylosed", "anomalous", "transposed"):
        assert found[f"{quantity} mouth"] == "none", quantity
    assert found["posterior_open_bite mouth"] == "none"
    assert found["midline_offset mouth"] == "none"
    assert found["skeletal_asymmetry mouth"] == "none"
    assert "crowding mouth" not in found  # crowding is looked at arch by arch
    before = SheetChange.objects.filter(sheet=page.sheet).count()
    page.whole_mouth()
    assert SheetChange.objects.filter(sheet=page.sheet).count() == before


def test_the_key_for_the_whole_mouth_is_undone_in_one_step(page: Page) -> None:
    page.enter("overjet", "11", "4")
    number = page.whole_mouth()["undo"]
    page.undo(number)
    assert values(page.sheet) == {"overjet 11": "4"}


def test_a_value_inside_a_free_region_is_said_to_loosen_it(page: Page) -> None:
    page.free(("missing", "mouth"))
    answer = page.enter("missing", "14", "extracted")
    assert values(page.sheet)["missing mouth"] == "rest_none"
    assert any("rest none" in words for words in answer["also"])


def test_a_statement_is_taken_back_by_clearing_it(page: Page) -> None:
    answer = page.free(("gap", "upper"))
    (statement,) = answer["statements"]["gap"]
    answer = page.enter("gap", "upper", "", seen=statement["seen"])
    assert "gap" not in answer["statements"]
    assert values(page.sheet) == {}


def test_undo_goes_back_step_by_step_and_never_undoes_its_own_undo(page: Page) -> None:
    page.enter("overjet", "11", "4")
    second = page.enter("overjet", "11", "5", seen=1)
    assert second["undo"] == 2
    first_back = page.undo(second["undo"])
    assert values(page.sheet) == {"overjet 11": "4"}
    assert first_back["undo"] == 1
    assert first_back["fields"]["overjet-11-1"]["text"] == "4"
    second_back = page.undo(first_back["undo"])
    assert values(page.sheet) == {}
    assert second_back["undo"] == 0


def test_an_undo_over_a_later_change_is_told(page: Page) -> None:
    page.enter("overjet", "11", "4")
    page.enter("overjet", "11", "5", seen=1)
    assert page.undo(1, status=409)["theirs"][0]["id"] == "overjet-11-1"
    assert values(page.sheet) == {"overjet 11": "5"}


def test_the_answer_carries_the_live_total_and_the_line_of_the_new_value(page: Page) -> None:
    live = page.enter("overjet", "11", "11")["live"]
    assert "at least" in live
    assert '<span class="figure-large">5</span>' in live
    assert "Points of the last entry" in live


def test_the_answer_carries_only_the_rows_whose_fields_have_changed(page: Page) -> None:
    known = page.enter("overjet", "11", "4")["layouts"]
    assert known == {}
    body = {
        "entries": [{"quantity": "missing", "site": "14", "typed": "extracted"}],
        "request_key": "c" * 32,
        "layouts": {"gap": "0", "overjet": "0"},
    }
    first = page.post("findings", body)
    assert set(first["rows"]) == {"gap", "overjet"}
    assert "gap-15-13-1" in first["rows"]["gap"]
    body = {
        "entries": [{"quantity": "overjet", "site": "21", "typed": "4"}],
        "request_key": "d" * 32,
        "layouts": first["layouts"],
    }
    assert page.post("findings", body)["rows"] == {}


def test_method_plane_and_note_are_recorded_with_the_value(page: Page) -> None:
    page.enter("sn_mp", "mouth", "38", plane="go_gn", method="tracing")
    page.enter("missing", "46", "extracted", note="before treatment")
    page.enter("molar_substitute", "right", "47", note="second molar has come forward")
    stored = {f.quantity: f for f in Finding.objects.filter(sheet=page.sheet)}
    assert (stored["sn_mp"].plane, stored["sn_mp"].method) == ("go_gn", "tracing")
    assert stored["missing"].note == "before treatment"
    assert stored["molar_substitute"].value == "47"


def test_a_substitute_tooth_without_a_note_is_kept_and_named_as_missing_its_note(page: Page) -> None:
    page.enter("missing", "46", "extracted")
    said = "without a note that says how it was read"
    assert said in page.enter("molar_substitute", "right", "47")["live"]
    seen = Finding.objects.get(sheet=page.sheet, quantity="molar_substitute").changed_in
    answer = page.enter("molar_substitute", "right", "47", note="it came forward", seen=seen)
    assert said not in answer["live"]


def test_medium_and_step_are_kept_and_rounding_follows_the_step(page: Page) -> None:
    page.post("sheet_settings", {"medium": "scan", "step": "0.5"})
    page.enter("overjet", "11", "3.3")
    page.sheet.refresh_from_db()
    assert (page.sheet.medium, page.sheet.step) == ("scan", "0.5")
    assert values(page.sheet) == {"overjet 11": "3.5"}


def test_an_unknown_step_is_refused(page: Page) -> None:
    page.post("sheet_settings", {"medium": "scan", "step": "0.3"}, 400)
    page.sheet.refresh_from_db()
    assert page.sheet.step == "0.1"


def test_a_closed_sheet_keeps_medium_and_step(page: Page) -> None:
    Sheet.objects.filter(pk=page.sheet.pk).update(sealed=True)
    said = page.post("sheet_settings", {"medium": "scan", "step": "1"}, 422)
    assert said == {"message": "This sheet is closed; nothing was changed."}
    page.sheet.refresh_from_db()
    assert (page.sheet.medium, page.sheet.step) == ("plaster", "0.1")


def test_a_sheet_removed_while_a_save_waited_is_told(page: Page, monkeypatch: pytest.MonkeyPatch) -> None:
    def gone(*arguments: object) -> None:
        raise Sheet.DoesNotExist

    monkeypatch.setattr(measuring, "record_findings", gone)
    said = page.enter("overjet", "11", "3", status=404)
    assert said["message"].startswith("This sheet has been removed")


def test_a_repeat_of_what_is_recorded_once_is_refused(page: Page) -> None:
    said = page.enter("overjet", "11", "3", nth=2, status=422)
    assert "once at a site" in said["faults"][0]["message"]
    assert page.enter("added_complexity", "mouth", "narrow upper jaw", nth=40_000, status=422)["faults"]
    assert values(page.sheet) == {}


def test_saving_one_value_asks_the_database_fewer_than_twelve_times(
    page: Page, django_assert_max_num_queries: DjangoAssertNumQueries
) -> None:
    page.whole_mouth()
    with django_assert_max_num_queries(20) as asked:
        page.enter("overjet", "11", "4")
    frame = ("SAVEPOINT", "RELEASE", "BEGIN", "COMMIT")
    spoken = [q["sql"] for q in asked.captured_queries if not q["sql"].startswith(frame)]
    assert len(spoken) < 12


def test_a_contradiction_is_told_in_the_notation_and_the_words_of_the_page(page: Page) -> None:
    Portfolio.objects.update(notation="universal")
    page.enter("overjet", "22", "3")
    told = page.enter("missing", "22", "lost", status=422)["faults"]
    assert [fault["message"] for fault in told] == [
        "10 is recorded as missing; overjet is not taken there: take one of them out."
    ]
    page.enter("missing", "46", "extracted")
    told = page.enter("molar_substitute", "right", "35", status=422)["faults"]
    assert [fault["message"] for fault in told] == ["20 does not stand on the right."]
