"""What is kept of a file beside its pixels: typed, of the original's pixel grid, and nothing else."""

from __future__ import annotations

import io
import re
from typing import Any, get_type_hints

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st
from PIL import Image

from imaging.deidentify import clean
from imaging.file_facts import FileFacts, in_words, resolution_spacing
from tests.imaging.made_pictures import chunk, corner, jpeg, png, segment
from tests.imaging.made_radiographs import dicom_of, ramp, saved, tiff_of

TWO_DPI = (300, 150)
"""Across and down: a pixel is then 0.0846667 mm wide and 0.169333 mm high."""
DOWN, ACROSS = "0.169333", "0.0846667"


def grey_tiff(orientation: int = 1, **how: Any) -> bytes:
    return tiff_of(
        ramp(16, (40, 60)),
        photometric="minisblack",
        extratags=[(274, 3, 1, orientation, True)],
        **{"resolution": TWO_DPI, "resolutionunit": 2, **how},
    )


def with_exif(orientation: int) -> bytes:
    """A JPEG whose resolution stands in its Exif block only; a library always writes JFIF's, which is cut out."""
    exif = Image.Exif()
    exif[0x011A], exif[0x011B], exif[0x0128], exif[0x0112] = 300.0, 150.0, 2, orientation
    data = jpeg(corner(), exif=exif)
    assert data[2:4] == b"\xff\xe0"
    return data[:2] + data[4 + int.from_bytes(data[4:6], "big") :]


def exif_png(orientation: int) -> bytes:
    exif = Image.Exif()
    exif[0x0112] = orientation
    return png(corner(), dpi=TWO_DPI, exif=exif)


# Spacings are those of the upright original: TIFF 6.0 page 38, JFIF 1.02, Exif 2.32 4.6.4, PNG section 11.3.4.3.
@pytest.mark.parametrize("orientation", range(1, 9))
@pytest.mark.parametrize(
    "made",
    [
        grey_tiff,
        lambda orientation: saved(corner(), "TIFF", dpi=TWO_DPI, tiffinfo={274: orientation}),
        with_exif,
        exif_png,
    ],
    ids=["deep tiff", "tiff", "exif of a jpeg", "png"],
)
def test_a_resolution_is_kept_down_before_across_of_the_upright_picture(orientation: int, made: Any) -> None:
    found = clean(made(orientation)).facts["ResolutionSpacing"]
    down, across = (DOWN, ACROSS) if orientation < 5 else (ACROSS, DOWN)
    assert [float(one) for one in found] == pytest.approx([float(down), float(across)], rel=1e-3)


def test_jfif_goes_before_exif_and_centimetres_are_taken_in() -> None:
    assert clean(jpeg(corner(), dpi=TWO_DPI)).facts["ResolutionSpacing"] == [DOWN, ACROSS]
    by_centimetre = clean(grey_tiff(resolution=(100, 50), resolutionunit=3)).facts["ResolutionSpacing"]
    assert [float(one) for one in by_centimetre] == pytest.approx([0.2, 0.1], rel=1e-4)


@pytest.mark.parametrize("longest", [10, 30, None])
def test_a_spacing_is_that_of_the_original_however_small_the_pixels_become(longest: int | None) -> None:
    for data in (grey_tiff(), jpeg(corner(), dpi=TWO_DPI), dicom_of(ramp(12), PixelSpacing=["0.2", "0.1"])):
        whole, small = clean(data), clean(data, longest)
        assert small.facts == whole.facts
        assert (small.width, small.height) == (whole.width, whole.height) == whole.pixels.size


@pytest.mark.parametrize(
    "data",
    [
        jpeg(corner()),
        png(corner()),
        tiff_of(ramp(16, (40, 60)), photometric="minisblack"),
        grey_tiff(resolutionunit=1),
        grey_tiff(resolution=(1_000_000, 1_000_000)),
        grey_tiff(resolution=(0, 0)),
    ],
    ids=["jpeg", "png", "tiff", "no unit", "too fine", "zero"],
)
def test_without_a_resolution_that_can_be_one_none_is_kept(data: bytes) -> None:
    assert "ResolutionSpacing" not in clean(data).facts


