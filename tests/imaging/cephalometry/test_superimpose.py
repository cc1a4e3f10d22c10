"""Laying one tracing on another: the constructed pair, laws of rigid motions, refusals, errors by simulation."""

import json
import math
import random
import statistics
from pathlib import Path
from typing import Any

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from imaging.cephalometry.face import Face
from imaging.cephalometry.reading import read_tracing
from imaging.cephalometry.superimpose import CannotLay, superimpose
from imaging.geometry import Vector, best_fit, laid, motion, near, root_mean_square, turn
from tests.imaging.cephalometry import faces
from tests.imaging.cephalometry.faces import ORDINARY, Points, face, moved, without

PAIR: dict[str, Any] = json.loads((Path(__file__).parents[2] / "data" / "two_tracings.json").read_text())
MARKS: Points = {"wall": [4.5, 1.0], "tuberculum": [7.0, 5.0], "cribriform": [40.0, 6.5], "roof": [52, 14]}


def pair() -> tuple[Face, Face]:
    return read_tracing(json.dumps(PAIR["first"])), read_tracing(json.dumps(PAIR["second"]))


def marked(points: Points, marks: Points, **entries: Any) -> Face:
    fiducials = dict.fromkeys(("cranial_base", "maxilla", "mandible"), marks)
    return face(points, fiducials=fiducials, **entries)


def test_the_constructed_pair_laid_on_s_n_gives_its_displacements_back() -> None:
    found = superimpose(*pair(), on="sn")
    expected = PAIR["laid on S-N, along it and square to it"]
    assert found.displacements.keys() == expected.keys()
    for name, (along, square) in expected.items():
        moved_point = found.displacements[name]
        # the printed displacements have two decimals
        assert moved_point.along_sn == pytest.approx(along, abs=0.006), name
        assert moved_point.square_to_sn == pytest.approx(square, abs=0.006), name
    assert found.rms_mm is None


def test_the_constructed_pair_fitted_on_its_marks_gives_its_displacements_back() -> None:
    found = superimpose(*pair(), on="cranial_base")
    expected = PAIR["best fit of the marks, forward and up on the first picture"]
    for name, (x, y) in expected.items():
        assert found.displacements[name].x == pytest.approx(x, abs=0.006), name
        assert found.displacements[name].y == pytest.approx(y, abs=0.006), name
    assert found.rms_mm == pytest.approx(0, abs=1e-4)


def test_a_nasion_that_moved_off_its_line_parts_the_two_ways() -> None:
    first = marked(ORDINARY, MARKS)
    second = marked({**ORDINARY, "N": [71, 12]}, MARKS)
    on_sn = superimpose(first, second, "sn").displacements
    fitted = superimpose(first, second, "cranial_base").displacements
    assert fitted["Me"].x == pytest.approx(0, abs=1e-9)
    assert abs(on_sn["Me"].x) > 4
    assert fitted["N"].y == pytest.approx(3.3, abs=1e-9)


@given(st.floats(-180, 180), st.floats(-300, 300), st.floats(-300, 300), st.sampled_from(["sn", "maxilla"]))
@settings(max_examples=40)
def test_the_same_head_elsewhere_has_not_moved(degrees: float, x: float, y: float, on: str) -> None:
    second = marked(moved(ORDINARY, degrees, x, y), moved(MARKS, degrees, x, y))
    found = superimpose(marked(ORDINARY, MARKS), second, on)
    for name, displacement in found.displacements.items():
        assert displacement.x == pytest.approx(0, abs=1e-6), name
        assert displacement.y == pytest.approx(0, abs=1e-6), name


