"""Marks are saved whole, step back and forth, and belong to their reader."""

from __future__ import annotations

import json
from typing import Any

import pytest
from django.http import HttpResponse
from django.test import Client
from django.urls import reverse
from django.utils import timezone

from accounts.models import User
from imaging.calibration import Doubt, doubt_sd_percent
from imaging.marking import selectors, services
from imaging.models import Calibration, Marking, MarkingRevision
from imaging.steps.answers import Refused
from portfolio.models import RecordItem, RecordSet
from portfolio.selectors import evidence_of, reading
from portfolio.services.answers import Entry, EvidencePiece
from portfolio.services.findings import record_findings
from portfolio.services.record_items import assign_view
from portfolio.services.record_sets import working_sheet
from tests.factories.accounts import person, signed_in
from tests.factories.imaging import taken
from tests.factories.portfolio import case_of, record_set_of
from tests.imaging.made_pictures import corner, jpeg

pytestmark = pytest.mark.django_db
KEYS = iter(f"request-{number:06}" for number in range(100_000))


@pytest.fixture
def owner() -> User:
    return person()


@pytest.fixture
def record_set(owner: User) -> RecordSet:
    return record_set_of(case_of(owner))


@pytest.fixture
def picture(owner: User, record_set: RecordSet) -> RecordItem:
    """An upper arch of 400 x 300 pixels."""
    item = taken(owner, record_set, jpeg(corner((400, 300))))
    assign_view(item, "upper", item.version)
    return item


@pytest.fixture
def browser(owner: User) -> Client:
    return signed_in(owner)


def scaled(item: RecordItem, size: str = "natural") -> None:
    """0.1 mm a pixel, ± 2 per cent; clicks at four screen pixels a pixel leave 0.09 mm on a distance."""
    assert item.file is not None
    Calibration.objects.create(
        item=item, number=1, by=item.file.owner, at=timezone.now(), request_key=next(KEYS), way="ruler",
        across=0.1, down=0.1, sd_percent=2.0, origin="ruler", size=size, words="A ruler.",
    )  # fmt: skip


def mark(kind: str, *spots: tuple[float, float], label: str = "A", zoom: float = 4.0) -> dict[str, Any]:
    return {"kind": kind, "label": label, "places": [{"x": x, "y": y, "zoom": zoom} for x, y in spots]}


WIDTH = mark("distance", (100, 100), (185, 100))


def post(browser: Client, name: str, item: RecordItem, **body: Any) -> HttpResponse:
    address = reverse(f"imaging:marks_{name}", args=[item.public_id])
    sent = {"request_key": next(KEYS), **body}
    return browser.post(address, json.dumps(sent), content_type="application/json")  # type: ignore[return-value]


def said(answer: HttpResponse) -> dict[str, Any]:
    found: dict[str, Any] = json.loads(answer.content)
    return found


def save(browser: Client, item: RecordItem, seen: int = 0, **marks: Any) -> HttpResponse:
    return post(browser, "save", item, seen=seen, marks=marks)


def take(browser: Client, item: RecordItem, **asked: Any) -> HttpResponse:
    body = {
        "version": 1,
        "mark": "m1",
        "quantity": "tooth_width",
        "site": "11",
        "sense": "",
        "code": "",
        "seen": 0,
    }
    return post(browser, "take", item, **{**body, **asked})


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


def test_a_mark_becomes_a_finding_with_its_error_its_parts_and_frozen_marks(
    owner: User, browser: Client, picture: RecordItem, record_set: RecordSet
) -> None:
    scaled(picture)
    save(browser, picture, m1=WIDTH)
    answer = take(browser, picture)
    assert answer.status_code == 200, answer.content
    sheet = working_sheet(owner, record_set)
    (finding,) = reading(sheet).findings
    assert (finding.quantity, finding.site, finding.value) == ("tooth_width", "11", "8.5")
    assert (finding.method, finding.medium, finding.sd) == ("picture", "photograph", "0.19")
    names = [name for name, _ in finding.error_parts]
    marking = Marking.objects.get()
    assert names == [f"marks/{marking.public_id}/m1", f"scale/{picture.public_id}"]
    (piece,) = evidence_of(sheet)["tooth_width", "11", 1]
    assert (piece.kind, piece.item, piece.marks) == ("marks", picture.public_id, {"m1": WIDTH})
    assert piece.source == f"imaging.marking/{marking.public_id}@1"
    assert piece.scale["across"] == 0.1
    assert piece.view["view"] == "upper"


