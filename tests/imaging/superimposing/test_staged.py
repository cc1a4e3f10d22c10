"""Stages laid on the first: what is refused and told, words of moves, and the drawing."""

from __future__ import annotations

import json
import math
import re
import uuid
from dataclasses import replace
from pathlib import Path
from typing import Any

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from imaging.calibration import Origin, Scale, Size
from imaging.cephalometry.face import Face
from imaging.cephalometry.reading import read_tracing
from imaging.cephalometry.stable_structures import MARKS_BY_KEY, STABLE_MARKS, marks_of
from imaging.geometry import Vector
from imaging.superimposing.drawing import STYLES, sketch, style_of
from imaging.superimposing.staged import Overlay, TracedStage, first_way, overlay
from portfolio.sources import SOURCES
from tests.imaging.cephalometry.faces import ORDINARY, Points, face, moved, without

RULER = Scale(0.1, 0.1, 0.4, Origin.RULER, Size.NATURAL, "A ruler of 100 mm.")
FILE = replace(RULER, origin=Origin.FILE, words="The file states it.")
FILM = replace(FILE, size=Size.FILM)
MARKS: Points = {
    "sella_wall": [4.5, 1.0],
    "walker": [6.0, 3.5],
    "cribriform_front": [40.0, 6.5],
    "orbital_roof": [52, 14],
}
PAIR: dict[str, Any] = json.loads((Path(__file__).parents[2] / "data" / "two_tracings.json").read_text())


def stage(
    of: Face | None = None, key: str = "initial", scale: Scale | None = RULER, **entries: Any
) -> TracedStage:
    name, _, ordinal = key.partition("-")
    whole: dict[str, Any] = {
        "stage": name,
        "ordinal": int(ordinal or 1),
        "label": key.replace("-", " "),
        "tracing": uuid.uuid4(),
        "face": of or marked(ORDINARY),
        "why": "",
        "scale": scale,
        "plane": "Go-Me",
    }
    return TracedStage(**(whole | entries))


def marked(points: Points, marks: Points | None = None) -> Face:
    return face(points, fiducials=dict.fromkeys(("cranial_base", "maxilla", "mandible"), marks or MARKS))


def refusal(*stages: TracedStage, on: str = "sn") -> str:
    found = overlay(stages, on)
    assert sketch(found) is None
    assert not any(one.moved for one in found.later)
    return " ".join(found.refusals)


def test_an_uncalibrated_radiograph_is_refused_and_named() -> None:
    says = refusal(stage(), stage(key="final", scale=None))
    assert says.startswith("No scale: final.")
    both = refusal(stage(scale=None), stage(key="final", scale=None))
    assert "initial and final" in both


def test_natural_size_and_film_size_are_not_laid_on_each_other() -> None:
    says = refusal(stage(), stage(key="final", scale=FILM))
    assert "Differently magnified: initial is told in mm, final in film mm" in says


def test_two_film_sizes_are_laid_with_their_unit_and_a_warning() -> None:
    found = overlay([stage(scale=FILM), stage(key="final", scale=FILM)], "sn")
    assert found.unit == "film mm"
    assert any("enlarged by a factor nobody stated" in words for words in found.cautions)


def test_scales_of_different_sources_and_different_planes_are_told() -> None:
    found = overlay([stage(), stage(key="final", scale=FILE, plane="Go-Gn")], "sn")
    assert "different sources" in found.cautions[0]
    assert "A ruler of 100 mm." in found.cautions[0]
    assert found.cautions[1].startswith("Different mandibular planes: initial Go-Me, final Go-Gn.")
    assert overlay([stage(), stage(key="final")], "sn").cautions == ()


@pytest.mark.parametrize("structure", ["cranial_base", "maxilla", "mandible"])
def test_a_fit_needs_three_of_the_same_marks(structure: str) -> None:
    two = marked(ORDINARY, {"sella_wall": [4.5, 1], "walker": [6, 3.5], "other": [1, 1]})
    says = refusal(stage(), stage(two, "final"), on=structure)
    assert "2 of the same marks on initial and final; at least 3 are needed" in says


def test_s_and_n_are_needed_and_a_picture_on_its_side_says_so() -> None:
    assert "final lacks N" in refusal(stage(), stage(face(without("N")), "final"))
    assert "initial tracing lacks S or N" in refusal(
        stage(marked(without("N"))), stage(key="final"), on="maxilla"
    )
    lying = replace(stage(key="final"), face=None, why="The picture lies on its side.")
    assert "final stage cannot be read. The picture lies on its side." in refusal(stage(), lying)


