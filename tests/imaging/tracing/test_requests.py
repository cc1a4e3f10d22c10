"""What the tracing page sends: who may, which bodies are taken, and how each is answered."""

from __future__ import annotations

import json
from typing import Any

import pytest
from django.http import HttpResponse
from django.test import Client

from accounts.models import User
from imaging.models import Tracing
from portfolio.models import Finding, Sheet
from portfolio.services import Entry, delete_case
from tests.factories.accounts import person, signed_in
from tests.factories.portfolio import NOON, recorded, save
from tests.factories.tracing import ON_PICTURE, begun, calibrated, radiograph_of, traced

pytestmark = pytest.mark.django_db


@pytest.fixture
def owner() -> User:
    return person()


@pytest.fixture
def tracing(owner: User) -> Tracing:
    return begun(calibrated(radiograph_of(owner)))


def sent(pages: Client, tracing: Tracing, action: str, body: Any) -> HttpResponse:
    answer = pages.post(
        f"/tracings/{tracing.public_id}/{action}/", json.dumps(body), content_type="application/json"
    )
    assert isinstance(answer, HttpResponse)
    return answer


def body(seen: int = 0, **more: Any) -> dict[str, Any]:
    return {"request_key": "a-key-of-one-request", "seen": seen, **more}


def test_a_save_answers_with_all_that_stands(owner: User, tracing: Tracing) -> None:
    answer = sent(
        signed_in(owner),
        tracing,
        "save",
        body(points={"S": ON_PICTURE["S"]}, outlines={"sella": [[1, 2], "S"]}),
    )
    assert answer.status_code == 200
    state = json.loads(answer.content)
    assert (state["version"], state["points"]) == (1, {"S": ON_PICTURE["S"]})
    assert state["outlines"] == {"sella": [[1, 2], "S"]}


def test_a_conflict_answers_409_with_what_stands(owner: User, tracing: Tracing) -> None:
    pages = signed_in(owner)
    sent(pages, tracing, "save", body(points={"S": ON_PICTURE["S"]}))
    answer = sent(
        pages, tracing, "save", {**body(points={"S": ON_PICTURE["N"]}), "request_key": "another-key"}
    )
    assert answer.status_code == 409
    assert json.loads(answer.content)["points"] == {"S": ON_PICTURE["S"]}


def test_a_refusal_answers_422_with_the_point_beside_its_reason(owner: User, tracing: Tracing) -> None:
    answer = sent(signed_in(owner), tracing, "save", body(points={"S": {"x": 5000, "y": 1}}))
    assert answer.status_code == 422
    (fault,) = json.loads(answer.content)["faults"]
    assert fault["point"] == "S"
    assert "outside the picture" in fault["message"]


@pytest.mark.parametrize("action", ["save", "step", "take-over"])
def test_a_tracing_of_somebody_else_is_not_there(tracing: Tracing, action: str) -> None:
    assert sent(signed_in(person()), tracing, action, body()).status_code == 404
    assert sent(signed_in(person(administrator=True)), tracing, action, body()).status_code == 404


def test_a_tracing_by_another_reader_of_ones_own_picture_is_not_written_to(
    owner: User, tracing: Tracing
) -> None:
    Tracing.objects.filter(pk=tracing.pk).update(reader=person())
    assert sent(signed_in(owner), tracing, "save", body(points={})).status_code == 404


def test_a_tracing_of_a_deleted_case_is_not_there(owner: User, tracing: Tracing) -> None:
    delete_case(tracing.item.record_set.case, NOON)
    assert sent(signed_in(owner), tracing, "save", body(points={})).status_code == 404