@given(faces.some_faces, st.floats(-180, 180), st.floats(-90, 90))
@settings(max_examples=20)
def test_where_the_second_head_stood_does_not_matter(points: Points, degrees: float, shift: float) -> None:
    first = marked(ORDINARY, MARKS)
    marks = {**MARKS, "roof": [53, 15]}
    for on in ("sn", "mandible"):
        here = superimpose(first, marked(points, marks), on)  # type: ignore[arg-type]
        there = superimpose(
            first,
            marked(moved(points, degrees, shift, -shift), moved(marks, degrees, shift, -shift)),  # type: ignore[arg-type]
            on,
        )
        for name, displacement in here.displacements.items():
            assert there.displacements[name].x == pytest.approx(displacement.x, abs=1e-6)
            assert there.displacements[name].square_to_sn == pytest.approx(
                displacement.square_to_sn, abs=1e-6
            )


def test_pictures_of_either_way_are_laid_alike() -> None:
    turned = face(faces.flipped(ORDINARY, x=-3, y=-3), y="down", faces="left", mm_per_unit=f"{1 / 3:.12f}")
    found = superimpose(face({**ORDINARY, "A": [68.5, -48.3]}), turned, "sn").displacements
    assert found["A"].x == pytest.approx(1, abs=1e-6)
    assert found["B"].x == pytest.approx(0, abs=1e-6)


@given(
    st.lists(st.tuples(st.floats(-50, 50), st.floats(-50, 50)), min_size=3, max_size=8, unique=True),
    st.integers(0, 10_000),
    st.floats(-180, 180),
)
def test_no_other_turn_fits_better(spots: list[tuple[float, float]], seed: int, degrees: float) -> None:
    chance = random.Random(seed)
    a = [Vector(*spot) for spot in spots]
    b = [motion(degrees)(p) + Vector(chance.gauss(0, 1), chance.gauss(0, 1)) for p in a]
    best = best_fit(a, b)
    size = root_mean_square([(best(p) - q).length for p, q in zip(a, b, strict=True)])
    assert math.hypot(best.cosine, best.sine) == pytest.approx(1)
    for more in (-20, -1, 1, 20):
        other = motion(best.degrees + more)
        middle = root_mean_square(
            [
                (other(p) - q - gap).length
                for p, q in zip(a, b, strict=True)
                for gap in [_mean_gap(other(x) - y for x, y in zip(a, b, strict=True))]
            ]
        )
        assert middle >= size - 1e-9


def _mean_gap(gaps: Any) -> Vector:
    found = list(gaps)
    return Vector(sum(g.x for g in found) / len(found), sum(g.y for g in found) / len(found))


def test_the_residual_is_the_root_of_the_mean_square_over_the_marks() -> None:
    """Four marks of a square, each moved outwards by 1 mm: no motion helps, every one is left 1 mm off."""
    square: Points = {"a": [10, 10], "b": [-10, 10], "c": [-10, -10], "d": [10, -10]}
    out = {n: [x * (1 + 0.05 * math.sqrt(2)), y * (1 + 0.05 * math.sqrt(2))] for n, (x, y) in square.items()}
    found = superimpose(marked(ORDINARY, square), marked(ORDINARY, out), "maxilla")
    assert found.rms_mm == pytest.approx(1)


def test_only_marks_and_points_of_both_tracings_count() -> None:
    first = marked(without("D"), {**MARKS, "crest": [30, 9]})
    second = marked(without("Sn"), {**MARKS, "wing": [15, -9]})
    found = superimpose(first, second, "cranial_base").displacements
    assert found.keys() == ORDINARY.keys() - {"D", "Sn"}


@pytest.mark.parametrize(
    ("first", "second", "on", "says"),
    [
        (face(without("S")), face(), "sn", "the first tracing has no S"),
        (face(), face(without("N")), "sn", "the second tracing has no N"),
        (marked(without("N"), MARKS), marked(ORDINARY, MARKS), "maxilla", "the first tracing has no N"),
        (face(), face(), "mandible", "mandible has 0 fiducials"),
        (
            marked(ORDINARY, {"wall": [1, 1], "crest": [2, 2], "roof": [3, 5]}),
            marked(ORDINARY, MARKS),
            "maxilla",
            "maxilla has 2 fiducials with the same name in both tracings; 3 or more are needed",
        ),
        (
            marked(ORDINARY, {"a": [1, 1], "b": [1, 1], "c": [1, 1]}),
            marked(ORDINARY, {"a": [1, 1], "b": [1, 1], "c": [1, 1]}),
            "maxilla",
            "lie in one place",
        ),
        (face({**ORDINARY, "N": [0, 0]}), face(), "sn", "S and N of the first tracing lie in one place"),
        (face(), face({**ORDINARY, "N": [0, 0]}), "sn", "lie in one place"),
    ],
)
def test_what_cannot_be_laid_is_refused_in_words(first: Face, second: Face, on: str, says: str) -> None:
    with pytest.raises(CannotLay, match=says):
        superimpose(first, second, on)


