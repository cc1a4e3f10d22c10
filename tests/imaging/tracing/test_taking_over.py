"""Measures become findings with plane, error, its parts and frozen points; what moves since is offered, never taken."""

from __future__ import annotations

import math
import uuid
from decimal import Decimal

import pytest

from accounts.models import User
from imaging.cephalometry.registry import MEASURES
from imaging.evidence import shown_evidence
from imaging.models import Tracing
from imaging.steps.answers import Saved
from imaging.tracing import selectors
from imaging.tracing.as_face import Placed
from imaging.tracing.taking_over import take_over
from portfolio import services
from portfolio.models import Finding, RecordItem, Sheet
from portfolio.selectors import evidence_of
from portfolio.services import Answer, Entry, RecordSetDetails
from portfolio.services.answers import EvidencePiece
from portfolio.vocabulary import QUANTITIES
from tests.factories.accounts import person
from tests.factories.portfolio import NOON, changed, recorded, refused, save
from tests.factories.tracing import ON_PICTURE, begun, calibrated, placed, put, radiograph_of, traced

pytestmark = pytest.mark.django_db


@pytest.fixture
def owner() -> User:
    return person()


@pytest.fixture
def item(owner: User) -> RecordItem:
    return calibrated(radiograph_of(owner))


@pytest.fixture
def tracing(item: RecordItem) -> Tracing:
    return traced(item)


def offers(tracing: Tracing) -> dict[str, dict[str, object]]:
    return {one["key"]: one for one in selectors.state(tracing, tracing.reader)["offers"]}


def take(tracing: Tracing, *keys: str, seen: dict[str, int] | None = None) -> Answer:
    now = offers(tracing)
    wanted = seen or {key: int(str(now[key]["seen"])) if key in now else 0 for key in keys}
    return take_over(tracing.reader, tracing, wanted, uuid.uuid4().hex, NOON)


def finding(tracing: Tracing, key: str) -> Finding:
    return Finding.objects.get(sheet__record_set=tracing.item.record_set, quantity=key)


def piece(tracing: Tracing, key: str) -> EvidencePiece:
    sheet = Sheet.objects.get(record_set=tracing.item.record_set)
    (one,) = evidence_of(sheet)[(key, "mouth", 1)]
    return one


def nudged(name: str, across: float = 0, down: float = 0) -> dict[str, Placed | None]:
    at = ON_PICTURE[name]
    return {name: placed(at["x"] + across, at["y"] + down)}


def test_the_three_of_the_discrepancy_index_become_findings_with_method_plane_error_and_medium(
    tracing: Tracing,
) -> None:
    recorded(take(tracing, "anb", "sn_mp", "impa"))
    told = {key: finding(tracing, key) for key in ("anb", "sn_mp", "impa")}
    # SNA 82.0, SNB 80.0: the face is constructed on these ideals.
    assert [(one.value, one.plane) for one in told.values()] == [
        ("2.0", ""),
        (told["sn_mp"].value, "go_me"),
        (told["impa"].value, "go_me"),
    ]
    assert {(one.method, one.medium) for one in told.values()} == {("tracing", "radiograph")}
    assert all(Decimal(one.sd) > 0 for one in told.values())


def test_named_parts_come_to_the_deviation_and_carry_tracing_point_and_axis(tracing: Tracing) -> None:
    recorded(take(tracing, "anb", "wits"))
    for key in ("anb", "wits"):
        row = finding(tracing, key)
        together = math.sqrt(sum(float(part) ** 2 for part in row.error_parts.values()))
        assert together == pytest.approx(float(row.sd), abs=0.006)
    scale = f"scale/{tracing.item.public_id}"
    points = {name.rpartition("/")[2] for name in finding(tracing, "anb").error_parts}
    assert points == {"N.x", "N.y", "A.x", "A.y", "B.x", "B.y"}
    assert scale not in finding(tracing, "anb").error_parts
    assert scale in finding(tracing, "wits").error_parts
    assert all(
        name == scale or name.startswith(f"tracing/{tracing.public_id}/")
        for name in finding(tracing, "wits").error_parts
    )


def test_two_findings_of_one_tracing_share_the_names_of_what_they_share(tracing: Tracing) -> None:
    recorded(take(tracing, "sna", "snb"))
    shared = finding(tracing, "sna").error_parts.keys() & finding(tracing, "snb").error_parts.keys()
    assert {name.rpartition("/")[2] for name in shared} == {"S.x", "S.y", "N.x", "N.y"}


def test_every_measure_that_the_vocabulary_knows_is_taken_at_once(tracing: Tracing) -> None:
    keys = list(offers(tracing))
    assert set(keys) == set(MEASURES) == {key for key, one in QUANTITIES.items() if one.group == "radiograph"}
    recorded(take(tracing, *keys))
    assert Finding.objects.count() == len(MEASURES)
    assert all(one["same"] for one in offers(tracing).values())


