"""Points, outlines and choices of a tracing are kept, refused in words, undone and done again."""

from __future__ import annotations

import uuid
from typing import Any

import pytest

from accounts.models import User
from imaging.cephalometry.outlines import STRUCTURES
from imaging.models import StepAction, Tracing, TracingRevision
from imaging.steps.answers import Answer, Refused, Saved
from imaging.tracing import selectors, services
from imaging.tracing.on_picture import Way
from imaging.tracing.services import Wanted
from portfolio.models import RecordItem
from portfolio.services.saving import ChangedMeanwhile
from tests.factories.accounts import person
from tests.factories.imaging import picture_of
from tests.factories.portfolio import NOON
from tests.factories.tracing import ON_PICTURE, SIZE, begun, placed, put, radiograph_of

pytestmark = pytest.mark.django_db
LINE = [[10.0, 20.0], [30.5, 40.0], "N"]


@pytest.fixture
def owner() -> User:
    return person()


@pytest.fixture
def item(owner: User) -> RecordItem:
    return radiograph_of(owner)


@pytest.fixture
def tracing(item: RecordItem) -> Tracing:
    return begun(item)


def save(tracing: Tracing, wanted: Wanted, seen: int, key: str = "") -> Answer:
    return services.save(tracing.reader, tracing, wanted, seen, key or uuid.uuid4().hex, NOON)


def take_step(tracing: Tracing, action: StepAction, number: int) -> int:
    answer = services.step(tracing.reader, tracing, action, number, uuid.uuid4().hex, NOON)
    tracing.refresh_from_db()
    return answer.version


def words(answer: Answer) -> list[str]:
    assert isinstance(answer, Refused), answer
    return [fault.words for fault in answer.faults]


def test_points_outlines_and_choices_are_kept_in_one_revision(tracing: Tracing) -> None:
    answer = put(
        tracing,
        {"S": ON_PICTURE["S"], "N": placed(650, 160, uncertain=True)},
        outlines={"cranial_base": LINE},
        mandibular_plane="go_gn",
    )
    assert answer == Saved(1)
    assert tracing.points["N"] == {"x": 650, "y": 160, "uncertain": True}
    assert tracing.outlines == {"cranial_base": LINE}
    assert (tracing.mandibular_plane, tracing.forward) == ("go_gn", "right")
    (revision,) = TracingRevision.objects.filter(tracing=tracing)
    assert [one["name"] for one in revision.items] == ["S", "N", "outline:cranial_base", "mandibular_plane"]


def test_a_save_of_what_stands_writes_no_revision(tracing: Tracing) -> None:
    put(tracing, {"S": ON_PICTURE["S"]}, outlines={"sella": LINE})
    assert put(tracing, {"S": ON_PICTURE["S"]}, outlines={"sella": LINE}, mandibular_plane="go_me") == Saved(
        1
    )
    assert TracingRevision.objects.count() == 1


def test_a_point_and_an_outline_are_taken_away(tracing: Tracing) -> None:
    put(tracing, {"S": ON_PICTURE["S"], "N": ON_PICTURE["N"]}, outlines={"sella": LINE, "orbit": LINE})
    put(tracing, {"S": None}, outlines={"sella": None, "orbit": []})
    assert list(tracing.points) == ["N"]
    assert tracing.outlines == {}


def test_a_repeated_request_is_answered_and_not_done_again(tracing: Tracing) -> None:
    wanted = Wanted({"S": ON_PICTURE["S"]})
    assert save(tracing, wanted, 0, "key-of-this-request") == Saved(1)
    assert save(tracing, wanted, 0, "key-of-this-request") == Saved(1)
    assert TracingRevision.objects.count() == 1


def test_a_point_that_was_moved_meanwhile_is_not_overwritten(tracing: Tracing) -> None:
    put(tracing, {"S": ON_PICTURE["S"]})
    with pytest.raises(ChangedMeanwhile):
        save(tracing, Wanted({"S": placed(5, 5)}), 0)
    tracing.refresh_from_db()
    assert tracing.points["S"] == ON_PICTURE["S"]


def test_another_point_may_be_saved_after_one_was_moved_in_another_window(tracing: Tracing) -> None:
    put(tracing, {"S": ON_PICTURE["S"]})
    assert save(tracing, Wanted({"N": ON_PICTURE["N"]}), 0) == Saved(2)
    tracing.refresh_from_db()
    assert set(tracing.points) == {"S", "N"}


@pytest.mark.parametrize(
    ("first", "second"),
    [
        ({"outlines": {"sella": LINE}}, {"outlines": {"sella": None}}),
        ({"mandibular_plane": "go_gn"}, {"mandibular_plane": "tangent"}),
        ({"faces": Way.LEFT}, {"faces": Way.RIGHT}),
    ],
)
def test_outlines_and_choices_conflict_like_points(
    tracing: Tracing, first: dict[str, Any], second: dict[str, Any]
) -> None:
    put(tracing, {}, **first)
    with pytest.raises(ChangedMeanwhile):
        save(tracing, Wanted({}, **second), 0)


def test_an_undo_in_another_window_conflicts_too(tracing: Tracing) -> None:
    put(tracing, {"S": ON_PICTURE["S"]})
    take_step(tracing, StepAction.UNDO, 1)
    with pytest.raises(ChangedMeanwhile):
        save(tracing, Wanted({"S": placed(5, 5)}), 1)


def test_a_version_that_never_was_is_a_conflict(tracing: Tracing) -> None:
    with pytest.raises(ChangedMeanwhile):
        save(tracing, Wanted({"S": ON_PICTURE["S"]}), 7)