@pytest.mark.parametrize(
    ("broken", "words"),
    [
        ({"points": []}, "points must be an object"),
        ({"points": {"S": 5}}, "a point must be an object or null"),
        ({"points": {"S": {"x": "5", "y": 1}}}, "x must be a number"),
        ({"points": {"S": {"x": True, "y": 1}}}, "x must be a number"),
        ({"points": {"S": {"x": 1e9, "y": 1}}}, "x is out of range"),
        ({"points": {str(n): None for n in range(101)}}, "at most 100"),
        ({"outlines": []}, "outlines must be an object"),
        ({"outlines": {"sella": "S"}}, "an outline must be null or a list"),
        ({"outlines": {"sella": [5]}}, "a knot must be a landmark's key or a pair of numbers"),
        ({"outlines": {"sella": [[1, 2, 3]]}}, "a knot must be"),
        ({"outlines": {"sella": [[1, None]]}}, "y must be a number"),
        ({"mandibular_plane": "steep"}, "mandibular_plane is not one of the choices"),
        ({"faces": "up"}, "faces must be right or left"),
        ({"request_key": "short"}, "request_key must be"),
        ({"seen": -1}, "seen must be a whole number"),
        ({"seen": True}, "seen must be a whole number"),
    ],
)
def test_a_body_of_another_shape_answers_400_and_says_which_part(
    owner: User, tracing: Tracing, broken: dict[str, Any], words: str
) -> None:
    answer = sent(signed_in(owner), tracing, "save", {**body(), **broken})
    assert answer.status_code == 400
    assert words in json.loads(answer.content)["message"]
    tracing.refresh_from_db()
    assert tracing.version == 0


@pytest.mark.parametrize("text", ["", "{", "[]", "[" * 5000, '{"request_key": NaN}'])
def test_what_is_no_json_object_answers_400(owner: User, tracing: Tracing, text: str) -> None:
    answer = signed_in(owner).post(
        f"/tracings/{tracing.public_id}/save/", text, content_type="application/json"
    )
    assert answer.status_code == 400


def test_a_nan_coordinate_is_refused(owner: User, tracing: Tracing) -> None:
    text = '{"request_key": "a-key-of-one-request", "seen": 0, "points": {"S": {"x": NaN, "y": 1}}}'
    answer = signed_in(owner).post(
        f"/tracings/{tracing.public_id}/save/", text, content_type="application/json"
    )
    assert answer.status_code == 400


def test_undo_and_redo_are_requests_of_their_own(owner: User, tracing: Tracing) -> None:
    pages = signed_in(owner)
    sent(pages, tracing, "save", body(points={"S": ON_PICTURE["S"]}))
    answer = sent(pages, tracing, "step", {"request_key": "undo-key-1", "number": 1, "action": "undo"})
    state = json.loads(answer.content)
    assert (answer.status_code, state["points"], state["redo"]) == (200, {}, 1)
    again = sent(pages, tracing, "step", {"request_key": "redo-key-1", "number": 1, "action": "redo"})
    assert json.loads(again.content)["points"] == {"S": ON_PICTURE["S"]}
    stale = sent(pages, tracing, "step", {"request_key": "undo-key-2", "number": 9, "action": "undo"})
    assert stale.status_code == 409


def test_taking_over_answers_how_many_were_taken_and_a_stale_page_takes_nothing(owner: User) -> None:
    tracing, pages = traced(calibrated(radiograph_of(owner))), signed_in(owner)
    stale = sent(pages, tracing, "take-over", body(seen=0, take={"anb": 0}))
    assert (stale.status_code, Finding.objects.count()) == (409, 0)
    answer = sent(pages, tracing, "take-over", body(seen=1, take={"anb": 0, "impa": 0}))
    assert (answer.status_code, json.loads(answer.content)["taken"]) == (200, 2)
    assert set(Finding.objects.values_list("quantity", flat=True)) == {"anb", "impa"}


def test_taking_over_a_finding_that_was_changed_meanwhile_says_who_did_it(owner: User) -> None:
    tracing, pages = traced(calibrated(radiograph_of(owner))), signed_in(owner)
    sheet = Sheet.objects.get(record_set=tracing.item.record_set)
    recorded(save(sheet, Entry("anb", "mouth", typed="7")))
    answer = sent(pages, tracing, "take-over", body(seen=1, take={"anb": 0}))
    assert answer.status_code == 409
    assert f"{owner} has recorded 7" in json.loads(answer.content)["message"]