def test_evidence_stays_as_it_was_when_the_mark_moves_on(
    owner: User, browser: Client, picture: RecordItem, record_set: RecordSet
) -> None:
    scaled(picture)
    save(browser, picture, m1=WIDTH)
    take(browser, picture)
    save(browser, picture, 1, m1=mark("distance", (0, 0), (10, 0)))
    (piece,) = evidence_of(working_sheet(owner, record_set))["tooth_width", "11", 1]
    assert piece.marks == {"m1": WIDTH}


def test_a_witness_picture_of_the_finding_stays_beside_the_marks(
    owner: User, browser: Client, picture: RecordItem, record_set: RecordSet
) -> None:
    scaled(picture)
    sheet = working_sheet(owner, record_set)
    witness = EvidencePiece("witness", picture.public_id)
    entry = Entry("tooth_width", "11", typed="8.4", evidence=(witness,))
    record_findings(owner, sheet, [entry], next(KEYS), timezone.now())
    save(browser, picture, m1=WIDTH)
    take(browser, picture, seen=1)
    assert [one.kind for one in evidence_of(sheet)["tooth_width", "11", 1]] == ["witness", "marks"]


@pytest.mark.parametrize(
    ("asked", "says"),
    [
        ({"quantity": "overjet"}, "depth from front to back"),
        ({"quantity": "curve_of_spee", "site": "right"}, "flat plate"),
        ({"quantity": "ridge_step", "site": "15-16"}, "line of sight"),
        ({"quantity": "anb", "site": "mouth"}, "tracing of the lateral radiograph"),
        ({"quantity": "no_such"}, "not known"),
        ({"site": "31"}, "shows the upper arch"),
        ({"quantity": "arch_depth", "site": "upper"}, "distance from a line"),
        ({"mark": "m9"}, "taken away"),
        ({"mark": "m2", "quantity": "rotation"}, "Choose the direction"),
    ],
)
def test_what_a_picture_does_not_give_is_refused_with_the_reason(
    browser: Client, picture: RecordItem, asked: dict[str, Any], says: str
) -> None:
    scaled(picture)
    save(browser, picture, m1=WIDTH, m2=mark("angle", (10, 0), (0, 0), (0, 10)))
    answer = take(browser, picture, **asked)
    assert answer.status_code == 422
    assert says in said(answer)["faults"][0]["message"]


@pytest.mark.parametrize("size", ["none", "film", "unknown"])
def test_a_length_becomes_a_finding_only_in_natural_size(
    browser: Client, picture: RecordItem, size: str
) -> None:
    if size != "none":
        scaled(picture, size=size)
    save(browser, picture, m1=WIDTH)
    answer = take(browser, picture)
    assert answer.status_code == 422
    assert "scale" in said(answer)["faults"][0]["message"]


def test_the_direction_that_is_chosen_gives_the_sign(
    owner: User, browser: Client, picture: RecordItem, record_set: RecordSet
) -> None:
    save(browser, picture, m1=mark("angle", (10, 0), (0, 0), (10, 10)))
    assert take(browser, picture, quantity="rotation", sense="-").status_code == 200
    assert reading(working_sheet(owner, record_set)).findings[0].value == "-45.0"


def test_a_finding_whose_mark_was_moved_since_is_offered_anew(
    owner: User, browser: Client, picture: RecordItem, record_set: RecordSet
) -> None:
    scaled(picture)
    save(browser, picture, m1=WIDTH)
    (one,) = said(take(browser, picture))["rests"]["m1"]
    assert (one["what"], one["held"], one["changed"]) == ("Tooth width, 11", "8.5 mm ± 0.19", False)
    moved = mark("distance", (100, 100), (195, 100))
    (one,) = said(save(browser, picture, 1, m1=moved))["rests"]["m1"]
    assert (one["reads"], one["changed"]) == ("9.5 mm ± 0.21", True)
    asked = {key: one[key] for key in ("quantity", "site", "sense", "code", "seen")}
    (one,) = said(take(browser, picture, version=2, **asked))["rests"]["m1"]
    assert (one["held"], one["changed"]) == ("9.5 mm ± 0.21", False)
    (piece,) = evidence_of(working_sheet(owner, record_set))["tooth_width", "11", 1]
    assert piece.marks == {"m1": moved}
    typed = Entry("tooth_width", "11", typed="9", seen=one["seen"])
    record_findings(owner, working_sheet(owner, record_set), [typed], next(KEYS), timezone.now())
    assert selectors.state(owner, picture)["rests"] == {}, "what was typed over rests on no mark"


