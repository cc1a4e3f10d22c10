"""Radiographs printed at their own size, measured on the rasterised page against the line of 100 mm."""

from __future__ import annotations

import io
import math
import re
import subprocess
import uuid
from itertools import pairwise
from pathlib import Path
from typing import Any

import numpy as np
import pytest
from django.utils import timezone
from hypothesis import given
from hypothesis import strategies as st
from PIL import Image, ImageDraw

from accounts.models import User
from dossier.true_size import CHECK_MM, SHEETS, placed, room
from imaging import services as pictures
from imaging.calibrating import services
from imaging.calibrating.selectors import scale_facts
from imaging.calibration import Plane, Ruler, RulerReading
from imaging.superimposing.drawing import sketch_of
from imaging.superimposing.selectors import stage_lines, traced_stages
from portfolio.models import Case, RecordItem
from portfolio.services import record_items
from tests.factories.accounts import person, signed_in
from tests.factories.dossier import address, assigned, printed
from tests.factories.portfolio import NOON, case_of, record_set_of
from tests.factories.tracing import MM_PER_PIXEL, calibrated, pixel, radiograph_of, traced
from tests.imaging.cephalometry.faces import ORDINARY
from tests.imaging.made_radiographs import saved
from tests.press.printed import facts_of, page_count, words_of

DOTS = 300
MARKS = 1500, 1200
"""Pixels between the two marks across, and between the two marks down, in the drawn film."""


def film(size: tuple[int, int] = (1800, 1600)) -> bytes:
    """White with black crosses-arms: two upright strokes 1500 pixels apart, two level ones 1200 apart, no other ink."""
    picture = Image.new("L", size, 255)
    draw = ImageDraw.Draw(picture)
    for x in (150, 150 + MARKS[0]):
        draw.rectangle((x - 3, 700, x + 3, 900), fill=0)
    for y in (200, 200 + MARKS[1]):
        draw.rectangle((800, y - 3, 1000, y + 3), fill=0)
    return saved(picture, "PNG")


@pytest.fixture
def owner() -> User:
    return person()


@pytest.fixture
def case(owner: User) -> Case:
    return case_of(owner)


def radiograph(owner: User, case: Case, view: str = "lateral", data: bytes | None = None) -> RecordItem:
    return assigned(owner, record_set_of(case), view, data or film())


def ruled(owner: User, item: RecordItem, mm_per_pixel: float, **more: Any) -> None:
    """Give the picture its scale by a ruler over its first 1000 pixels."""
    plane = more.pop("plane", Plane.MIDSAGITTAL)
    reading = RulerReading(Ruler((100, 100), (1100, 100), 1000 * mm_per_pixel), plane, **more)
    stand = services.Stand(scale_facts(item).number, uuid.uuid4().hex)
    services.keep_ruler(owner, item, reading, stand, timezone.now())


def page_with(pdf: Path, words: str) -> int:
    """The only page that says this."""
    (found,) = [n for n in range(1, page_count(pdf) + 1) if words in " ".join(words_of(pdf, n).split())]
    return found


def ink(pdf: Path, page: int, to: Path) -> np.ndarray[Any, Any]:
    """The page as a rasteriser of another maker sees it: True where it is dark."""
    command = ["pdftoppm", "-r", str(DOTS), "-f", str(page), "-l", str(page), "-gray", "-singlefile"]
    subprocess.run([*command, str(pdf), str(to / "sheet")], check=True)
    return np.asarray(Image.open(to / "sheet.pgm")) < 128


def runs(dark: np.ndarray[Any, Any]) -> list[tuple[float, float, float]]:
    """Unbroken level runs of ink as length, left end and height, in mm."""
    found = []
    for y, row in enumerate(dark):
        edges = np.flatnonzero(np.diff(np.concatenate(([0], row.astype(np.int8), [0]))))
        found += [
            ((b - a) * 25.4 / DOTS, a * 25.4 / DOTS, y * 25.4 / DOTS)
            for a, b in zip(edges[::2], edges[1::2], strict=True)
        ]
    return found


def check_line(dark: np.ndarray[Any, Any]) -> float:
    """Length of the longest level run of ink on the page."""
    return max(runs(dark))[0]