def test_undo_and_redo_bring_points_outlines_and_choices_back(tracing: Tracing) -> None:
    put(tracing, {"S": ON_PICTURE["S"]}, outlines={"sella": LINE}, mandibular_plane="go_gn")
    put(tracing, {"S": placed(290, 210)}, outlines={"sella": [*LINE, [50.0, 60.0]]})
    assert take_step(tracing, StepAction.UNDO, 2) == 3
    assert (tracing.points["S"], tracing.outlines) == (ON_PICTURE["S"], {"sella": LINE})
    take_step(tracing, StepAction.UNDO, 1)
    assert (tracing.points, tracing.outlines, tracing.mandibular_plane) == ({}, {}, "go_me")
    take_step(tracing, StepAction.REDO, 1)
    take_step(tracing, StepAction.REDO, 2)
    assert tracing.points["S"] == placed(290, 210)
    assert tracing.outlines["sella"][-1] == [50.0, 60.0]
    assert services.history_of(tracing).undo == 2


def test_a_change_after_an_undo_leaves_nothing_to_do_again(tracing: Tracing) -> None:
    put(tracing, {"S": ON_PICTURE["S"]})
    take_step(tracing, StepAction.UNDO, 1)
    put(tracing, {"N": ON_PICTURE["N"]})
    steps = services.history_of(tracing)
    assert (steps.undo, steps.redo) == (3, 0)
    with pytest.raises(ChangedMeanwhile):
        take_step(tracing, StepAction.REDO, 1)


def test_only_the_newest_change_is_undone(tracing: Tracing) -> None:
    put(tracing, {"S": ON_PICTURE["S"]})
    put(tracing, {"N": ON_PICTURE["N"]})
    with pytest.raises(ChangedMeanwhile):
        take_step(tracing, StepAction.UNDO, 1)


def test_a_repeated_undo_undoes_once(tracing: Tracing) -> None:
    put(tracing, {"S": ON_PICTURE["S"]})
    put(tracing, {"N": ON_PICTURE["N"]})
    for _ in range(2):
        services.step(tracing.reader, tracing, StepAction.UNDO, 2, "the-same-key", NOON)
    tracing.refresh_from_db()
    assert (set(tracing.points), tracing.version) == ({"S"}, 3)


def test_what_lies_outside_the_picture_is_refused_with_the_limits_and_nothing_is_saved(
    tracing: Tracing,
) -> None:
    told = words(
        put(tracing, {"S": ON_PICTURE["S"], "N": placed(901, 160)}, outlines={"sella": [[1.0, 951.0]]})
    )
    assert told == [
        "N lies outside the picture: 901 across, 160 down; allowed: 0 to 900 across, 0 to 950 down.",
        "Sella: a point lies outside the picture, 1 across, 951 down; allowed: 0 to 900 across, 0 to 950 down.",
    ]
    assert (tracing.points, tracing.version) == ({}, 0)


def test_points_on_the_very_edge_are_taken(tracing: Tracing) -> None:
    assert put(tracing, {"S": placed(0, 0), "N": placed(*SIZE)}) == Saved(1)


@pytest.mark.parametrize(
    ("points", "outlines", "said"),
    [
        ({"Q": placed(1, 1)}, {}, "Q is not a landmark."),
        ({}, {"tail": LINE}, "tail is not a structure; allowed: sella, cranial_base"),
        ({}, {"sella": ["Q"]}, "Sella: Q is not a landmark."),
        ({}, {"sella": [[1.0, 1.0]] * 61}, "61 points are too many"),
    ],
)
def test_unknown_names_are_refused(
    tracing: Tracing, points: dict[str, Any], outlines: dict[str, Any], said: str
) -> None:
    assert said in words(put(tracing, points, outlines=outlines))[0]
    assert tracing.version == 0


def test_a_chin_above_the_skull_is_refused_as_mirrored(tracing: Tracing) -> None:
    put(tracing, {"S": ON_PICTURE["S"], "N": ON_PICTURE["N"]})
    (told,) = words(put(tracing, {"Me": placed(500, 20)}))
    assert "Me lies above S-N" in told
    assert "Me" not in tracing.points


def test_the_wrong_side_for_a_face_that_is_placed_is_refused(tracing: Tracing) -> None:
    put(tracing, ON_PICTURE)
    (told,) = words(put(tracing, {}, faces=Way.LEFT))
    assert "Pog, Gn, Me, Pog', Me' lie above S-N" in told
    assert tracing.forward == "right"


def test_the_side_is_chosen_anew_while_the_chin_is_not_placed(tracing: Tracing) -> None:
    put(tracing, {"S": ON_PICTURE["S"], "N": ON_PICTURE["N"]})
    assert put(tracing, {}, faces=Way.LEFT) == Saved(2)
    assert tracing.forward == "left"


def test_a_tracing_is_begun_once_for_each_reader_and_picture(item: RecordItem, owner: User) -> None:
    first, second = begun(item), begun(item)
    assert first.pk == second.pk


def test_only_lateral_radiographs_are_traced(owner: User) -> None:
    with pytest.raises(services.CannotTrace, match="Only lateral radiographs"):
        begun(picture_of(owner))


def test_the_state_names_outlines_and_steps(tracing: Tracing) -> None:
    put(tracing, {"S": ON_PICTURE["S"]}, outlines={one.key: LINE for one in STRUCTURES})
    state = selectors.state(tracing, tracing.reader)
    assert set(state["outlines"]) == {one.key for one in STRUCTURES}
    assert (state["undo"], state["redo"], state["version"]) == (1, 0, 1)


def test_revisions_are_append_only(tracing: Tracing) -> None:
    put(tracing, {"S": ON_PICTURE["S"]})
    with pytest.raises(TypeError, match="append-only"):
        TracingRevision.objects.update(items=[])
    with pytest.raises(TypeError, match="append-only"):
        TracingRevision.objects.all().delete()
