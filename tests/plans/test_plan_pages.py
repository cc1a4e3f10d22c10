"""Pages of plans: nothing half saved, nothing typed lost, every version as it was kept."""

from __future__ import annotations

import html
import json
import re
from typing import Any

import pytest
from django.core.files.uploadedfile import SimpleUploadedFile
from django.test import Client
from pytest_django import DjangoAssertNumQueries

from accounts.models import User
from plans import plan_file, services
from plans.models import Plan as PlanRow
from plans.models import PlanVersion, PortfolioPlan
from plans.plan_file import read_text, write_text
from plans.shipped import shipped
from tests.factories.accounts import person, signed_in
from tests.factories.plans import plan, plan_of, version_of
from tests.factories.portfolio import NOON, PortfolioFactory

pytestmark = [pytest.mark.django_db, pytest.mark.any_database]

INDEX = {
    "condition.kind": "index",
    "condition.was": "index",
    "condition.index": "discrepancy",
    "condition.stage": "initial",
}


@pytest.fixture
def owner() -> User:
    return person()


@pytest.fixture
def pages(owner: User) -> Client:
    return signed_in(owner)


def text(answer: Any) -> str:
    """The words of a page, without its tags."""
    return re.sub(r"\s+", " ", html.unescape(re.sub(r"<[^>]+>", " ", answer.content.decode())))


def at(row: PlanRow, rest: str = "") -> str:
    return f"/plans/{row.public_id}/{rest}"


def form(row: PlanRow, **typed: Any) -> dict[str, Any]:
    """A slot's form as the page sends it."""
    sent = {"do": "save", "version": row.version, "label": "Hard", "records.count": "0", "note": ""}
    return {**sent, **INDEX, "condition.at_least": "20", **typed}


def test_a_plan_begins_with_slots_that_take_any_case_and_twice_sent_is_once_made(
    pages: Client, owner: User
) -> None:
    assert "No plan of yours yet" in text(pages.get("/plans/"))
    page = pages.get("/plans/new/").content.decode()
    key = re.search(r'name="key" value="([^"]+)"', page)
    assert key
    sent = {"name": "My year", "slots": "3", "key": key[1]}
    assert pages.post("/plans/new/", {**sent, "slots": "99"}).status_code == 422
    for _ in range(2):
        assert pages.post("/plans/new/", sent).status_code == 302
    (row,) = PlanRow.objects.filter(owner=owner)
    assert [slot["label"] for slot in row.draft["slots"]] == ["Slot 1", "Slot 2", "Slot 3"]
    assert "no version kept yet" in text(pages.get("/plans/"))
    assert "Any case may stand here." in text(pages.get(at(row)))


def test_an_entry_is_saved_refused_with_all_that_was_typed_or_told_of_another_window(
    pages: Client, owner: User
) -> None:
    row = plan_of(owner)
    address = at(row, "edit/slots/slot-1/")
    refused = pages.post(address, form(row, **{"condition.at_least": "2O", "label": "Harder"}))
    assert refused.status_code == 422
    assert "“2O” is not a number; write 20 or 3.5." in text(refused)
    assert 'value="2O"' in refused.content.decode()
    assert 'value="Harder"' in refused.content.decode()
    row.refresh_from_db()
    assert (row.version, row.draft) == (1, plan_file.as_json(plan()))

    saved = pages.post(address, form(row, **{"condition.at_least": "25,5"}), follow=True)
    assert "The discrepancy index before treatment is at least 25.5." in text(saved)
    assert "Undo: slot “Hard” changed" in text(saved)
    late = pages.post(address, form(row, **{"condition.at_least": "30"}))
    assert late.status_code == 409
    said = text(late)
    assert "replaces what stands there now" in said
    assert "at least 25.5." in said
    assert 'value="30"' in late.content.decode()
    row.refresh_from_db()
    assert row.draft["slots"][0]["condition"]["at_least"] == "25.5"
    twice = pages.post(address, form(PlanRow(version=1), **{"condition.at_least": "25.5"}))
    assert twice.status_code == 302, "the same form sent twice is no conflict"
    assert pages.post(address, form(row, **{"condition.at_least": "30"})).status_code == 302


def test_an_entry_that_another_window_removed_is_not_lost(pages: Client, owner: User) -> None:
    row = plan_of(owner)
    old = form(row, label="Typed long")
    services.edit_draft(
        row, 1, plan_file.read_plan({**row.draft, "slots": row.draft["slots"][1:]}), "removed"
    )
    answer = pages.post(at(row, "edit/slots/slot-1/"), old)
    assert answer.status_code == 409
    page = answer.content.decode()
    assert "removed in another window" in page
    assert 'value="Typed long"' in page
    assert f'action="{at(row, "edit/slots/new/")}"' in page
    assert pages.get(at(row, "edit/slots/slot-1/")).status_code == 404