def test_missing_marks_are_refused_also_without_a_scale() -> None:
    with pytest.raises(CannotLay, match="0 fiducials"):
        superimpose(face(mm_per_unit=None), face(), "mandible")


@pytest.mark.parametrize(("loose", "word"), [((0,), "first"), ((1,), "second"), ((0, 1), "first and second")])
def test_without_a_scale_every_displacement_is_refused(loose: tuple[int, ...], word: str) -> None:
    both = [face(mm_per_unit=None) if place in loose else face() for place in (0, 1)]
    found = superimpose(*both, on="sn")  # type: ignore[arg-type, misc]
    assert found.displacements == {}
    assert found.rms_mm is None
    assert found.refused == dict.fromkeys(found.refused, f"not calibrated: {word} tracing")
    assert found.refused.keys() == ORDINARY.keys()


@pytest.mark.parametrize("on", ["sn", "cranial_base"])
def test_errors_of_displacements_are_those_of_a_simulation(on: str) -> None:
    chance = random.Random(7)

    def shaken(points: Points, scale: float = 1) -> Points:
        return {n: [scale * chance.gauss(at, 0.5) for at in place] for n, place in points.items()}

    few = {name: ORDINARY[name] for name in ("S", "N", "A", "Me", "U1")}
    drawn: dict[str, list[float]] = {}
    for _ in range(1200):
        sizes = [chance.gauss(1, 0.004) for _ in range(2)]
        one, other = (marked(shaken(few, size), shaken(MARKS, size)) for size in sizes)
        for name, found in superimpose(one, other, on).displacements.items():
            drawn.setdefault(f"{name}.x", []).append(found.x)
            drawn.setdefault(f"{name}.y", []).append(found.y)
    told = superimpose(*[marked(few, MARKS, scale_sd_percent="0.4") for _ in range(2)], on=on).displacements  # type: ignore[arg-type, misc]
    for name, found in told.items():
        assert found.sd_x == pytest.approx(statistics.stdev(drawn[f"{name}.x"]), rel=0.09, abs=0.005), name
        assert found.sd_y == pytest.approx(statistics.stdev(drawn[f"{name}.y"]), rel=0.09, abs=0.005), name
    cause = "first.N.y" if on == "sn" else "first.cranial_base/roof.y"
    assert cause in told["Me"].parts_x.keys() & told["A"].parts_x.keys()
    assert told["Me"].inside_noise


@given(st.floats(-1000, 1000), st.floats(-360, 360))
def test_an_angle_is_told_within_half_a_turn_of_its_middle(angle: float, middle: float) -> None:
    told = near(angle, middle)
    assert middle - 180 - 1e-9 <= told <= middle + 180 + 1e-9
    assert math.remainder(told - angle, 360) == pytest.approx(0, abs=1e-9)


def test_turns_are_anticlockwise_and_a_laid_point_lies_on_its_partner() -> None:
    assert turn(Vector(1, 0), Vector(0, 2)) == pytest.approx(90)
    assert turn(Vector(0, 1), Vector(3, 0)) == pytest.approx(-90)
    laying = laid(Vector(5, 5), Vector(0, 3), Vector(-2, 1), Vector(4, 0))
    assert laying(Vector(5, 5)) == Vector(-2, 1)
    assert laying.degrees == pytest.approx(-90)
    there = laying(Vector(5, 9))
    assert (there.x, there.y) == pytest.approx((2, 1))