def test_a_relation_chosen_by_eye_is_offered_anew_with_its_code_when_the_marks_move(
    browser: Client, picture: RecordItem
) -> None:
    assign_view(picture, "right", picture.version)
    save(browser, picture, m1=WIDTH)
    asked = {"quantity": "molar_relation", "site": "right", "code": "end2"}
    (one,) = said(take(browser, picture, **asked))["rests"]["m1"]
    assert not one["changed"]
    (one,) = said(save(browser, picture, 1, m1=mark("distance", (100, 100), (150, 100))))["rests"]["m1"]
    assert (one["changed"], one["code"]) == (True, "end2")


def test_causes_shared_in_a_picture_push_an_open_bite_and_an_overlap_apart(
    owner: User, browser: Client, picture: RecordItem, record_set: RecordSet
) -> None:
    assign_view(picture, "right", picture.version)
    scaled(picture)
    above = mark("from_line", (50, 100), (150, 100), (100, 120))
    save(browser, picture, m1=above, m2=above)
    assert take(browser, picture, quantity="overbite", site="12", sense="+").status_code == 200
    assert take(browser, picture, mark="m2", quantity="overbite", site="11", sense="-").status_code == 200
    overlap, open_bite = sorted(
        reading(working_sheet(owner, record_set)).findings, key=lambda one: -float(one.value)
    )
    assert (overlap.value, open_bite.value) == ("2.0", "-2.0")
    cause = f"scale/{picture.public_id}"
    assert dict(overlap.error_parts)[cause] == "0.040000"
    assert dict(open_bite.error_parts)[cause] == "-0.040000"


def test_a_length_is_rounded_once_from_all_its_digits(
    owner: User, browser: Client, picture: RecordItem, record_set: RecordSet
) -> None:
    scaled(picture)
    save(browser, picture, m1=mark("distance", (100, 100), (184.48, 100)))  # 8.448 mm
    assert take(browser, picture).status_code == 200
    save(browser, picture, 1, m2=mark("distance", (100, 100), (184.49, 100)))  # 8.449, in hundredths 8.45
    assert take(browser, picture, mark="m2", site="12", version=2).status_code == 200
    assert {one.value for one in reading(working_sheet(owner, record_set)).findings} == {"8.4"}


def test_a_ruler_stated_for_a_radiograph_allows_nothing_for_a_camera(
    browser: Client, picture: RecordItem
) -> None:
    scaled(picture)
    save(browser, picture, m1=WIDTH)
    row = Calibration.objects.get()
    sds = []
    for number, plane in enumerate(("measured", "midsagittal"), 2):
        row.pk, row.number, row.request_key, row.given = None, number, next(KEYS), {"plane": plane}
        row.save(force_insert=True)
        sds.append(float(selectors.state(row.by, picture)["results"]["m1"]["sd"].removeprefix("± ")))
    assert sds[1] ** 2 - sds[0] ** 2 == pytest.approx((8.5 * doubt_sd_percent(Doubt()) / 100) ** 2, abs=0.01)


def test_a_relation_is_what_the_eye_says_with_the_marks_beside_it(
    owner: User, browser: Client, picture: RecordItem, record_set: RecordSet
) -> None:
    assign_view(picture, "right", picture.version)
    save(browser, picture, m1=WIDTH)
    asked = {"quantity": "molar_relation", "site": "right"}
    assert "Choose what you see" in said(take(browser, picture, **asked))["faults"][0]["message"]
    assert take(browser, picture, **asked, code="end2").status_code == 200
    (finding,) = reading(working_sheet(owner, record_set)).findings
    assert (finding.value, finding.sd, finding.error_parts) == ("end2", "", ())


def test_marks_that_moved_since_are_not_taken_over_unseen(browser: Client, picture: RecordItem) -> None:
    scaled(picture)
    save(browser, picture, m1=WIDTH)
    save(browser, picture, 1, m1=mark("distance", (0, 0), (50, 0)))
    assert take(browser, picture, version=1).status_code == 409


def test_a_finding_changed_meanwhile_is_not_overwritten(
    owner: User, browser: Client, picture: RecordItem, record_set: RecordSet
) -> None:
    scaled(picture)
    save(browser, picture, m1=WIDTH)
    record_findings(
        owner,
        working_sheet(owner, record_set),
        [Entry("tooth_width", "11", typed="9")],
        next(KEYS),
        timezone.now(),
    )
    answer = take(browser, picture)
    assert answer.status_code == 409
    assert "recorded 9 there meanwhile" in said(answer)["message"]