def test_steps_reshape_the_form_and_save_nothing(pages: Client, owner: User) -> None:
    row = plan_of(owner)
    address = at(row, "edit/slots/slot-1/")
    page = pages.post(address, form(row, do="also:condition")).content.decode()
    assert 'name="condition.of[1].kind"' in page
    assert 'name="condition.of[0].at_least"' in page
    assert "The discrepancy index before treatment is at least 20." in page
    chosen = form(row, **{"do": "look", "condition.kind": "surgery"})
    assert "Treatment included jaw surgery." in text(pages.post(address, chosen))
    gone = pages.post(address, form(row, do="remove:condition")).content.decode()
    kept = re.search(r'name="removed" value="([^"]+)"', gone)
    assert kept
    sent = {
        "do": "back",
        "version": 1,
        "label": "Hard",
        "records.count": "0",
        "removed": html.unescape(kept[1]),
    }
    assert "at least 20." in text(pages.post(address, sent))
    row.refresh_from_db()
    assert row.version == 1


def test_entries_move_and_go_and_the_last_change_is_taken_back(pages: Client, owner: User) -> None:
    row = plan_of(owner)

    def labels() -> list[str]:
        row.refresh_from_db()
        return [slot["label"] for slot in row.draft["slots"]]

    def change(item: str, do: str, section: str = "slots") -> Any:
        sent = {"section": section, "item": item, "do": do, "version": row.version}
        return pages.post(at(row, "change/"), sent, follow=True)

    moved = change("slot-2", "up")
    assert labels() == ["Open", "Hard"]
    assert re.search(r'value="down"\s+autofocus', moved.content.decode()), (
        "the keyboard stays with the moved slot"
    )
    change("slot-2", "remove")
    assert labels() == ["Hard"]
    assert "cannot be removed" in text(change("slot-1", "remove"))
    row.refresh_from_db()
    pages.post(at(row, "undo/"), {"version": row.version})
    assert labels() == ["Open", "Hard"]
    stale = {"section": "slots", "item": "slot-1", "do": "remove", "version": 1}
    assert "changed in another window" in text(pages.post(at(row, "change/"), stale, follow=True))
    assert "changed in another window" in text(pages.post(at(row, "undo/"), {"version": 1}, follow=True))
    assert labels() == ["Open", "Hard"]
    for section, item, do in (
        ("about", "plan", "up"),
        ("slots", "slot-9", "up"),
        ("slots", "slot-1", "burn"),
    ):
        change(item, do, section)
    assert labels() == ["Open", "Hard"]


def test_a_draft_is_kept_once_and_its_note_is_not_lost(pages: Client, owner: User) -> None:
    row = plan_of(owner)
    late = pages.post(at(row, "keep/"), {"version": 7, "note": "as of 2027"})
    assert late.status_code == 409
    assert 'value="as of 2027"' in late.content.decode()
    kept = pages.post(at(row, "keep/"), {"version": 1, "note": "as of 2027"}, follow=True)
    assert "Version 1 is kept." in text(kept)
    assert "as of 2027" in text(kept)
    same = pages.post(at(row, "keep/"), {"version": 1, "note": ""})
    assert same.status_code == 422
    assert "Version 1 says the same" in text(same)
    assert "Nothing differs from version 1." in text(pages.get(at(row, "edit/")))
    pages.post(at(row, "edit/slots/slot-1/"), form(row, **{"condition.at_least": "25"}))
    page = text(pages.get(at(row)))
    assert "The draft has 1 change that no version holds yet." in page
    assert "at least 20." in page, "the page reads the kept version, not the draft"
    differs = text(pages.get(at(row, "compare/?old=1&new=draft")))
    assert "Only in version 1: The discrepancy index before treatment is at least 20." in differs
    assert "Only in the draft: The discrepancy index before treatment is at least 25." in differs
    assert "Nothing differs" in text(pages.get(at(row, "compare/?old=1&new=1")))
    assert pages.get(at(row, "compare/?old=x&new=9")).status_code == 200


def test_a_plan_file_goes_out_and_comes_in_the_same_after_it_was_read(pages: Client, owner: User) -> None:
    version = version_of(owner, shipped()["tarnfield_eight"])
    answer = pages.get(f"/plan-versions/{version.public_id}/file/")
    assert answer["Content-Disposition"] == 'attachment; filename="tarnfield-eight-version-1.json"'
    assert read_text(answer.content.decode()) == shipped()["tarnfield_eight"]
    assert pages.get(at(version.plan, "file/")).content == answer.content

    colleague = person()
    theirs = signed_in(colleague)
    preview = theirs.post("/plans/import/", {"file": SimpleUploadedFile("plan.json", answer.content)})
    assert preview.status_code == 200
    assert shipped()["tarnfield_eight"].slots[0].label in text(preview)
    assert not PlanRow.objects.filter(owner=colleague).exists(), "nothing is saved before it is confirmed"
    hidden = {
        name: html.unescape(value)
        for name, value in re.findall(r'name="(text|key)" value="([^"]*)"', preview.content.decode())
    }
    for _ in range(2):
        assert theirs.post("/plans/import/", hidden).status_code == 302
    (made,) = PlanRow.objects.filter(owner=colleague)
    assert plan_file.read_plan(made.draft) == shipped()["tarnfield_eight"]


