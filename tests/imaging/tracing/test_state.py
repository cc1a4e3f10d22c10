"""What the page of a tracing is told beside the points: scale, doubts about it, values and why there are none."""

from __future__ import annotations

import pytest

from accounts.models import User
from imaging.cephalometry.measuring import measure_face
from imaging.tracing import selectors
from tests.factories.accounts import person
from tests.factories.tracing import begun, calibrated, placed, put, radiograph_of, traced
from tests.imaging.cephalometry.faces import face

pytestmark = pytest.mark.django_db


@pytest.fixture
def owner() -> User:
    return person()


def test_the_values_are_those_of_the_same_face_in_millimetres(owner: User) -> None:
    state = selectors.state(traced(calibrated(radiograph_of(owner))), owner)
    told, _ = measure_face(face(scale_sd_percent="0.4"))
    assert state["values"].keys() == {one.measure.key for one in told}
    for one in told:
        found = state["values"][one.measure.key]
        # Points are kept to a hundredth of a pixel, 0.002 mm here.
        assert found["value"] == pytest.approx(one.value, abs=0.05), one.measure.key
        assert found["sd"] == pytest.approx(one.sd, rel=0.02), one.measure.key


def test_the_scale_is_named_with_its_unit(owner: User) -> None:
    state = selectors.state(traced(calibrated(radiograph_of(owner))), owner)
    assert (state["calibrated"], state["length_unit"]) == (True, "mm")
    assert state["scale_words"] == "two clicks on a ruler of 100 mm"
    film = selectors.state(traced(calibrated(radiograph_of(owner, shade=91), size="film")), owner)
    assert film["length_unit"] == "film mm"


def test_an_unusual_s_n_is_told_as_a_doubt_about_the_scale(owner: User) -> None:
    usual = selectors.state(traced(calibrated(radiograph_of(owner))), owner)
    assert usual["scale_hint"] == ""
    small = selectors.state(traced(calibrated(radiograph_of(owner, shade=91), mm=0.1)), owner)
    # S-N of the face is 71.0 mm at 0.2 mm a pixel.
    assert small["scale_hint"] == "S-N is 35.5 mm, usually 60 to 85: check the scale"


def test_without_a_scale_lengths_say_why_they_are_not_told(owner: User) -> None:
    state = selectors.state(traced(radiograph_of(owner)), owner)
    assert (state["calibrated"], state["length_unit"], state["scale_hint"]) == (False, "", "")
    assert state["refused"]["n_me"] == "not calibrated"
    assert state["values"]["anb"]["sd"] is None


def test_a_measure_says_which_points_it_waits_for(owner: User) -> None:
    tracing = begun(calibrated(radiograph_of(owner)))
    put(tracing, {"S": placed(300, 200), "N": placed(650, 160)})
    state = selectors.state(tracing, owner)
    assert state["refused"]["sna"] == "missing A"
    assert state["refused"]["impa"] == "missing Me, Go, L1, L1A"
