"""Marks on stable structures and the superimposition page, from rows of the database to words."""

from __future__ import annotations

import json
import math
import uuid
from pathlib import Path
from typing import Any

import pytest
from django.test import Client
from django.urls import reverse

from accounts.models import User
from imaging.models import StableMarks, Tracing
from imaging.superimposing import selectors, services
from imaging.superimposing.staged import overlay
from portfolio.models import Case, RecordItem
from portfolio.services.saving import ChangedMeanwhile
from tests.factories.accounts import person, signed_in
from tests.factories.portfolio import case_of, record_set_of
from tests.factories.tracing import ON_PICTURE, begun, calibrated, pixel, placed, put, radiograph_of, traced

pytestmark = pytest.mark.django_db
PAIR: dict[str, Any] = json.loads((Path(__file__).parents[2] / "data" / "two_tracings.json").read_text())
MARKS = {
    "sella_wall": placed(*pixel(4.5, 1.0)),
    "walker": placed(*pixel(6.0, 3.5)),
    "orbital_roof": placed(*pixel(52, 14)),
}


@pytest.fixture
def owner() -> User:
    return person()


@pytest.fixture
def case(owner: User) -> Case:
    return case_of(owner)


def second_radiograph(case: Case, stage: str = "final") -> RecordItem:
    owner = case.patient.portfolio.owner
    here = record_set_of(case)
    here.pk, here.public_id, here.stage = None, uuid.uuid4(), stage
    here.save()
    return radiograph_of(owner, here, shade=120)


@pytest.fixture
def both(owner: User, case: Case) -> tuple[Tracing, Tracing]:
    """Initial and final radiograph of one case, calibrated and traced alike."""
    first = traced(calibrated(radiograph_of(owner, record_set_of(case))))
    return first, traced(calibrated(second_radiograph(case)))


def shown(owner: User, case: Case, query: str = "") -> str:
    answer = signed_in(owner).get(reverse("imaging:superimposition", args=[case.public_id]) + query)
    assert answer.status_code == 200
    return answer.content.decode()


def save(browser: Client, tracing: Tracing, points: dict[str, Any], seen: int = 0) -> Any:
    return browser.post(
        reverse("imaging:save_stable_structures", args=[tracing.public_id]),
        json.dumps({"seen": seen, "points": points, "request_key": "k" * 32}),
        content_type="application/json",
    )


def test_the_constructed_pair_comes_back_through_the_database(owner: User, case: Case) -> None:
    """Two pictures of one subject with another scale, head position and origin (`tests/data/two_tracings.json`).

    Picture coordinates are shifted as a whole so that they lie on a picture of this size; nothing else is changed.
    """
    rows = []
    for name, item in (
        ("first", radiograph_of(owner, record_set_of(case))),
        ("second", second_radiograph(case)),
    ):
        given = PAIR[name]
        RecordItem.objects.filter(pk=item.pk).update(width=2000, height=2000)
        item.refresh_from_db()
        calibrated(item, mm=float(given["mm_per_unit"]))
        row = begun(item)
        points = {key: placed(*at[:2]) for key, at in given["points"].items()}
        assert not hasattr(put(row, points), "faults")
        marks = given["fiducials"]["cranial_base"].values()
        keys = ("sella_wall", "walker", "cribriform_front", "orbital_roof")
        services.save_marks(row, {key: placed(*at[:2]) for key, at in zip(keys, marks, strict=True)}, 0)
        rows.append(row)
    stages = selectors.traced_stages(selectors.stage_lines(owner, case))
    assert [stage.label for stage in stages] == ["initial", "final"]
    laid = overlay(stages, "cranial_base").later[0]
    assert float(laid.rms) == pytest.approx(0, abs=0.01)
    told = {one.key: one for one in laid.moved}
    for key, (x, y) in PAIR["best fit of the marks, forward and up on the first picture"].items():
        assert float(told[key].across) == pytest.approx(abs(x), abs=0.051), key
        assert float(told[key].up) == pytest.approx(abs(y), abs=0.051), key


def test_marks_are_saved_one_by_one_and_taken_away(owner: User, both: tuple[Tracing, Tracing]) -> None:
    browser, tracing = signed_in(owner), both[0]
    first = save(browser, tracing, {"walker": MARKS["walker"]}).json()
    assert first == {"version": 1, "points": {"walker": MARKS["walker"]}}
    more = save(browser, tracing, {"canal_bend": {**MARKS["walker"], "uncertain": True}}, 1).json()
    assert more["points"]["canal_bend"]["uncertain"]
    assert StableMarks.objects.get().marks == {
        "cranial_base": {"walker": MARKS["walker"]},
        "mandible": {"canal_bend": {**MARKS["walker"], "uncertain": True}},
    }
    assert save(browser, tracing, {"canal_bend": None}, 2).json()["points"].keys() == {"walker"}


def test_a_repeated_request_is_answered_and_a_stale_one_is_not_written(
    owner: User, both: tuple[Tracing, Tracing]
) -> None:
    browser, tracing = signed_in(owner), both[0]
    assert save(browser, tracing, {"walker": MARKS["walker"]}).status_code == 200
    assert save(browser, tracing, {"walker": MARKS["walker"]}).json()["version"] == 1
    stale = save(browser, tracing, {"walker": None})
    assert stale.status_code == 409
    assert stale.json()["points"].keys() == {"walker"}
    with pytest.raises(ChangedMeanwhile):
        services.save_marks(tracing, {"walker": None}, 7)


