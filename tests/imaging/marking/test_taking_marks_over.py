"""Marks become findings of the sheet with their error and evidence, or are refused with the reason."""

from __future__ import annotations

from typing import Any

import pytest
from django.test import Client
from django.utils import timezone

from accounts.models import User
from imaging.calibration import Doubt, doubt_sd_percent
from imaging.marking import selectors
from imaging.models import Calibration, Marking
from portfolio.models import RecordItem, RecordSet
from portfolio.selectors import evidence_of, reading
from portfolio.services.answers import Entry, EvidencePiece
from portfolio.services.findings import record_findings
from portfolio.services.record_items import assign_view
from portfolio.services.record_sets import working_sheet
from tests.imaging.marking.asking import KEYS, WIDTH, mark, said, save, scaled, take

pytestmark = pytest.mark.django_db


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
