"""How stored values of up to 16 bits become greys of 8: of DICOM files after PS3.3 and PS3.5, of TIFF and PNG alike."""

from __future__ import annotations

from itertools import product
from typing import Any

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st
from PIL import Image
from pydicom.dataset import Dataset
from pydicom.pixels.processing import apply_windowing

from imaging.deidentify import clean
from imaging.dicom_pixels import inversion_of, window
from imaging.greys import table_of
from tests.imaging.made_radiographs import dicom_of, ramp, saved, tiff_of


def ends(data: bytes) -> tuple[int, int]:
    """The greys of the first and the last pixel."""
    grey = clean(data).pixels.getchannel("G").tobytes()
    return grey[0], grey[-1]


# Greys: one rule for photometric interpretation and presentation shape; rii-mango/Daikon issue 35.
@pytest.mark.parametrize(
    ("photometric", "shape", "inverted"),
    [
        ("MONOCHROME2", None, False),
        ("MONOCHROME2", "IDENTITY", False),
        ("MONOCHROME1", None, True),
        ("MONOCHROME1", "INVERSE", True),
        ("MONOCHROME1", "IDENTITY", True),
        ("MONOCHROME2", "INVERSE", True),
    ],
)
def test_a_picture_is_inverted_once_or_not_at_all_and_the_reason_is_kept(
    photometric: str, shape: str | None, inverted: bool
) -> None:
    data = dicom_of(ramp(12), PhotometricInterpretation=photometric, PresentationLUTShape=shape)
    assert ends(data) == ((255, 0) if inverted else (0, 255))
    facts = clean(data).facts
    assert facts["inverted"] is inverted
    assert bool(facts["inversion"]) is inverted
    assert ("look at it" in facts["inversion"]) is (photometric == "MONOCHROME2" and inverted)


def test_the_two_words_for_an_inverse_never_cancel_each_other() -> None:
    for photometric, shape in product(("MONOCHROME1", "MONOCHROME2"), ("", "IDENTITY", "INVERSE")):
        assert inversion_of(photometric, shape)[0] is (photometric == "MONOCHROME1" or shape == "INVERSE")


def test_a_stated_window_is_kept_to() -> None:
    data = dicom_of(ramp(12), WindowCenter="2048", WindowWidth="1024")
    grey = np.asarray(clean(data).pixels)[..., 0].ravel()
    values = ramp(12).ravel()
    assert set(grey[values < 1500]) == {0}
    assert set(grey[values > 2600]) == {255}
    assert abs(int(grey[np.argmin(np.abs(values.astype(int) - 2048))]) - 128) <= 2
    assert clean(data).facts["window"] == "the window stated in the file"


def test_of_several_stated_windows_the_first_is_taken() -> None:
    two = clean(dicom_of(ramp(12), WindowCenter=["2048", "100"], WindowWidth=["1024", "50"]))
    one = clean(dicom_of(ramp(12), WindowCenter="2048", WindowWidth="1024"))
    assert two.pixels.tobytes() == one.pixels.tobytes()


@pytest.mark.parametrize(
    "window", [{"WindowCenter": "60000", "WindowWidth": "10"}, {"WindowCenter": "-5", "WindowWidth": "1"}]
)
def test_a_window_that_leaves_nothing_to_see_is_not_kept_to(window: dict[str, Any]) -> None:
    cleaned = clean(dicom_of(ramp(12), **window))
    assert cleaned.pixels.getextrema()[0] == (0, 255)
    assert "not of this picture" in cleaned.facts["window"]


def test_without_a_window_single_marks_do_not_darken_the_picture() -> None:
    values = ramp(12, (100, 100)) // 4
    values[0, :20] = 4095  # a lead letter
    grey = np.asarray(clean(dicom_of(values)).pixels)[..., 0]
    assert np.median(grey) > 100
    assert grey[0, 0] == 255
    assert len(np.unique(grey)) >= 200


def test_the_modality_scale_and_signed_values_are_taken_in() -> None:
    signed = (ramp(12).astype(np.int32) - 2048).astype(np.int16)
    data = dicom_of(
        signed, PixelRepresentation=1, BitsStored=12, HighBit=11, RescaleSlope="2", RescaleIntercept="-7"
    )
    assert ends(data) == (0, 255)


def test_bits_above_the_stored_ones_are_no_part_of_the_value() -> None:
    overlay = ramp(12) | np.uint16(0x8000) * (ramp(12) % 3 == 0).astype(np.uint16)
    assert clean(dicom_of(overlay)).pixels.tobytes() == clean(dicom_of(ramp(12))).pixels.tobytes()


def test_filling_around_the_picture_is_black_and_does_not_count() -> None:
    values = ramp(12, (60, 60)) // 8 + 1000
    values[:, :10] = 0
    for photometric in ("MONOCHROME1", "MONOCHROME2"):
        cleaned = clean(dicom_of(values, PixelPaddingValue=0, PhotometricInterpretation=photometric))
        grey = np.asarray(cleaned.pixels)[..., 0]
        assert set(grey[:, 0]) == {0}
        assert (grey[:, 10:].min(), grey[:, 10:].max()) == (0, 255)


