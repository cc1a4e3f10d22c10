"""Points of the original lie where the picture shows them, whatever is done to it, and measure the same."""

from __future__ import annotations

import io
from typing import Any

import pytest
from hypothesis import given
from hypothesis import strategies as st
from PIL import Image, ImageDraw

from filing.selectors import open_bytes
from imaging import operations, services
from imaging.deidentify import smaller
from imaging.models import Tracing
from imaging.services import PRINT_PIXELS, WORKED_PIXELS
from imaging.tracing import selectors
from imaging.tracing.on_picture import Way, face_axes, shown_picture
from imaging.tracing.pictures import picture_of
from portfolio.models import RecordItem
from tests.factories.accounts import person
from tests.factories.imaging import taken
from tests.factories.portfolio import case_of, record_set_of
from tests.factories.tracing import ON_PICTURE, calibrated, pixel, placed, put, radiograph_of, traced
from tests.imaging.cephalometry.faces import ORDINARY
from tests.imaging.made_pictures import png

SIZE = (300, 200)
EDGES = st.integers(0, 20)
ONE = st.one_of(
    st.sampled_from(["mirror", "quarter_left", "quarter_right"]).map(lambda kind: {"kind": kind}),
    st.tuples(EDGES, EDGES, EDGES, EDGES).map(
        lambda e: {"kind": "crop", **dict(zip(("left", "right", "top", "bottom"), e, strict=True))}
    ),
    st.just({"kind": "invert"}),
    st.just({"kind": "brightness", "per_cent": 120}),
)


def spot(at: tuple[int, int]) -> Image.Image:
    """Black with one block of 5 by 5 white pixels whose middle is the pixel `at`."""
    picture = Image.new("L", SIZE, 0)
    ImageDraw.Draw(picture).rectangle((at[0] - 2, at[1] - 2, at[0] + 2, at[1] + 2), fill=255)
    return picture


def middle(picture: Image.Image) -> tuple[float, float]:
    """The middle of the white block, in the coordinates in which the first pixel reaches from 0 to 1."""
    left, top, right, bottom = picture.point([0] * 128 + [255] * 128).getbbox() or (0, 0, 0, 0)
    return (left + right) / 2, (top + bottom) / 2


@given(
    done=st.lists(ONE, max_size=5),
    at=st.tuples(st.integers(120, 180), st.integers(80, 120)),
)
def test_a_pixel_lies_where_the_picture_library_has_put_it(
    done: list[dict[str, Any]], at: tuple[int, int]
) -> None:
    moving = [one for one in done if one["kind"] in ("mirror", "quarter_left", "quarter_right", "crop")]
    shown = operations.applied(spot(at), moving)
    mapped = shown_picture(SIZE, done, PRINT_PIXELS, WORKED_PIXELS)
    assert (mapped.width, mapped.height) == shown.size
    x, y = mapped(at[0] + 0.5, at[1] + 0.5)
    if 3 < x < shown.width - 3 and 3 < y < shown.height - 3:
        assert (x, y) == pytest.approx(middle(shown))


@given(done=st.lists(ONE, max_size=6), way=st.sampled_from(list(Way)))
def test_a_side_comes_back_from_where_it_went(done: list[dict[str, Any]], way: Way) -> None:
    shown = shown_picture(SIZE, done, PRINT_PIXELS, WORKED_PIXELS)
    assert shown.way_back(shown.way(way)) == way


@given(
    done=st.lists(ONE, max_size=6),
    scale=st.tuples(st.floats(0.05, 0.5), st.floats(0.05, 0.5)),
    a=st.tuples(st.floats(0, 300), st.floats(0, 200)),
    b=st.tuples(st.floats(0, 300), st.floats(0, 200)),
)
def test_the_frame_of_a_face_keeps_millimetres_whatever_was_done(
    done: list[dict[str, Any]],
    scale: tuple[float, float],
    a: tuple[float, float],
    b: tuple[float, float],
) -> None:
    shown = shown_picture(SIZE, done, PRINT_PIXELS, WORKED_PIXELS)
    axes = next(one for way in Way if (one := face_axes(shown, way, scale)))
    (ax, ay), (bx, by) = axes(*a), axes(*b)
    wanted = ((b[0] - a[0]) * scale[0]) ** 2 + ((b[1] - a[1]) * scale[1]) ** 2
    assert (bx - ax) ** 2 + (by - ay) ** 2 == pytest.approx(wanted)


