"""Names burned into radiographs and casts: who looked, when, and what is not printed before; and views kept elsewhere."""

from __future__ import annotations

import pytest
from django.test import Client
from django.urls import reverse

from accounts.models import User
from dossier.selectors import Wanted, printable
from imaging import selectors, services
from portfolio.models import RecordItem, RecordSet
from portfolio.photographs import BY_KEY, VIEWS, WITNESS
from portfolio.services import record_items
from tests.factories.accounts import person, signed_in
from tests.factories.imaging import taken
from tests.factories.portfolio import NOON, case_of, record_set_of
from tests.imaging.made_pictures import corner, jpeg

pytestmark = pytest.mark.django_db
ASKED = [view.key for view in VIEWS if view.text_asked and view.band != WITNESS]
"""Witness pictures are printed with the finding that rests on them only."""


@pytest.fixture
def owner() -> User:
    return person()


@pytest.fixture
def record_set(owner: User) -> RecordSet:
    return record_set_of(case_of(owner))


@pytest.fixture
def browser(owner: User) -> Client:
    return signed_in(owner)


def in_view(owner: User, record_set: RecordSet, view: str) -> RecordItem:
    item = taken(owner, record_set, jpeg(corner((60 + len(view), 40))))
    record_items.assign_view(item, view, item.version)
    return item


def stops(owner: User, record_set: RecordSet) -> str:
    return " ".join(printable(owner, record_set.case, Wanted("examiner", "a4"), NOON.date()).stops)


def test_it_is_asked_of_radiographs_casts_and_witness_pictures_only() -> None:
    assert {BY_KEY[key].band for key in ASKED} == {4, 5}
    assert all(key.startswith("casts_") or BY_KEY[key].band == 5 for key in ASKED)
    assert [view.key for view in VIEWS if view.text_asked and view.key not in ASKED] == ["witness"]


@pytest.mark.parametrize("view", ASKED)
def test_such_a_picture_stops_the_print_by_name_until_somebody_has_looked(
    owner: User, record_set: RecordSet, view: str
) -> None:
    item = in_view(owner, record_set, view)
    assert f"Initial: {BY_KEY[view].label}" in stops(owner, record_set)
    record_items.state_no_text(owner, item, item.version, NOON)
    assert stops(owner, record_set) == ""
    assert (item.no_text_by, item.no_text_at) == (owner, NOON)


def test_photographs_of_the_mouth_are_printed_without_it(owner: User, record_set: RecordSet) -> None:
    in_view(owner, record_set, "front")
    assert stops(owner, record_set) == ""


def test_the_statement_falls_with_every_change_of_the_pixels_and_stays_with_all_else(
    owner: User, record_set: RecordSet
) -> None:
    item = in_view(owner, record_set, "panoramic")
    record_items.state_no_text(owner, item, item.version, NOON)
    record_items.save_quality(item, ["sharp"], item.version)
    record_items.save_side_check(item, "left", "no_mark", item.version)
    record_items.assign_view(item, "lateral", item.version)
    assert item.no_text_at == NOON
    changes: tuple[tuple[str, dict[str, str]], ...] = (
        ("quarter_left", {}),
        ("mirror", {}),
        ("brightness", {"per_cent": "90"}),
        ("crop", {"left": "10"}),
        ("mask", {"left": "90", "outside": "on"}),
    )
    for kind, given in changes:
        services.add_operation(owner, item, kind, given, item.version)
        item.refresh_from_db()
        assert [item.no_text_by, item.no_text_at] == [None, None], kind
        record_items.state_no_text(owner, item, item.version, NOON)
    services.undo_operation(owner, item, item.version)
    item.refresh_from_db()
    assert [item.no_text_by, item.no_text_at] == [None, None]


def test_the_page_asks_keeps_name_and_time_and_takes_back(
    browser: Client, owner: User, record_set: RecordSet
) -> None:
    item = in_view(owner, record_set, "panoramic")
    own, address = (reverse(f"imaging:{name}", args=[item.public_id]) for name in ("picture", "no_text"))
    board = reverse("imaging:pictures", args=[record_set.public_id])
    assert "looked for in 1 radiograph or cast picture" in browser.get(board).content.decode()
    without = browser.post(address, {"version": item.version}, follow=True).content.decode()
    assert "Not kept: tick the statement" in without
    kept = browser.post(address, {"version": item.version, "no_text": "on"}, follow=True).content.decode()
    assert f"{owner.name} stated on" in kept
    assert "Not looked through" not in browser.get(board).content.decode()
    late = browser.post(address, {"version": item.version, "take_back": "1"}, follow=True).content.decode()
    assert "changed in another window" in late
    item.refresh_from_db()
    browser.post(address, {"version": item.version, "take_back": "1"})
    assert "I have looked at the whole picture" in browser.get(own).content.decode()
    front = in_view(owner, record_set, "front")
    shown = browser.get(reverse("imaging:picture", args=[front.public_id])).content.decode()
    assert "I have looked at the whole picture" not in shown