def test_evidence_freezes_the_points_the_scale_and_how_the_picture_lay(tracing: Tracing) -> None:
    recorded(take(tracing, "sn_mp"))
    one = piece(tracing, "sn_mp")
    assert (one.kind, one.item) == ("tracing", tracing.item.public_id)
    assert one.source == f"imaging.tracing/{tracing.public_id}@1"
    assert one.marks == {
        "points": {name: ON_PICTURE[name] for name in ("S", "N", "Go", "Me")},
        "forward": "right",
        "mandibular_plane": "go_me",
    }
    assert (one.scale["across"], one.scale["size"], one.view["original"]) == (0.2, "natural", [900, 950])
    put(tracing, nudged("N", 30))
    assert piece(tracing, "sn_mp") == one


def test_the_page_of_evidence_draws_the_landmarks_a_measure_was_read_from(tracing: Tracing) -> None:
    recorded(take(tracing, "sn_mp"))
    put(tracing, nudged("N", 30))
    (one,) = shown_evidence(tracing.reader, Sheet.objects.get(), "fdi")
    (shown,) = one.pieces
    assert shown.points == "S, N, Me, Go", (
        "in the order of the list of landmarks, whatever the database keeps"
    )
    assert shown.crop is not None
    drawn = {(round(shown.crop.left + x), round(shown.crop.top + y)) for x, y in shown.crop.points}
    frozen = {name: ON_PICTURE[name] for name in ("S", "N", "Go", "Me")}
    assert drawn == {(round(at["x"]), round(at["y"])) for at in frozen.values()}


def test_a_moved_landmark_offers_old_and_new_and_changes_nothing_by_itself(tracing: Tracing) -> None:
    recorded(take(tracing, "anb", "impa"))
    put(tracing, nudged("A", 15))
    offer = offers(tracing)["anb"]
    assert (offer["now"], offer["changed"], offer["same"]) == ("2.0", True, False)
    assert float(str(offer["value"])) > 3
    assert not offers(tracing)["impa"]["changed"]
    assert finding(tracing, "anb").value == "2.0"
    recorded(take(tracing, "anb"))
    assert finding(tracing, "anb").value == offer["value"]
    assert piece(tracing, "anb").source.endswith("@2")
    assert offers(tracing)["anb"]["same"]


def test_undoing_a_taking_over_on_the_sheet_brings_value_error_and_evidence_back(tracing: Tracing) -> None:
    recorded(take(tracing, "anb"))
    before = finding(tracing, "anb")
    put(tracing, nudged("A", 15))
    number = recorded(take(tracing, "anb")).number
    sheet = Sheet.objects.get(record_set=tracing.item.record_set)
    recorded(services.undo(tracing.reader, sheet, number, "undo-taking", NOON))
    after = finding(tracing, "anb")
    assert (after.value, after.sd, after.error_parts) == (before.value, before.sd, before.error_parts)
    assert piece(tracing, "anb").source.endswith("@1")
    assert offers(tracing)["anb"]["changed"]


def test_a_point_marked_uncertain_offers_the_larger_error(tracing: Tracing) -> None:
    recorded(take(tracing, "anb"))
    at = ON_PICTURE["A"]
    put(tracing, {"A": placed(at["x"], at["y"], uncertain=True)})
    offer = offers(tracing)["anb"]
    assert (offer["value"], offer["changed"]) == (offer["now"], True)
    assert float(str(offer["sd"])) > float(str(offer["now_sd"]))


def test_another_mandibular_plane_offers_the_angles_that_follow_it(tracing: Tracing) -> None:
    recorded(take(tracing, "anb", "sn_mp", "impa"))
    put(tracing, {}, mandibular_plane="go_gn")
    assert {key for key, one in offers(tracing).items() if one["changed"]} == {"sn_mp", "impa"}
    recorded(take(tracing, "sn_mp"))
    assert finding(tracing, "sn_mp").plane == "go_gn"


def test_another_scale_offers_the_lengths(tracing: Tracing, item: RecordItem) -> None:
    recorded(take(tracing, "anb", "ans_me"))
    calibrated(item, mm=0.21)
    now = offers(tracing)
    assert now["ans_me"]["changed"]
    assert (now["anb"]["value"], now["anb"]["now"]) == ("2.0", "2.0")


def test_a_finding_whose_point_is_gone_is_named_as_left_behind(tracing: Tracing) -> None:
    recorded(take(tracing, "anb"))
    put(tracing, {"A": None})
    state = selectors.state(tracing, tracing.reader)
    assert state["left_behind"] == [{"key": "anb", "label": "ANB", "now": "2.0", "why": "missing A"}]
    assert finding(tracing, "anb").value == "2.0"