def test_a_jpeg_with_a_damaged_exif_block_is_not_given_a_resolution_of_the_library() -> None:
    """The library answers 72 pixels an inch where Exif says nothing; the file did not state it."""
    exif = Image.Exif()
    exif[0x010E] = "words"
    data = jpeg(corner(), exif=exif)
    data = data[:2] + data[4 + int.from_bytes(data[4:6], "big") :]
    with Image.open(io.BytesIO(data)) as opened:
        assert opened.info["dpi"] == (72, 72)
    assert "ResolutionSpacing" not in clean(data).facts


def test_pixels_of_a_stated_shape_without_a_unit_of_length_have_no_spacing() -> None:
    data = png(corner())
    at = data.index(b"IDAT") - 4
    shape = chunk(b"pHYs", (2).to_bytes(4, "big") + (1).to_bytes(4, "big") + b"\0")
    assert "ResolutionSpacing" not in clean(data[:at] + shape + data[at:]).facts
    assert (
        "ResolutionSpacing" not in clean(jpeg(corner())[:2] + segment(0xFE, b"x") + jpeg(corner())[2:]).facts
    )


@given(st.floats(), st.floats(), st.booleans())
def test_any_two_numbers_give_two_good_texts_or_nothing(across: float, down: float, turned: bool) -> None:
    found = resolution_spacing(across, down, quarter_turned=turned).get("ResolutionSpacing", ["1", "1"])
    assert all(0 < float(text) < 3 for text in found)


# What DICOM files state: PS3.3 sections 10.7.1.3, C.8.1.2 (distances) and C.7.6.3.
STATED: dict[str, Any] = {
    "PixelSpacing": ["0.09", "0.1"],
    "ImagerPixelSpacing": ["0.1", "0.11"],
    "NominalScannedPixelSpacing": ["0.085", "0.085"],
    "PixelAspectRatio": ["9", "10"],
    "EstimatedRadiographicMagnificationFactor": ["1.1"],
    "DistanceSourceToDetector": ["1674"],
    "DistanceSourceToPatient": ["1524"],
}


@pytest.mark.parametrize("keyword", STATED)
def test_each_number_that_tells_of_the_scale_is_kept_as_it_was_written(keyword: str) -> None:
    value = STATED[keyword]
    given_value = value if len(value) > 1 else value[0]
    assert clean(dicom_of(**{keyword: given_value})).facts[keyword] == value  # type: ignore[literal-required]


@pytest.mark.parametrize("keyword", STATED)
@pytest.mark.parametrize("wrong", [["0.1", "0.1", "0.1"], []])
def test_a_number_too_many_or_none_is_not_kept(keyword: str, wrong: list[str]) -> None:
    attributes: dict[str, Any] = {keyword: wrong}
    assert keyword not in clean(dicom_of(**attributes)).facts


@pytest.mark.parametrize("senseless", [["0", "0"], ["-0.1", "0.1"], ["1", "1"]])
def test_a_senseless_spacing_is_kept_so_that_it_can_be_told(senseless: list[str]) -> None:
    facts = clean(dicom_of(PixelSpacing=senseless)).facts
    assert facts["PixelSpacing"] == senseless
    assert any(" by ".join(senseless) in words for words in in_words(facts))


def test_every_fact_of_every_kind_of_file_is_one_that_is_listed() -> None:
    listed = get_type_hints(FileFacts)
    everything = dicom_of(
        np.stack([ramp(12), ramp(12)[::-1]]),
        frames=2,
        **STATED | {"EstimatedRadiographicMagnificationFactor": "1.1"},
        PatientOrientation=["A", "F"],
        BurnedInAnnotation="NO",
        PixelSpacingCalibrationType="FIDUCIAL",
    )
    seen = {**clean(everything, frame=1).facts, **clean(grey_tiff()).facts}
    assert set(seen) == set(listed)
    for key, value in seen.items():
        kind = listed[key]
        assert isinstance(value, list if str(kind).startswith("list") else kind), key
    assert all(re.fullmatch(r"[A-Z].*\.", words) for words in in_words(seen))
