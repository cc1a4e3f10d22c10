"""Marks are saved whole, step back and forth, and belong to their reader."""

from __future__ import annotations

from typing import Any

import pytest
from django.test import Client
from django.urls import reverse
from django.utils import timezone

from accounts.models import User
from imaging.marking import services
from imaging.models import Marking, MarkingRevision
from imaging.steps.answers import Refused
from portfolio.models import RecordItem
from tests.factories.accounts import person, signed_in
from tests.imaging.marking.asking import KEYS, WIDTH, mark, post, said, save, scaled, take

pytestmark = pytest.mark.django_db


def test_looking_at_the_page_writes_nothing(browser: Client, picture: RecordItem) -> None:
    page = browser.get(reverse("imaging:marks", args=[picture.public_id]))
    assert page.status_code == 200
    assert "no scale: angles only" not in page.content.decode(), "the script says it, from the state"
    assert Marking.objects.count() == 0


def test_a_saved_mark_comes_back_with_its_length_and_error(browser: Client, picture: RecordItem) -> None:
    scaled(picture)
    told = said(save(browser, picture, m1=WIDTH))
    assert told["version"] == 1
    assert told["results"]["m1"]["value"] == "8.5 mm"
    assert told["results"]["m1"]["sd"] == "± 0.19"
    assert "scale 0.17" in told["results"]["m1"]["parts"]
    assert said(save(browser, picture, 1, m2=mark("point", (5, 5))))["marks"].keys() == {"m1", "m2"}


def test_without_a_scale_a_length_is_refused_in_words_and_an_angle_told(
    browser: Client, picture: RecordItem
) -> None:
    told = said(save(browser, picture, m1=WIDTH, m2=mark("angle", (10, 0), (0, 0), (0, 10))))["results"]
    assert told["m1"]["value"] == ""
    assert "no scale" in told["m1"]["why"]
    assert told["m2"]["value"] == "90.0°"


def test_sizes_on_the_film_are_labelled_so(browser: Client, picture: RecordItem) -> None:
    scaled(picture, size="film")
    assert said(save(browser, picture, m1=WIDTH))["results"]["m1"]["value"] == "8.5 film mm"


def test_a_request_sent_again_is_written_once(browser: Client, picture: RecordItem) -> None:
    for _ in range(2):
        answer = post(browser, "save", picture, request_key="the-same-key", seen=0, marks={"m1": WIDTH})
        assert said(answer)["version"] == 1
    assert MarkingRevision.objects.count() == 1


def test_another_windows_save_in_between_is_a_conflict_that_shows_theirs(
    browser: Client, picture: RecordItem
) -> None:
    save(browser, picture, m1=WIDTH)
    answer = save(browser, picture, 0, m2=mark("point", (5, 5)))
    assert answer.status_code == 409
    assert said(answer)["marks"].keys() == {"m1"}


def test_undo_and_doing_again_walk_the_history_and_leave_it_whole(
    browser: Client, picture: RecordItem
) -> None:
    save(browser, picture, m1=WIDTH)
    longer = mark("distance", (100, 100), (200, 100), label="B")
    save(browser, picture, 1, m1=longer)
    back = said(post(browser, "step", picture, action="undo", number=2))
    assert back["marks"]["m1"] == WIDTH
    gone = said(post(browser, "step", picture, action="undo", number=1))
    assert gone["marks"] == {}
    assert (gone["undo"], gone["redo"]) == (0, 1)
    again = said(post(browser, "step", picture, action="redo", number=1))
    assert again["marks"]["m1"] == WIDTH
    assert [row.action for row in MarkingRevision.objects.order_by("number")] == [
        "change", "change", "undo", "undo", "redo",
    ]  # fmt: skip


def test_a_step_that_is_not_due_is_a_conflict(browser: Client, picture: RecordItem) -> None:
    save(browser, picture, m1=WIDTH)
    assert post(browser, "step", picture, action="undo", number=7).status_code == 409
    assert post(browser, "step", picture, action="redo", number=1).status_code == 409