def test_a_view_kept_elsewhere_is_complete_said_so_and_printed_so(
    browser: Client, owner: User, record_set: RecordSet
) -> None:
    address = reverse("imaging:absent", args=[record_set.public_id])
    said = {"view": "profile", "state": "not_filed", "reason": "shelf 4"}
    shown = browser.post(address, said, follow=True).content.decode()
    assert "taken, not filed here" in shown
    assert "shelf 4" in shown
    assert "1 of 8 usual views" in shown
    browser.post(address, {"view": "panoramic", "state": "not_taken"})
    assert selectors.absent_views(owner, record_set) == {
        "profile": "taken, not filed here",
        "panoramic": "not taken",
    }
    file = printable(owner, record_set.case, Wanted("candidate", "a4"), NOON.date()).file
    words = [picture.words for band in file.stages[0].bands for picture in band.pictures]
    assert words == ["taken, not filed here", "not taken"]
    assert "shelf 4" not in repr(file), "where it lies is the owner's"
    item = in_view(owner, record_set, "profile")
    assert RecordItem.objects.filter(view="profile").get() == item, "a picture takes its place"
    browser.post(address, {"view": "panoramic", "take_back": "1"})
    assert selectors.absent_views(owner, record_set) == {}
    for wrong in ("present", "", "lost"):
        refused = browser.post(address, {"view": "left", "state": wrong}, follow=True).content.decode()
        assert "There is no such view." in refused


def test_the_next_free_view_skips_what_has_a_picture_or_a_statement(
    browser: Client, owner: User, record_set: RecordSet
) -> None:
    def free() -> str:
        view = selectors.board(owner, record_set).next_free
        return view.key if view else ""

    assert free() == "face_rest"
    in_view(owner, record_set, "face_rest")
    record_items.state_absent(record_set, "face_smiling", "not_filed", "")
    assert free() == "profile"
    item = taken(owner, record_set, jpeg(corner((90, 40))))
    chosen = {"view": "", "next_free": "profile", "version": item.version}
    browser.post(reverse("imaging:assign", args=[item.public_id]), chosen)
    item.refresh_from_db()
    assert item.view == "profile"
    for view in ("right", "front", "left", "upper", "lower"):
        record_items.state_absent(record_set, view, "not_taken", "no clinical indication")
    assert free() == ""


@pytest.mark.parametrize(
    ("given", "words", "name"),
    [
        (
            {"kind": "mask", "left": "70", "right": "2,5", "top": "1", "bottom": "90"},
            "outside the anatomy",
            "outside",
        ),
        ({"kind": "crop", "left": "12.5", "right": "7", "top": "101", "bottom": "3"}, "Top: 0 to 100", "top"),
        (
            {"kind": "crop", "left": "60", "right": "38", "top": "1", "bottom": "3"},
            "less than 5 per cent",
            "right",
        ),
        ({"kind": "brightness", "per_cent": "bright"}, "a whole number", "per_cent"),
    ],
)
def test_a_refused_operation_comes_back_with_all_that_was_typed_and_the_reason_beside_it(
    browser: Client, owner: User, record_set: RecordSet, given: dict[str, str], words: str, name: str
) -> None:
    item = in_view(owner, record_set, "front")
    answer = browser.post(
        reverse("imaging:operate", args=[item.public_id]), {**given, "version": item.version}
    )
    shown = answer.content.decode()
    assert answer.status_code == 422
    for field, value in given.items():
        assert f'name="{field}"' in shown
        assert f'value="{value}"' in shown
    assert words in shown[shown.index(f'name="{name}"') :]
    item.refresh_from_db()
    assert item.operations == []


def test_a_mask_covers_at_least_what_was_marked_to_the_tenth_and_says_so(
    owner: User, record_set: RecordSet
) -> None:
    item = in_view(owner, record_set, "panoramic")
    edges = {"left": "89,9", "right": "0", "top": "0", "bottom": "95.5"}
    services.add_operation(owner, item, "mask", {**edges, "outside": "on"}, item.version)
    assert item.operations == [
        {"kind": "mask", "left": 89.9, "right": 0, "top": 0, "bottom": 95.5, "outside": True}
    ]
    assert selectors.picture_facts(item).done == (
        "masked with one grey outside the anatomy: an area 89.9 % from the left, 95.5 % from the bottom",
    )