def test_a_mark_outside_the_picture_or_of_no_name_refuses_the_whole(
    owner: User, both: tuple[Tracing, Tracing]
) -> None:
    wrong = {"walker": placed(901, 5), "nose": placed(5, 5), "sella_wall": MARKS["sella_wall"]}
    answer = save(signed_in(owner), both[0], wrong)
    assert answer.status_code == 422
    said = {one["point"]: one["message"] for one in answer.json()["faults"]}
    assert said.keys() == {"walker", "nose"}
    assert "901 across, 5 down; allowed: 0 to 900 across, 0 to 950 down" in said["walker"]
    assert not StableMarks.objects.exists()
    assert save(signed_in(owner), both[0], {"walker": {"x": "a", "y": 1}}).status_code == 400


def test_the_page_shows_words_drawing_table_and_scales(owner: User, both: tuple[Tracing, Tracing]) -> None:
    put(both[1], {"Pog": placed(*pixel(66, -103))})
    case = both[0].item.record_set.case
    page = shown(owner, case)
    assert 'value="sn" checked' in page
    for words in (
        'aria-label="Superimposition on S-N at S: initial in black, full lines, discs, final in red, dashes and dots, triangles',
        "Final against initial",
        "two clicks on a ruler of 100 mm",
        "within error",
        "2·√2",
        "moved",
    ):
        assert words in page, words
    row = page.split('title="Pogonion"')[1].split("</tr>")[0]
    assert "down 6.0" in row
    assert "within error" not in row


def test_a_fit_names_its_marks_and_its_residual(owner: User, both: tuple[Tracing, Tracing]) -> None:
    for tracing in both:
        services.save_marks(tracing, MARKS, 0)
    page = shown(owner, both[0].item.record_set.case)
    assert 'value="cranial_base" checked' in page
    assert "The 3 marks are left" in page
    assert "0.00 mm" in page
    assert "Anterior wall of sella, Walker&#x27;s point, Orbital roof" in page


def test_chosen_stages_and_way_stand_in_the_address(owner: User, both: tuple[Tracing, Tracing]) -> None:
    case = both[0].item.record_set.case
    traced(calibrated(second_radiograph(case, "interim")))
    page = shown(owner, case, "?stage=initial&stage=interim&stage=final&on=sn")
    assert "Interim 1 against initial" in page
    assert "Final against initial" in page
    page = shown(owner, case, "?stage=interim&stage=final")
    assert "Final against interim 1" in page
    assert "against initial" not in page


@pytest.mark.parametrize(
    ("query", "says"),
    [
        ("?stage=initial", "Choose two or three stages."),
        ("?stage=initial&stage=retention", "a stage that has no tracing of yours"),
        ("?stage=initial&stage=final&on=nose", "a way of laying that does not exist"),
        ("?stage=initial&stage=final&on=maxilla", "Maxilla: 0 of the same marks on initial and final"),
    ],
)
def test_what_the_address_asks_and_cannot_be_shown_is_said(
    owner: User, both: tuple[Tracing, Tracing], query: str, says: str
) -> None:
    assert says in shown(owner, both[0].item.record_set.case, query)


def test_four_stages_show_the_first_three(owner: User, both: tuple[Tracing, Tracing]) -> None:
    case = both[0].item.record_set.case
    for stage in ("interim", "retention"):
        traced(calibrated(second_radiograph(case, stage)))
    page = shown(owner, case, "?stage=initial&stage=interim&stage=final&stage=retention")
    assert "4 stages are chosen; the first 3 of them are shown" in page
    assert "Retention against initial" not in page


def test_without_a_scale_nothing_is_drawn(owner: User, case: Case) -> None:
    traced(radiograph_of(owner, record_set_of(case)))
    traced(calibrated(second_radiograph(case)))
    page = shown(owner, case)
    assert "No scale: initial." in page
    assert "<figure" not in page


def test_one_tracing_alone_says_what_is_needed(owner: User, case: Case) -> None:
    assert "Two tracings are needed" in shown(owner, case)
    traced(radiograph_of(owner, record_set_of(case)))
    assert "Two tracings are needed" in shown(owner, case)


def test_a_picture_that_was_turned_is_laid_as_before(owner: User, both: tuple[Tracing, Tracing]) -> None:
    """Marks and points are kept on the original: mirroring the picture moves neither."""
    for tracing in both:
        services.save_marks(tracing, MARKS, 0)
    item = both[1].item
    RecordItem.objects.filter(pk=item.pk).update(operations=[{"kind": "mirror"}])
    stages = selectors.traced_stages(selectors.stage_lines(owner, item.record_set.case))
    laid = overlay(stages, "cranial_base").later[0]
    assert laid.rms == "0.00"
    assert all(math.isclose(float(one.across), 0, abs_tol=0.01) for one in laid.moved)


def test_another_readers_tracing_is_not_laid(owner: User, both: tuple[Tracing, Tracing]) -> None:
    other = person()
    Tracing.objects.filter(pk=both[1].pk).update(reader=other)
    case = both[0].item.record_set.case
    assert "Two tracings are needed" in shown(owner, case)
    assert save(signed_in(owner), both[1], {}).status_code == 404


def test_the_page_of_marks_lists_every_structure_with_its_age_and_source(
    owner: User, both: tuple[Tracing, Tracing]
) -> None:
    address = reverse("imaging:stable_structures", args=[both[0].public_id])
    page = signed_in(owner).get(address + "?structure=maxilla").content.decode()
    for words in (
        "Walker&#x27;s point",
        "Stable from 5 to 6 years.",
        "Guide after Björk",
        "Mandibular canal, bend",
    ):
        assert words in page, words
    assert page.count("data-first") == 1
    assert "data-first" in page.split('data-key="zygomatic_upper"')[1].split(">")[0]


def test_every_point_of_the_factory_lies_on_its_picture() -> None:
    assert all(0 <= at["x"] <= 900 and 0 <= at["y"] <= 950 for at in ON_PICTURE.values())