def gap(dark: np.ndarray[Any, Any], length_mm: float) -> float:
    """Distance of the middles of the two strokes whose runs have this length, in mm."""
    rows = sorted({round(y, 3) for length, _, y in runs(dark) if abs(length - length_mm) < 0.5})
    cut = next(n for n, (a, b) in enumerate(pairwise(rows)) if b - a > 20)
    return float(np.mean(rows[cut + 1 :]) - np.mean(rows[: cut + 1]))


@pytest.mark.any_database
@pytest.mark.django_db
@pytest.mark.any_database
@pytest.mark.parametrize("paper", ["a4", "letter"])
@pytest.mark.parametrize("mm_per_pixel", [0.1, 0.0837])
def test_marks_of_known_distance_lie_as_far_apart_on_paper_as_in_the_patient(
    owner: User, case: Case, tmp_path: Path, paper: str, mm_per_pixel: float
) -> None:
    item = radiograph(owner, case)
    ruled(owner, item, mm_per_pixel)
    pdf = printed(case, tmp_path, paper=paper, true_size="on")
    page = page_with(pdf, "True to size")
    dark = ink(pdf, page, tmp_path)
    line = check_line(dark)
    assert line == pytest.approx(CHECK_MM, abs=0.2)
    down = gap(dark, 201 * mm_per_pixel)
    across = gap(dark.T, 201 * mm_per_pixel)
    assert down == pytest.approx(MARKS[1] * mm_per_pixel, abs=0.2)
    assert across == pytest.approx(MARKS[0] * mm_per_pixel, abs=0.2)
    assert down / line == pytest.approx(MARKS[1] * mm_per_pixel / CHECK_MM, rel=0.002)
    words = " ".join(words_of(pdf, page).split())
    assert "natural size" in words
    assert "Print at 100 per cent: the line must measure 100 mm." in words


@pytest.mark.any_database
@pytest.mark.django_db
@pytest.mark.any_database
def test_a_picture_that_was_turned_cropped_and_stretched_is_still_true_to_size(
    owner: User, case: Case, tmp_path: Path
) -> None:
    item = radiograph(owner, case)
    second = Ruler((100, 100), (100, 1100), 110)
    ruled(owner, item, 0.1, second=second)
    for kind, given_ in (("quarter_right", {}), ("crop", {"left": "5", "top": "4.5"}), ("mirror", {})):
        item.refresh_from_db()
        pictures.add_operation(owner, item, kind, given_, item.version)
    item.refresh_from_db()
    record_items.state_no_text(owner, item, item.version, NOON)
    pdf = printed(case, tmp_path, true_size="on")
    dark = ink(pdf, page_with(pdf, "True to size"), tmp_path)
    assert check_line(dark) == pytest.approx(CHECK_MM, abs=0.2)
    assert gap(dark, 201 * 0.11) == pytest.approx(MARKS[0] * 0.1, abs=0.2)
    assert gap(dark.T, 201 * 0.1) == pytest.approx(MARKS[1] * 0.11, abs=0.2)


@pytest.mark.any_database
@pytest.mark.django_db
@pytest.mark.any_database
def test_a_film_wider_than_the_sheet_is_printed_on_a_lying_one(
    owner: User, case: Case, tmp_path: Path
) -> None:
    item = radiograph(owner, case)
    ruled(owner, item, 0.118)  # 212 by 189 mm: too wide for A4 upright
    pdf = printed(case, tmp_path, true_size="on")
    page = page_with(pdf, "True to size")
    dark = ink(pdf, page, tmp_path)
    assert dark.shape[1] > dark.shape[0]
    assert check_line(dark.T) == pytest.approx(CHECK_MM, abs=0.2)
    assert gap(dark, 201 * 0.118) == pytest.approx(MARKS[1] * 0.118, abs=0.2)
    assert gap(dark.T, 201 * 0.118) == pytest.approx(MARKS[0] * 0.118, abs=0.2)