def test_a_finding_typed_by_hand_is_not_said_to_come_from_the_tracing(tracing: Tracing) -> None:
    sheet = Sheet.objects.get(record_set=tracing.item.record_set)
    recorded(save(sheet, Entry("anb", "mouth", typed="2", method="tracing")))
    offer = offers(tracing)["anb"]
    assert (offer["now"], offer["from_here"], offer["same"], offer["changed"]) == ("2", False, False, False)
    recorded(take(tracing, "anb"))
    assert offers(tracing)["anb"]["same"]


def test_a_finding_changed_meanwhile_is_not_overwritten(tracing: Tracing) -> None:
    sheet = Sheet.objects.get(record_set=tracing.item.record_set)
    recorded(save(sheet, Entry("anb", "mouth", typed="7")))
    (theirs,) = changed(take(tracing, "anb", seen={"anb": 0})).theirs
    assert (theirs.value, finding(tracing, "anb").value) == ("7", "7")


def test_the_value_is_rounded_once_to_the_step_of_the_sheet(tracing: Tracing) -> None:
    value = selectors.state(tracing, tracing.reader)["values"]["impa"]["value"]
    sheet = Sheet.objects.get(record_set=tracing.item.record_set)
    for step, places in (("0.01", 2), ("0.1", 1), ("1", 0)):
        services.edit_sheet(sheet, medium=sheet.medium, step=step)
        assert float(str(offers(tracing)["impa"]["value"])) == pytest.approx(round(value, places), abs=1e-9)


def test_without_a_scale_lengths_are_refused_and_angles_have_no_error(owner: User) -> None:
    tracing = traced(radiograph_of(owner))
    assert "wits" not in offers(tracing)
    (fault,) = refused(take(tracing, "wits")).faults
    assert fault.message == "wits: not calibrated."
    recorded(take(tracing, "anb"))
    row = finding(tracing, "anb")
    assert (row.value, row.sd, row.error_parts) == ("2.0", "", {})
    assert piece(tracing, "anb").scale == {}


def test_lengths_of_film_size_say_so_in_the_note_until_they_are_natural(
    tracing: Tracing, item: RecordItem
) -> None:
    calibrated(item, mm=0.22, size="film")
    recorded(take(tracing, "ans_me", "anb"))
    assert finding(tracing, "ans_me").note == "as on the film, not corrected for enlargement"
    assert finding(tracing, "anb").note == ""
    calibrated(item)
    recorded(take(tracing, "ans_me"))
    assert finding(tracing, "ans_me").note == ""


@pytest.mark.parametrize(
    ("key", "words"), [("anb", "missing B"), ("tail", "not a measure"), ("wits", "missing B, OPp")]
)
def test_what_cannot_be_told_refuses_the_whole_with_the_reason(
    item: RecordItem, key: str, words: str
) -> None:
    tracing = begun(item)
    without = {name: at for name, at in ON_PICTURE.items() if name not in ("B", "OPp")}
    assert put(tracing, without) == Saved(1)
    (fault,) = refused(take(tracing, key, "sna", seen={key: 0, "sna": 0})).faults
    assert fault.message == f"{key}: {words}."
    assert not Finding.objects.exists()


def test_a_repeated_request_takes_over_once(tracing: Tracing) -> None:
    for _ in range(2):
        recorded(take_over(tracing.reader, tracing, {"anb": 0}, "the-same-request", NOON))
    sheet = Sheet.objects.get(record_set=tracing.item.record_set)
    assert sheet.version == 1


def other_stage(item: RecordItem, owner: User, shade: int = 120) -> RecordItem:
    case = item.record_set.case
    details = RecordSetDetails(stage="final")
    return calibrated(radiograph_of(owner, services.add_record_set(owner, case, details), shade))


def test_another_stage_begins_with_the_plane_of_the_case(item: RecordItem, owner: User) -> None:
    traced(item, plane="go_gn")
    later = other_stage(item, owner)
    assert selectors.plane_of_case(owner, later) == "go_gn"
    assert selectors.plane_of_case(owner, radiograph_of(owner)) == "go_me"


def test_a_plane_other_than_that_of_another_stage_is_told(item: RecordItem, owner: User) -> None:
    traced(item, plane="go_gn")
    later = traced(other_stage(item, owner), plane="go_me")
    told = selectors.state(later, owner)["other_planes"]
    assert told == [{"stage": "initial", "plane": "Go–Gn", "how": "traced"}]
    put(later, {}, mandibular_plane="go_gn")
    assert selectors.state(later, owner)["other_planes"] == []


def test_a_plane_recorded_by_hand_at_another_stage_is_told_too(item: RecordItem, owner: User) -> None:
    sheet = Sheet.objects.get(record_set=item.record_set)
    recorded(save(sheet, Entry("sn_mp", "mouth", typed="33", plane="tangent")))
    later = other_stage(item, owner)
    assert selectors.plane_of_case(owner, later) == "tangent"
    told = selectors.state(traced(later, plane="go_me"), owner)["other_planes"]
    assert told == [{"stage": "initial", "plane": "tangent of the lower border", "how": "recorded"}]