@pytest.mark.parametrize("bits", [8, 10, 12, 14, 16])
def test_all_depths_keep_their_greys(bits: int) -> None:
    high = {"BitsStored": bits, "HighBit": bits - 1}
    assert len(np.unique(np.asarray(clean(dicom_of(ramp(bits, (128, 128)), **high)).pixels))) >= 200


# Windows: PS3.3 C.11.2.1.2 and C.11.2.1.3, held against pydicom's own, which tells greys of the stored bits.
@given(
    st.floats(min_value=-500, max_value=5000),
    st.floats(min_value=1, max_value=9000),
    st.sampled_from(["LINEAR", "LINEAR_EXACT", "SIGMOID"]),
)
def test_a_window_shows_what_the_reference_library_shows(centre: float, width: float, function: str) -> None:
    values = np.arange(4096)
    dataset = Dataset()
    dataset.WindowCenter, dataset.WindowWidth, dataset.VOILUTFunction = (
        round(centre, 3),
        round(width, 3),
        function,
    )
    dataset.BitsStored, dataset.PixelRepresentation, dataset.PhotometricInterpretation = 12, 0, "MONOCHROME2"
    ours = window(values.astype(float), float(dataset.WindowCenter), float(dataset.WindowWidth), function)
    assert ours is not None
    theirs = apply_windowing(values, dataset) / 4095 * 255
    assert np.abs(ours - theirs).max() <= 0.51


def test_a_window_wider_than_the_picture_is_not_stretched_over_all_greys() -> None:
    grey = np.asarray(clean(dicom_of(ramp(12), WindowCenter="2048", WindowWidth="8192")).pixels)
    assert (grey.min(), grey.max()) == (64, 191)


@pytest.mark.parametrize(
    ("width", "function"), [("0", "LINEAR"), ("0", "SIGMOID"), ("-5", "LINEAR_EXACT"), ("9", "X")]
)
def test_a_window_that_the_standard_does_not_allow_is_told(width: str, function: str) -> None:
    cleaned = clean(dicom_of(ramp(12), WindowCenter="2048", WindowWidth=width, VOILUTFunction=function))
    assert cleaned.facts["window"].startswith("the window stated in the file is not of this picture")
    assert cleaned.pixels.getextrema()[0] == (0, 255)


def table(entries: list[int], first: int) -> Dataset:
    item = Dataset()
    item.LUTDescriptor = [len(entries), first, 16]
    item.LUTData = np.array(entries, "<u2").tobytes()
    return item


@pytest.mark.parametrize("intercept", [0, 1000])
def test_a_stated_table_is_read_with_what_the_modality_makes_of_the_values(intercept: int) -> None:
    """PS3.3 C.11.2: the table follows the rescaling; here it turns the ramp over."""
    turned = [65535 - 16 * n for n in range(4096)]
    data = dicom_of(
        ramp(12), VOILUTSequence=[table(turned, intercept)], RescaleSlope="1", RescaleIntercept=str(intercept)
    )
    assert ends(data) == (255, 0)
    assert clean(data).facts["window"] == "the window stated in the file"


def test_a_table_of_another_length_than_it_states_is_told_and_not_kept_to() -> None:
    short = table([0, 65535], 0)
    short.LUTDescriptor = [4096, 0, 16]
    assert "not of this picture" in clean(dicom_of(ramp(12), VOILUTSequence=[short])).facts["window"]


# Pictures without any window: the range of the original, of TIFF and PNG as of DICOM.
def lettered() -> np.ndarray[Any, Any]:
    """A dark radiograph of 16 bits with a bright lead letter of few pixels."""
    values = (ramp(12, (120, 90)) + 2000).astype(np.uint16)
    values[0, :20] = 65535
    return values


def test_sixteen_bits_look_alike_whatever_kind_of_file_holds_them() -> None:
    as_png = saved(Image.fromarray(lettered()), "PNG")
    as_tiff = tiff_of(lettered(), photometric="minisblack")
    as_dicom = dicom_of(lettered(), BitsStored=16, HighBit=15)
    pictures = [clean(data) for data in (as_png, as_tiff, as_dicom)]
    assert len({one.pixels.tobytes() for one in pictures}) == 1
    assert len({one.facts["window"] for one in pictures}) == 1
    assert np.median(np.asarray(pictures[0].pixels)) > 100


@pytest.mark.parametrize("longest", [100, 60, 31])
def test_the_greys_are_those_of_the_whole_original_however_small_it_becomes(longest: int) -> None:
    data = tiff_of(lettered(), photometric="minisblack")
    whole = np.asarray(clean(data).pixels.getchannel("G"), float)
    small = np.asarray(clean(data, longest).pixels.getchannel("G"), float)
    assert abs(np.median(whole) - np.median(small)) <= 2


@given(st.lists(st.integers(min_value=0, max_value=65535), min_size=1, max_size=50))
def test_a_brighter_value_is_never_shown_darker(used: list[int]) -> None:
    counts = np.bincount(used, minlength=65536)
    assert (np.diff(table_of(counts).astype(int)) >= 0).all()