@pytest.mark.any_database
@pytest.mark.django_db
@pytest.mark.any_database
@pytest.mark.parametrize(("paper", "percent"), [("a4", 60), ("letter", 61)])
def test_what_does_not_fit_says_so_in_words_and_has_no_line_to_check_by(
    owner: User, case: Case, tmp_path: Path, paper: str, percent: int
) -> None:
    item = radiograph(owner, case)
    ruled(owner, item, 0.2)
    said = signed_in(owner).get(address(case)).content.decode()
    assert "larger than the paper; printed smaller (60 % on A4 and 61 % on Letter)" in said
    pdf = printed(case, tmp_path, paper=paper, true_size="on")
    page = page_with(pdf, "Not true to size")
    words = " ".join(words_of(pdf, page).split())
    assert f"360 × 320 mm in natural size is larger than this paper; printed at {percent} per cent." in words
    assert "Print at 100 per cent" not in words
    dark = ink(pdf, page, tmp_path)
    assert all(abs(length - CHECK_MM) > 1 for length, _, _ in [*runs(dark), *runs(dark.T)])
    share = placed((360, 320), paper).share
    assert gap(dark, 201 * 0.2 * share) == pytest.approx(MARKS[1] * 0.2 * share, abs=0.2)
    assert "True to size" not in words_of(pdf)


@pytest.mark.any_database
@pytest.mark.django_db
@pytest.mark.any_database
def test_edges_may_be_left_out_so_that_the_middle_is_true_to_size(
    owner: User, case: Case, tmp_path: Path
) -> None:
    picture = Image.open(io.BytesIO(film()))
    picture.paste(0, (0, 1000, 20, 1100))  # ink of 2.4 by 12 mm at the left edge
    item = radiograph(owner, case, data=saved(picture, "PNG"))
    ruled(owner, item, 0.1349)  # 242.8 by 215.8 mm on A4, where 241 by 192 mm have room lying
    pdf = printed(case, tmp_path, true_size="on", larger="cut")
    page = page_with(pdf, "True to size")
    words = " ".join(words_of(pdf, page).split())
    assert "243 × 216 mm" in words
    assert "Its edges are left out: 0.9 mm at left and right each and 11.9 mm at top and foot each." in words
    dark = ink(pdf, page, tmp_path)
    assert dark.shape[1] > dark.shape[0]
    assert gap(dark, 201 * 0.1349) == pytest.approx(MARKS[1] * 0.1349, abs=0.2)
    assert gap(dark.T, 201 * 0.1349) == pytest.approx(MARKS[0] * 0.1349, abs=0.2)
    beside = [(length, at) for length, at, y in runs(dark) if y > 100 and at > 20 and length < 5]
    strip = 20 * 0.1349 - 0.91
    assert min(at for _, at in beside) == pytest.approx(48, abs=0.2), "nothing of it in the column of words"
    assert max(length for length, at in beside if at < 49) == pytest.approx(strip, abs=0.1)


@pytest.mark.any_database
@pytest.mark.django_db
@pytest.mark.any_database
def test_film_size_is_said_in_words(owner: User, case: Case, tmp_path: Path) -> None:
    ruled(owner, radiograph(owner, case), 0.1, plane=Plane.DETECTOR)
    pdf = printed(case, tmp_path, true_size="on")
    words = " ".join(words_of(pdf, page_with(pdf, "True to size")).split())
    assert "True to size: film size, 180 × 160 mm" in words
    assert "its magnification is not stated" in words
    assert "natural size" not in words


@pytest.mark.any_database
@pytest.mark.django_db
@pytest.mark.any_database
def test_radiographs_without_a_scale_and_panoramic_ones_are_told_not_to_scale(
    owner: User, case: Case, tmp_path: Path
) -> None:
    radiograph(owner, case)
    panoramic = radiograph(owner, case, "panoramic", saved(Image.linear_gradient("L"), "PNG"))
    reading = RulerReading(Ruler((10, 10), (210, 10), 60), Plane.MIDSAGITTAL)
    services.keep_ruler(owner, panoramic, reading, services.Stand(0, uuid.uuid4().hex), timezone.now())
    pdf = printed(case, tmp_path, true_size="on")
    words = " ".join(words_of(pdf).split())
    assert "Lateral radiograph, initial: not to scale: it has no scale." in words
    assert "differs from place to place" in words
    assert "True to size" not in words
    assert "Pictures on this page are not to scale." in words


@pytest.mark.any_database
@pytest.mark.django_db
@pytest.mark.any_database
def test_without_the_wish_no_page_is_true_to_size(owner: User, case: Case, tmp_path: Path) -> None:
    ruled(owner, radiograph(owner, case), 0.1)
    pdf = printed(case, tmp_path)
    assert "True to size" not in words_of(pdf)
    said = signed_in(owner).get(address(case)).content.decode()
    assert "Natural size 180 × 160 mm: fits A4 and Letter" in said


