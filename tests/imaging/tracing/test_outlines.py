"""Outlines follow their landmarks, run through their knots, and are drawn where nobody has drawn them."""

from __future__ import annotations

import pytest

from imaging.cephalometry.face import Face
from imaging.cephalometry.outlines import MOLAR_WIDTHS_MM
from imaging.geometry import Vector
from imaging.tracing.on_picture import Axes
from imaging.tracing.outlines import MOST_KNOTS, Knot, curves, row_faults, teeth
from tests.imaging.cephalometry.faces import ORDINARY, face

AXES = Axes((0.1, 0.0), (0.0, -0.1))
"""A tenth of a millimetre for a pixel; y of the picture is down."""


def without(*names: str, **entries: object) -> Face:
    points = {name: at for name, at in ORDINARY.items() if name not in names}
    return face(points, **entries)


def test_a_curve_runs_through_landmarks_and_through_places_of_the_picture() -> None:
    row: list[Knot] = ["PNS", [450.0, 420.0], "ANS"]
    drawn = curves(face(), {"palate": row}, AXES)["palate"]
    assert drawn[0] == Vector(20, -43)
    assert drawn[-1] == Vector(74, -43.5)
    assert any((p - Vector(45, -42)).length < 1e-9 for p in drawn)


def test_a_knot_that_names_a_landmark_goes_with_it_and_is_left_out_without_it() -> None:
    moved = face({**ORDINARY, "ANS": [80, -44]})
    row: list[Knot] = ["PNS", [450.0, 420.0], "ANS"]
    assert curves(moved, {"palate": row}, AXES)["palate"][-1] == Vector(80, -44)
    gone = curves(without("ANS"), {"palate": row}, AXES)["palate"]
    assert gone[-1].x == pytest.approx(45)


def test_one_knot_is_no_curve_yet() -> None:
    one: list[Knot] = [[450.0, 420.0]]
    assert "palate" not in curves(face(), {"palate": one}, AXES)


def test_structures_nobody_has_drawn_are_shown_through_three_landmarks_or_more() -> None:
    assert set(curves(face(), {}, AXES)) == {"mandible", "symphysis", "profile"}
    fewer = curves(without("Co", "Ar"), {}, AXES)
    assert set(fewer) == {"symphysis", "profile"}


def test_a_structure_that_was_drawn_is_not_mixed_with_what_its_landmarks_give() -> None:
    row: list[Knot] = [[0.0, 0.0], [100.0, 0.0]]
    assert curves(face(), {"profile": row}, AXES)["profile"][-1] == Vector(10, 0)


def test_teeth_follow_from_edge_and_apex_and_from_the_cusp() -> None:
    drawn = teeth(face())
    assert set(drawn) == {"U1", "L1", "U6", "L6"}
    assert min((p - Vector(73, -75)).length for p in drawn["U1"]) < 1e-9
    assert min((p - Vector(64.8, -53.5)).length for p in drawn["U1"]) < 1e-9
    assert set(teeth(without("U1A"))) == {"L1", "U6", "L6"}


def test_the_upper_molar_is_as_wide_as_its_distal_face_says_the_lower_as_usual() -> None:
    along = (Vector(71.4, -74) - Vector(40.2, -70.1)).unit()
    drawn = teeth(face())["L6"]
    reach = max(p.dot(along) for p in drawn) - min(p.dot(along) for p in drawn)
    assert reach == pytest.approx(MOLAR_WIDTHS_MM["lower"], rel=0.06)


def test_without_a_scale_molars_are_drawn_by_the_length_of_the_incisor_or_not_at_all() -> None:
    plain = without("U6D", mm_per_unit=None)
    assert set(teeth(plain)) == {"U1", "L1", "U6", "L6"}
    assert set(teeth(without("U6D", "U1A", mm_per_unit=None))) == {"L1", "L6"}


def test_teeth_in_one_place_are_not_drawn() -> None:
    assert "U1" not in teeth(face({**ORDINARY, "U1A": ORDINARY["U1"]}))
    one_place = face({**ORDINARY, "OPm": [10, 10], "OPi": [10, 10]})
    assert {"U6", "L6"}.isdisjoint(teeth(one_place))


@pytest.mark.parametrize(
    ("key", "row", "said"),
    [
        ("tail", [], "tail is not a structure"),
        ("sella", ["Q"], "Sella: Q is not a landmark."),
        ("sella", [[-1.0, 5.0]], "a point lies outside the picture, -1 across, 5 down"),
        ("sella", [[1.0, 5.0]] * (MOST_KNOTS + 1), "61 points are too many"),
    ],
)
def test_what_is_no_outline_is_told_in_words(key: str, row: list[Knot], said: str) -> None:
    assert said in next(row_faults(key, row, (100, 100)))


def test_a_sound_outline_has_no_fault() -> None:
    row: list[Knot] = ["S", [0.0, 0.0], [100.0, 100.0]]
    assert list(row_faults("sella", row, (100, 100))) == []