def test_marks_in_one_place_are_refused() -> None:
    heap = marked(ORDINARY, {"sella_wall": [1, 1], "walker": [1, 1], "orbital_roof": [1, 1]})
    assert "lie in one place" in refusal(stage(heap), stage(heap, "final"), on="maxilla")


def test_one_stage_of_three_may_be_refused_and_the_others_stand() -> None:
    found = overlay([stage(), stage(key="interim", scale=None), stage(key="final")], "sn")
    assert [bool(one.moved) for one in found.later] == [False, True]
    drawn = sketch(found)
    assert drawn
    assert [layer.label for layer in drawn.layers] == ["initial", "final"]


def test_the_constructed_pair_comes_back_through_stages() -> None:
    first, second = (read_tracing(json.dumps(PAIR[name])) for name in ("first", "second"))
    found = overlay([stage(first), stage(second, "final")], "cranial_base").later[0]
    assert found.rms == "0.00"
    expected = PAIR["best fit of the marks, forward and up on the first picture"]
    told = {one.key: one for one in found.moved}
    for name, (x, y) in expected.items():
        one = told[name]
        assert float(one.across) == pytest.approx(abs(x), abs=0.051), name
        assert float(one.up) == pytest.approx(abs(y), abs=0.051), name
        if abs(x) > 0.1:
            assert one.across_way == ("forward" if x > 0 else "back"), name
        if abs(y) > 0.1:
            assert one.up_way == ("up" if y > 0 else "down"), name


def test_a_move_beyond_noise_is_told_apart_from_one_within() -> None:
    shifted = marked({**ORDINARY, "Pog": [66, -101], "B": [65.6, -88.2]})
    told = {
        one.key: one for one in overlay([stage(), stage(shifted, "final")], "cranial_base").later[0].moved
    }
    assert not told["Pog"].within_error
    assert told["B"].within_error
    assert (told["Pog"].up, told["Pog"].up_way) == ("4.0", "down")
    assert (told["Pog"].across, told["Pog"].across_way) == ("0.0", "")


def test_sella_is_held_on_s_n_and_moves_in_a_fit() -> None:
    both = [stage(), stage(marked({**ORDINARY, "S": [0, -1]}), "final")]
    assert next(one for one in overlay(both, "sn").later[0].moved if one.key == "S").held
    sella = next(one for one in overlay(both, "cranial_base").later[0].moved if one.key == "S")
    assert (sella.held, sella.up, sella.up_way) == (False, "1.0", "down")


def test_a_bad_fit_is_called_much() -> None:
    off = marked(ORDINARY, {**MARKS, "orbital_roof": [60, 22]})
    assert overlay([stage(), stage(off, "final")], "cranial_base").later[0].loose
    assert not overlay([stage(), stage(key="final")], "cranial_base").later[0].loose


def test_the_cranial_base_is_shown_first_where_it_is_marked() -> None:
    assert first_way([stage(), stage(key="final")]) == "cranial_base"
    assert first_way([stage(), stage(face(), "final")]) == "sn"


@given(
    st.floats(-60, 60),
    st.floats(-200, 200),
    st.floats(-200, 200),
    st.sampled_from(["sn", "maxilla", "mandible"]),
)
@settings(max_examples=30)
def test_a_head_that_stood_elsewhere_is_drawn_in_one_place(
    degrees: float, x: float, y: float, on: str
) -> None:
    second = marked(moved(ORDINARY, degrees, x, y), moved(MARKS, degrees, x, y))
    found = overlay([stage(), stage(second, "final")], on)
    drawn = sketch(found)
    assert drawn
    here, there = (numbers(layer.lines) for layer in drawn.layers)
    assert there == pytest.approx(here, abs=0.011)
    assert all(one.across == "0.0" and one.up == "0.0" for one in found.later[0].moved)


@given(st.floats(-30, 30), st.floats(-3, 3))
@settings(max_examples=20)
def test_a_mirrored_pair_moves_alike(degrees: float, shift: float) -> None:
    """Both pictures mirrored: forward stays forward, because each is read by the side its patient faces."""
    changed = moved({**ORDINARY, "A": [69.5 + shift, -48.3]}, degrees)
    marks = moved(MARKS, degrees)
    plain = overlay([stage(), stage(marked(changed, marks), "final")], "cranial_base")

    def mirror(points: Points) -> Points:
        return {name: [-at[0], at[1]] for name, at in points.items()}

    def mirrored(points: Points, held: Points) -> Face:
        return face(mirror(points), faces="left", fiducials={"cranial_base": mirror(held)})

    other = overlay(
        [stage(mirrored(ORDINARY, MARKS)), stage(mirrored(changed, marks), "final")], "cranial_base"
    )
    assert other.later[0].moved == plain.later[0].moved