@pytest.mark.any_database
@pytest.mark.django_db
@pytest.mark.any_database
def test_a_changed_scale_makes_a_new_print(owner: User, case: Case, tmp_path: Path) -> None:
    item = radiograph(owner, case)
    ruled(owner, item, 0.1)
    first = facts_of(printed(case, tmp_path, true_size="on"))
    ruled(owner, item, 0.09)
    pdf = printed(case, tmp_path, true_size="on")
    assert "162 × 144 mm" in " ".join(words_of(pdf).split())
    assert first


@pytest.mark.any_database
@pytest.mark.django_db
@pytest.mark.any_database
def test_the_tracing_stands_on_the_next_page_at_its_own_size(owner: User, case: Case, tmp_path: Path) -> None:
    item = radiograph_of(owner, record_set_of(case))
    record_items.state_no_text(owner, item, item.version, NOON)
    traced(calibrated(item))
    pdf = printed(case, tmp_path, true_size="on")
    page = page_with(pdf, "Tracing of the lateral radiograph, initial")
    assert page == page_with(pdf, "180 × 190 mm") + 1
    words = " ".join(words_of(pdf, page).split())
    assert "True to size: natural size" in words
    dark = ink(pdf, page, tmp_path)
    assert check_line(dark) == pytest.approx(CHECK_MM, abs=0.2)
    bars = [length for length, _, _ in runs(dark) if abs(length - 20.4) < 0.15]
    assert bars, "the drawing's own bar of 20 mm, with half a stroke of 0.4 mm beyond each end"
    drawing = sketch_of(traced_stages(stage_lines(owner, case))[0])
    assert drawing is not None
    lines = [
        tuple(map(float, pair)) for pair in re.findall(r"(-?[\d.]+) (-?[\d.]+)", drawing.layers[0].lines)
    ]
    s_at, n_at = (pixel(*ORDINARY[name][:2]) for name in ("S", "N"))
    sn = math.dist(s_at, n_at) * MM_PER_PIXEL
    assert any(math.dist(a, b) == pytest.approx(sn, abs=0.02) for a, b in pairwise(lines))


@pytest.mark.any_database
@pytest.mark.django_db
@pytest.mark.any_database
def test_a_tracing_without_a_scale_has_no_page_of_its_own(owner: User, case: Case, tmp_path: Path) -> None:
    item = radiograph_of(owner, record_set_of(case))
    record_items.state_no_text(owner, item, item.version, NOON)
    traced(item)
    assert "Tracing of" not in words_of(printed(case, tmp_path, true_size="on"))


sizes = st.tuples(st.floats(5, 900), st.floats(5, 900))


@given(sizes, st.sampled_from(sorted(SHEETS)))
def test_what_is_placed_always_lies_within_its_sheet_and_is_never_enlarged(
    size: tuple[float, float], paper: str
) -> None:
    at = placed(size, paper)
    wide, high = room(paper, lying=at.lying)
    assert at.width <= wide * 1.000001
    assert at.height <= high * 1.000001
    assert 0 < at.share <= 1
    assert at.width / at.height == pytest.approx(size[0] / size[1])
    fits = any(
        size[0] <= w and size[1] <= h for w, h in (room(paper, lying=lying) for lying in (False, True))
    )
    assert at.true == fits
    assert at.true or at.percent < 100


@given(sizes, st.sampled_from(sorted(SHEETS)))
def test_what_is_cut_keeps_its_size_and_its_middle(size: tuple[float, float], paper: str) -> None:
    at = placed(size, paper, cut=True)
    wide, high = room(paper, lying=at.lying)
    assert at.true
    assert at.width <= wide
    assert at.height <= high
    assert (at.width + 2 * at.left_out[0], at.height + 2 * at.left_out[1]) == pytest.approx(size)
    if placed(size, paper).true:
        assert at == placed(size, paper)


def test_the_largest_usual_films_have_room_upright_or_lying() -> None:
    """18 by 24 cm, one of the usual sizes of cephalometric film (from memory)."""
    assert placed((180, 240), "a4").true
    assert placed((240, 180), "a4").lying