def test_a_large_picture_is_shown_smaller_by_the_sizes_that_the_rendition_has() -> None:
    size = (4000, 3000)
    mapped = shown_picture(size, [], PRINT_PIXELS, WORKED_PIXELS)
    shown = smaller(Image.new("L", size), PRINT_PIXELS)
    assert (mapped.width, mapped.height) == shown.size
    assert mapped(*map(float, size)) == pytest.approx(shown.size)


def do(item: RecordItem, kind: str, **given: str) -> None:
    owner = item.record_set.case.patient.portfolio.owner
    services.add_operation(owner, item, kind, given, item.version)
    item.refresh_from_db()


def values(tracing: Tracing) -> dict[str, float]:
    fresh = Tracing.objects.select_related("item").get(pk=tracing.pk)
    told = selectors.state(fresh, fresh.reader)["values"]
    return {key: one["value"] for key, one in told.items()}


@pytest.mark.django_db
@pytest.mark.parametrize(
    "done",
    [
        [("mirror", {})],
        [
            ("quarter_left", {}),
            ("quarter_left", {}),
            ("mirror", {}),
            ("quarter_left", {}),
            ("quarter_left", {}),
        ],
        [("crop", {"left": "10", "right": "2.5", "top": "1", "bottom": "0"}), ("mirror", {})],
        [("invert", {}), ("brightness", {"per_cent": "130"})],
    ],
)
def test_what_is_done_to_the_radiograph_afterwards_moves_no_value(
    done: list[tuple[str, dict[str, str]]],
) -> None:
    item = calibrated(radiograph_of(person()))
    tracing = traced(item)
    before = values(tracing)
    for kind, how in done:
        do(item, kind, **how)
    assert values(tracing) == pytest.approx(before)
    assert len(before) > 60


@pytest.mark.django_db
def test_a_radiograph_turned_on_its_side_is_not_read_and_says_what_to_do() -> None:
    item = calibrated(radiograph_of(person()))
    tracing = traced(item)
    before = values(tracing)
    do(item, "quarter_left")
    state = selectors.state(Tracing.objects.get(pk=tracing.pk), tracing.reader)
    assert "lies on its side" in state["why"]
    assert state["values"] == {}
    do(item, "quarter_right")
    assert values(tracing) == pytest.approx(before)


@pytest.mark.django_db
def test_a_radiograph_turned_upside_down_is_not_read_and_says_so() -> None:
    item = calibrated(radiograph_of(person()))
    tracing = traced(item)
    do(item, "quarter_left")
    do(item, "quarter_left")
    state = selectors.state(Tracing.objects.get(pk=tracing.pk), tracing.reader)
    assert state["faces"] == "left"
    assert "upside-down" in state["why"]
    assert state["values"] == {}


@pytest.mark.django_db
def test_a_point_placed_after_a_mirror_is_kept_on_the_original() -> None:
    item = calibrated(radiograph_of(person()))
    tracing = traced(item)
    do(item, "mirror")
    shown = picture_of(item)
    x, y = pixel(*ORDINARY["A"][:2])
    assert shown(x, y) == pytest.approx((shown.width - x, y))
    put(Tracing.objects.get(pk=tracing.pk), {"A": placed(x, y)})
    tracing.refresh_from_db()
    assert tracing.points["A"] == ON_PICTURE["A"]


@pytest.mark.django_db
def test_the_rendition_has_the_size_that_the_map_tells_after_a_deep_crop() -> None:
    owner = person()
    item = taken(owner, record_set_of(case_of(owner)), png(Image.new("L", (5000, 3600), 80)), "large.png")
    do(item, "crop", left="30", right="31.5", top="12", bottom="40")
    assert item.print_file is not None
    with open_bytes(item.print_file) as stream, Image.open(io.BytesIO(stream.read())) as rendition:
        assert rendition.size == (picture_of(item).width, picture_of(item).height)
