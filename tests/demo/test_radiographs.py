"""The drawn radiographs: the same at every start, as the sheets say, with all landmarks and the ruler in the picture."""

import io
import math

import numpy
import pytest
from PIL import Image

from demo import scenario
from demo.radiographs.film import RULER_MM, Radiograph, grey, picture
from demo.scenario.faces import FILMED, SHEET, radiograph, record_of, told_by
from imaging.cephalometry.face import Face, Spot
from imaging.cephalometry.landmarks import BY_KEY
from imaging.cephalometry.measuring import measure_face
from imaging.cephalometry.outlines import STRUCTURES
from imaging.geometry import Vector
from portfolio.readings import Sheet

MEASURES = {"overjet": "overjet_mm", "overbite": "overbite_mm"}
ALL = [case for portfolio in scenario.PORTFOLIOS for case in portfolio.cases]
STAGES = [(case, sheet) for case in scenario.CASES for sheet in case.sheets]
each_stage = pytest.mark.parametrize(
    ("case", "sheet"), STAGES, ids=lambda one: getattr(one, "note", None) or one.stage
)


def values(drawn: Radiograph) -> dict[str, float]:
    """What is measured on the picture's own pixels by the scale of its ruler."""
    (_, y), (_, end) = drawn.film.ruler_ends()
    mm = RULER_MM / (end - y)
    spots = {name: Spot(Vector(px * mm, -py * mm)) for name, (px, py) in drawn.points().items()}
    told, refused = measure_face(Face(spots))
    assert not refused
    return {one.measure.key: one.value for one in told}


every_case = pytest.mark.parametrize("case", ALL, ids=lambda case: case.note)


@every_case
def test_what_a_sheet_says_is_measured_on_its_radiograph(case: scenario.DemoCase) -> None:
    for sheet in case.sheets:
        found = values(radiograph(case, sheet))
        set_here = record_of(case, sheet).jaws
        for quantity, site in SHEET:
            wanted = set_here.get(quantity) or told_by(case, sheet, quantity, site)
            assert found[MEASURES.get(quantity, quantity)] == pytest.approx(wanted, abs=1e-6), quantity


@each_stage
def test_every_landmark_and_outline_lies_in_the_picture(case: scenario.DemoCase, sheet: Sheet) -> None:
    drawn = radiograph(case, sheet)
    width, height = drawn.film.size
    assert set(drawn.points()) == set(BY_KEY)
    assert set(drawn.outlines()) == {structure.key for structure in STRUCTURES}
    knots = [knot for row in drawn.outlines().values() for knot in row if not isinstance(knot, str)]
    assert knots
    for x, y in (*drawn.points().values(), *knots):
        assert 0 <= x <= width
        assert 0 <= y <= height


@each_stage
def test_outlines_run_through_the_landmarks_that_lie_on_them(case: scenario.DemoCase, sheet: Sheet) -> None:
    rows = radiograph(case, sheet).outlines()
    for structure in STRUCTURES:
        named = [knot for knot in rows[structure.key] if isinstance(knot, str)]
        assert [name for name in named if name in structure.anchors] == list(structure.anchors)


def test_records_of_a_case_share_the_base_of_the_skull() -> None:
    for case in ALL:
        faces = [radiograph(case, sheet).face() for sheet in case.sheets]
        for name in ("S", "N", "Ba", "Po", "Or", "Pt", "Ar", "Co"):
            assert len({(face[name].x, face[name].y) for face in faces}) == 1


@every_case
def test_faces_have_ordinary_proportions(case: scenario.DemoCase) -> None:
    """Wide limits round the norms of the analyses, so that no drawing stands for a face that cannot be."""
    for sheet in case.sheets:
        proportions(case, sheet)


def proportions(case: scenario.DemoCase, sheet: Sheet) -> None:
    found = values(radiograph(case, sheet))
    for key, low, high in (
        ("sna", 75, 88), ("u1_sn", 90, 118), ("interincisal", 110, 145), ("gonial", 118, 142), ("saddle", 115, 131),
        ("height_ratio", 55, 70), ("co_a", 75, 100), ("co_gn", 95, 130), ("ans_me", 55, 80), ("op_fh", 2, 14),
        ("pp_fh", -4, 5), ("nasolabial", 95, 125), ("eline_upper", -9, 3), ("lower_face_height", 36, 52),
    ):  # fmt: skip
        assert low <= found[key] <= high, (key, found[key])
    first = radiograph(case, sheet).face()
    assert 60 <= (first["N"] - first["S"]).length <= 85


@each_stage
def test_the_ruler_in_the_picture_is_as_long_as_the_scale_says(case: scenario.DemoCase, sheet: Sheet) -> None:
    """Found in the pixels: the light column beside the face from its first to its last long tick."""
    drawn = radiograph(case, sheet)
    (x, y), (_, end) = drawn.film.ruler_ends()
    assert end - y == pytest.approx(RULER_MM * drawn.film.fineness)
    pixels = numpy.asarray(grey(drawn))
    column = pixels[:, round(x + 4.7 * drawn.film.fineness)] > 120
    ticks = [row for row in numpy.flatnonzero(column) if not column[row - 1]]
    assert len(ticks) == 3
    assert ticks[-1] - ticks[0] == pytest.approx(end - y, abs=2)
    assert math.dist((x, ticks[0]), (x, y)) < drawn.film.fineness


def test_the_same_radiograph_gives_the_same_bytes_and_another_grain_others() -> None:
    case = scenario.CASES[0]
    drawn = radiograph(case, case.sheets[0])
    first = picture(drawn)
    assert picture(radiograph(case, case.sheets[0])) == first
    assert picture(radiograph(case, case.sheets[1])) != first


def test_a_radiograph_is_a_small_grey_jpeg_of_light_bones_on_dark_ground() -> None:
    case = scenario.CASES[0]
    drawn = radiograph(case, case.sheets[0])
    data = picture(drawn)
    image = Image.open(io.BytesIO(data))
    assert (image.format, image.mode, image.size) == ("JPEG", "L", drawn.film.size)
    assert len(data) < 400_000
    assert not {"exif", "comment", "xmp", "icc_profile", "photoshop"} & set(image.info)
    pixels = numpy.asarray(image, float)
    ground = pixels[-200:, -200:].mean()
    x, y = drawn.points()["U6"]
    crown = pixels[round(y) - 20 : round(y), round(x) - 30 : round(x)].mean()
    assert ground < 40 < 150 < crown


def test_every_stage_of_every_case_is_filmed() -> None:
    assert set(FILMED) == {case.note for case in ALL}
    for case in ALL:
        assert set(FILMED[case.note].records) == {sheet.stage for sheet in case.sheets}