def numbers(path: str) -> list[float]:
    return [float(found) for found in re.findall(r"-?[0-9]+\.[0-9]+", path)]


def laid(*keys: str, on: str = "sn") -> Overlay:
    return overlay([stage(key=key) for key in keys], on)


def test_every_stage_has_its_colour_its_dashes_and_its_points() -> None:
    drawn = sketch(laid("initial", "interim", "interim-2"))
    assert drawn
    assert [layer.style.key for layer in drawn.layers] == ["initial", "interim", "interim-2"]
    assert (
        "initial in black, full lines, discs, interim in blue, dotted, squares, interim 2 in blue, dashed, rings"
        in drawn.words
    )
    assert len({style.dashes for style in STYLES.values()}) == len(STYLES)
    assert len({style.shape for style in STYLES.values()}) == len(STYLES)
    assert style_of(stage(key="interim-3")).key == "interim-2"
    assert style_of(stage(key="final-2")).key == "final"


def test_colours_of_print_are_the_tokens_of_the_screen() -> None:
    tokens = (Path(__file__).parents[3] / "static/css/tokens.css").read_text(encoding="utf-8")
    known = dict(re.findall(r"--stage-(\w+): (#[0-9a-f]{6});", tokens))
    for key, style in STYLES.items():
        assert style.colour == known[key.removeprefix("post_").split("-")[0]], key


def test_everything_drawn_lies_in_the_box_and_the_bar_is_as_long_as_it_says() -> None:
    whole = replace(stage(key="final"), outlines={"profile": (Vector(90, 40), Vector(120, -60))})
    drawn = sketch(overlay([stage(), whole], "sn"))
    assert drawn
    for layer in drawn.layers:
        spots = numbers(layer.lines) + numbers(layer.outlines)
        assert all(drawn.left <= x <= drawn.left + drawn.width for x in spots[::2])
        assert all(drawn.top <= y <= drawn.top + drawn.height for y in spots[1::2])
    assert "120.00" in drawn.layers[1].outlines
    assert "h20m" in drawn.bar
    assert drawn.bar_words == "20 mm"


def test_a_jaw_is_drawn_without_the_rest() -> None:
    outlined = {"maxilla": (Vector(70, -44), Vector(70, -60)), "mandible": (Vector(0, -30), Vector(60, -105))}
    both = [replace(stage(key=key), outlines=outlined) for key in ("initial", "final")]
    drawn = sketch(overlay(both, "mandible"))
    assert drawn
    assert "-105.00" not in drawn.layers[0].outlines
    assert "60.00 105.00" in drawn.layers[0].outlines
    assert "70.00 44.00" not in drawn.layers[0].outlines
    assert drawn.names == ()
    told = {one.key for one in overlay(both, "mandible").later[0].moved}
    assert "L1" in told
    assert not told & {"U1", "A", "N", "Prn"}


def test_marks_have_names_sources_and_a_structure_each_and_three_of_each_at_least() -> None:
    assert len(MARKS_BY_KEY) == len(STABLE_MARKS)
    assert all(mark.source in SOURCES and mark.definition for mark in STABLE_MARKS)
    assert all(len(marks_of(structure)) >= 5 for structure in ("cranial_base", "maxilla", "mandible"))


def test_two_stages_and_a_known_way_are_needed() -> None:
    for stages, on in (([stage()], "sn"), ([stage(), stage(key="final")], "frankfort")):
        with pytest.raises(ValueError, match="needed"):
            overlay(stages, on)


def test_residuals_of_four_spread_marks_are_the_root_of_the_mean_square() -> None:
    """Each of four marks of a square moved outwards by 1 mm: no motion helps."""
    square: Points = {
        "sella_wall": [10, 10],
        "walker": [-10, 10],
        "orbital_roof": [-10, -10],
        "middle_fossa": [10, -10],
    }
    out = {n: [x * (1 + 0.05 * math.sqrt(2)), y * (1 + 0.05 * math.sqrt(2))] for n, (x, y) in square.items()}
    found = overlay([stage(marked(ORDINARY, square)), stage(marked(ORDINARY, out), "final")], "maxilla")
    assert found.later[0].rms == "1.00"