def test_all_faults_of_a_plan_file_are_told_with_their_places_and_nothing_is_saved(pages: Client) -> None:
    data = json.loads(write_text(plan()))
    data["slots"][0]["condition"]["at_least"] = 20
    data["slots"][1]["label"] = ""
    data["order"] = ["sideways"]
    for content, places in (
        (json.dumps(data).encode(), ("slots[0].condition.at_least", "slots[1].label", "order[0]")),
        (b"{", ("file",)),
        (b"\xff\xfe\x00", ()),
    ):
        answer = pages.post("/plans/import/", {"file": SimpleUploadedFile("plan.json", content)})
        assert answer.status_code == 422
        for place in places:
            assert f"{place} :" in text(answer), place
    assert (
        pages.post("/plans/import/", {"text": "{", "key": "c0ffee00-0000-4000-8000-000000000000"}).status_code
        == 422
    )
    assert not PlanRow.objects.exists()


def test_a_shipped_plan_is_copied_with_its_first_version_and_put_away_and_taken_out(
    pages: Client, owner: User
) -> None:
    page = pages.get("/plans/shipped/larkmoor_six/")
    assert "belongs to no board" in text(page)
    key = re.search(r'name="key" value="([^"]+)"', page.content.decode())
    assert key
    for _ in range(2):
        pages.post("/plans/shipped/larkmoor_six/", {"key": key[1]})
    (row,) = PlanRow.objects.filter(owner=owner)
    assert PlanVersion.objects.get(plan=row).number == 1
    pages.post(at(row, "archive/"))
    assert "No plan of yours yet" in text(pages.get("/plans/"))
    pages.post(at(row, "restore/"))
    assert "No plan of yours yet" not in text(pages.get("/plans/"))
    copied = pages.post(at(row, "copy/"), follow=True)
    assert "Larkmoor six copy" in text(copied)


def test_a_portfolio_is_held_against_a_version_and_moved_by_a_look_and_a_click(
    pages: Client, owner: User
) -> None:
    portfolio = PortfolioFactory(owner=owner)
    address = f"/portfolios/{portfolio.public_id}/plan/"
    assert "held against no plan yet" in text(pages.get(address))
    first = version_of(owner)
    row = first.plan
    look = pages.get(f"{address}to/{first.public_id}/")
    assert "The discrepancy index before treatment is at least 20." in text(look)
    assert not PortfolioPlan.objects.exists()
    pages.post(f"{address}to/{first.public_id}/", {"seen": ""})
    assert "version 1, since" in text(pages.get(address))
    assert "The board's current instructions prevail." in text(pages.get(address))

    pages.post(at(row, "edit/slots/slot-1/"), form(row, **{"condition.at_least": "25"}))
    row.refresh_from_db()
    second = services.keep_version(owner, row, row.version, "harder", NOON)
    told = text(pages.get(address))
    assert "Version 2 of this plan is there; this portfolio stays with version 1 until you move it." in told
    assert "is at least 20." in told
    look = pages.get(f"{address}to/{second.public_id}/")
    assert "Only in version 2: The discrepancy index before treatment is at least 25." in text(look)
    late = pages.post(f"{address}to/{second.public_id}/", {"seen": ""})
    assert late.status_code == 409
    assert PortfolioPlan.objects.get().plan_version == first
    pages.post(f"{address}to/{second.public_id}/", {"seen": str(first.public_id)})
    assert PortfolioPlan.objects.get().plan_version == second
    pages.post(f"{address}none/", {"seen": str(first.public_id)})
    assert PortfolioPlan.objects.exists(), "a page that had seen another version lets go of nothing"
    assert "Hold this portfolio against no plan?" in text(pages.get(f"{address}none/"))
    pages.post(f"{address}none/", {"seen": str(second.public_id)})
    assert not PortfolioPlan.objects.exists()


def test_somebody_elses_version_cannot_be_chosen(pages: Client, owner: User) -> None:
    portfolio, foreign = PortfolioFactory(owner=owner), version_of(person())
    address = f"/portfolios/{portfolio.public_id}/plan/to/{foreign.public_id}/"
    assert pages.get(address).status_code == 404
    assert pages.post(address, {"seen": ""}).status_code == 404
    assert not PortfolioPlan.objects.exists()


def test_pages_take_the_same_few_queries_whatever_there_is(
    pages: Client, owner: User, django_assert_max_num_queries: DjangoAssertNumQueries
) -> None:
    addresses = ["/plans/"]
    for number in range(4):
        version = version_of(owner, plan(f"Plan {number}"))
        portfolio = PortfolioFactory(owner=owner)
        services.choose_version(owner, portfolio, version, None, NOON)
    addresses += [at(version.plan), at(version.plan, "edit/"), f"/portfolios/{portfolio.public_id}/plan/"]
    pages.get("/plans/")
    for address in addresses:
        with django_assert_max_num_queries(9):
            pages.get(address)