def test_the_history_of_marks_cannot_be_rewritten(browser: Client, picture: RecordItem) -> None:
    save(browser, picture, m1=WIDTH)
    with pytest.raises(TypeError, match="append-only"):
        MarkingRevision.objects.update(number=9)
    with pytest.raises(TypeError, match="append-only"):
        MarkingRevision.objects.all().delete()


def test_a_place_outside_the_picture_refuses_the_whole_and_says_what_is_allowed(
    browser: Client, picture: RecordItem
) -> None:
    answer = save(browser, picture, m1=WIDTH, m2=mark("point", (401, 20)))
    assert answer.status_code == 422
    assert "allowed: 0 to 400 across, 0 to 300 down" in said(answer)["faults"][0]["message"]
    assert MarkingRevision.objects.count() == 0


def test_more_marks_than_a_picture_takes_are_refused(owner: User, picture: RecordItem) -> None:
    many = {f"m{number}": mark("point", (1, 1)) for number in range(services.MOST_MARKS + 1)}
    answer = services.save(owner, picture, many, 0, next(KEYS), timezone.now())
    assert isinstance(answer, Refused)


@pytest.mark.parametrize(
    "marks",
    [
        {},
        [],
        {"M 1": WIDTH},
        {"m1": {**WIDTH, "kind": "circle"}},
        {"m1": {**WIDTH, "places": WIDTH["places"][:1]}},
        {"m1": {**WIDTH, "label": "x" * 41}},
        {"m1": {**WIDTH, "label": "a\x00b"}},
        {"m1": {**WIDTH, "places": [{"x": "1", "y": 1, "zoom": 1}] * 2}},
        {"m1": {**WIDTH, "places": [{"x": True, "y": 1, "zoom": 1}] * 2}},
        {"m1": {**WIDTH, "places": [{"x": 1, "y": 1e9, "zoom": 1}] * 2}},
        {"m1": {**WIDTH, "places": [{"x": 1, "y": 1}] * 2}},
        {"m1": 7},
    ],
)
def test_a_body_of_another_shape_is_refused_and_nothing_written(
    browser: Client, picture: RecordItem, marks: Any
) -> None:
    answer = post(browser, "save", picture, seen=0, marks=marks)
    assert answer.status_code == 400
    assert Marking.objects.count() == 0


@pytest.mark.parametrize("text", [b"", b"[", b"[1]", b'{"seen": NaN}'])
@pytest.mark.parametrize("name", ["save", "step", "take"])
def test_what_is_no_object_is_refused(browser: Client, picture: RecordItem, name: str, text: bytes) -> None:
    address = reverse(f"imaging:marks_{name}", args=[picture.public_id])
    assert browser.post(address, text, content_type="application/json").status_code == 400


def test_marks_follow_the_picture_and_go_with_it(browser: Client, picture: RecordItem) -> None:
    save(browser, picture, m1=WIDTH)
    picture.delete()
    assert (Marking.objects.count(), MarkingRevision.objects.count()) == (0, 0)


def test_other_people_see_and_change_no_marks(browser: Client, picture: RecordItem) -> None:
    save(browser, picture, m1=WIDTH)
    stranger = signed_in(person())
    assert stranger.get(reverse("imaging:marks", args=[picture.public_id])).status_code == 404
    assert save(stranger, picture, 1, m1=None).status_code == 404
    assert take(stranger, picture).status_code == 404
    assert Marking.objects.get().marks == {"m1": WIDTH}


def test_a_signed_out_page_is_told_so_and_loses_nothing(picture: RecordItem) -> None:
    address = reverse("imaging:marks_save", args=[picture.public_id])
    answer = Client().post(
        address, "{}", content_type="application/json", headers={"X-Requested-With": "fetch"}
    )
    assert answer.status_code == 401
