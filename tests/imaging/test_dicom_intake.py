"""DICOM files: which kinds are taken, frames, codings, sizes, and damaged ones.

Checked against the public sample files that ship inside the pydicom package, and against DICOM PS3.3 and PS3.5.
The families follow public bug reports of DICOM software, named beside each.
"""

from __future__ import annotations

import io
from typing import Any

import numpy as np
import pydicom
import pytest
from hypothesis import given
from hypothesis import strategies as st
from pydicom.dataset import Dataset
from pydicom.encaps import encapsulate, get_frame
from pydicom.pixels.utils import pixel_array
from pydicom.uid import (
    UID,
    DeflatedExplicitVRLittleEndian,
    ExplicitVRBigEndian,
    ImplicitVRLittleEndian,
    RLELossless,
)

from imaging import dicom_pixels
from imaging.deidentify import FrameAsked, PictureRefused, clean
from tests.imaging.made_radiographs import (
    CAPTURE,
    CR,
    DX,
    SAMPLES,
    dicom_of,
    ramp,
    repacked,
    sample,
    written,
)


def refusal(data: bytes, frame: int | None = None) -> str:
    with pytest.raises(PictureRefused) as refused:
        clean(data, frame=frame)
    return refused.value.reason


# Kinds: PS3.4 annex B lists the storage classes.
@pytest.mark.parametrize(
    ("name", "kind"),
    [
        ("CT_small.dcm", "CT"),
        ("MR_small.dcm", "MR"),
        ("ExplVR_BigEnd.dcm", "Ultrasound"),
        ("rtplan.dcm", "RT Plan"),
        ("rtdose.dcm", "RT Dose"),
        ("test-SR.dcm", "Comprehensive SR"),
        ("waveform_ecg.dcm", "12-lead ECG Waveform"),
        ("liver_1frame.dcm", "Segmentation"),
        ("examples_ybr_color.dcm", "Ultrasound Multi-frame"),
        ("nested_priv_SQ.dcm", "a kind that is not named"),
    ],
)
def test_other_kinds_of_record_are_refused_by_the_name_of_their_kind(name: str, kind: str) -> None:
    assert kind in refusal(sample(name))
    assert "Export the picture you need as JPEG or PNG" in refusal(sample(name))


@pytest.mark.parametrize(
    "name",
    [
        "SC_rgb_small_odd.dcm",
        "SC_rgb_small_odd_big_endian.dcm",
        "SC_ybr_full_422_uncompressed.dcm",
        "SC_rgb_jpeg_dcmd.dcm",
        "image_dfl.dcm",
        "SC_rgb_rle.dcm",
        "SC_rgb_rle_16bit.dcm",
        "SC_rgb_jpeg_dcmtk.dcm",
        "SC_rgb_dcmtk_+eb+cr.dcm",
        "SC_rgb_jpeg_gdcm.dcm",
        "SC_rgb_gdcm_KY.dcm",
        "SC_rgb_jls_lossy_line.dcm",
        "JPEGLSNearLossless_08.dcm",
        "JPEG2000.dcm",
        "GDCMJ2K_TextGBR.dcm",
    ],
)
def test_secondary_captures_of_every_coding_that_decodes_are_taken(name: str) -> None:
    dataset = pydicom.dcmread(SAMPLES / name)
    cleaned = clean(sample(name))
    assert cleaned.pixels.size == (dataset.Columns, dataset.Rows) == (cleaned.width, cleaned.height)
    assert cleaned.kind == "DICOM"
    assert cleaned.facts["stored_as"] == "secondary capture"


def test_one_capture_in_five_codings_shows_the_same_colours() -> None:
    """The sample is nine bars of colour; the lossless ones must agree exactly, the lossy ones nearly."""
    plain = np.asarray(clean(sample("SC_rgb_rle.dcm")).pixels).astype(int)
    for name, within in (
        ("SC_rgb_jpeg_gdcm.dcm", 0),
        ("SC_ybr_full_422_uncompressed.dcm", 30),
        ("SC_rgb_jpeg_dcmtk.dcm", 30),
        ("SC_rgb_dcmtk_+eb+cr.dcm", 30),
        ("SC_rgb_gdcm_KY.dcm", 30),
    ):
        other = np.asarray(clean(sample(name)).pixels).astype(int)
        assert np.abs(other[5::20, 5:95:10] - plain[5::20, 5:95:10]).mean() <= within, name


@pytest.mark.parametrize("uid", [CR, DX, f"{DX[:-2]}.1.1", f"{CR}.3", f"{CR}.3.1", CAPTURE, f"{CAPTURE}.3"])
@pytest.mark.parametrize("syntax", [ImplicitVRLittleEndian, DeflatedExplicitVRLittleEndian])
def test_radiographs_and_captures_are_taken(uid: str, syntax: str) -> None:
    cleaned = clean(dicom_of(SOPClassUID=uid, syntax=syntax))
    assert cleaned.pixels.getextrema() == ((0, 255),) * 3
    assert cleaned.facts["modality"] == "DX"


def test_bytes_in_the_other_order_give_the_same_picture() -> None:
    plain = clean(dicom_of(ramp(12))).pixels.tobytes()
    turned_over = dicom_of(ramp(12), pixels=ramp(12).astype(">u2").tobytes(), syntax=ExplicitVRBigEndian)
    assert clean(turned_over).pixels.tobytes() == plain


@pytest.mark.parametrize("modality", ["CR", "DX", "IO", "PX", "OT"])
def test_an_old_file_without_a_class_is_taken_by_its_modality(modality: str) -> None:
    dataset = pydicom.dcmread(io.BytesIO(dicom_of(Modality=modality)))
    del dataset.SOPClassUID
    to = io.BytesIO()
    dataset.save_as(to, enforce_file_format=False)
    assert clean(to.getvalue()).facts["modality"] == modality


# Frames: pydicom issues 2035, 1844 and 614.
FRAMES = np.stack([np.roll(ramp(12, (20, 30)), n, axis=1) for n in range(3)])


@pytest.mark.parametrize("declared", [None, 0, 1, 2, 3])
def test_a_file_of_three_frames_asks_whatever_it_declares(declared: int | None) -> None:
    data = dicom_of(FRAMES, NumberOfFrames=declared)
    with pytest.raises(FrameAsked) as asked:
        clean(data)
    assert asked.value.frames == 3
    assert ("declares" in asked.value.reason) is (declared != 3)
    for frame in (1, 2, 3):
        alone = dicom_of(np.ascontiguousarray(FRAMES[frame - 1]))
        taken = clean(data, frame=frame)
        assert taken.pixels.tobytes() == clean(alone).pixels.tobytes()
        assert (taken.facts["frame"], taken.facts["frames"]) == (frame, 3)
    with pytest.raises(FrameAsked):
        clean(data, frame=4)


def test_a_file_that_declares_more_frames_than_it_holds_is_refused() -> None:
    assert "declares 4 frames and holds 3" in refusal(dicom_of(FRAMES, NumberOfFrames=4), frame=1)
    assert "incomplete" in refusal(dicom_of(ramp(12), Rows=65))


def test_of_200_frames_only_the_chosen_one_is_decoded(monkeypatch: pytest.MonkeyPatch) -> None:
    many = np.stack([ramp(12, (20, 30))] * 200)
    asked: list[int] = []
    real = pixel_array

    def watched(dataset: Dataset, index: int) -> Any:
        asked.append(index)
        return real(dataset, index=index)

    monkeypatch.setattr(dicom_pixels, "pixel_array", watched)
    assert clean(dicom_of(many, NumberOfFrames=200), frame=150).facts["frames"] == 200
    assert asked == [149]


def test_frames_of_a_packed_file_are_told_apart_with_and_without_their_number() -> None:
    two = sample("SC_rgb_rle_2frame.dcm")
    with pytest.raises(FrameAsked, match="2 frames"):
        clean(two)
    first, second = (clean(two, frame=frame).pixels for frame in (1, 2))
    assert first.tobytes() != second.tobytes()
    dataset = pydicom.dcmread(SAMPLES / "SC_rgb_jpeg_dcmtk.dcm")
    packed = get_frame(dataset.PixelData, 0, number_of_frames=1)
    for table in (True, False):
        dataset.PixelData = encapsulate([packed, packed, packed], has_bot=table)
        dataset["PixelData"].is_undefined_length = True
        with pytest.raises(FrameAsked, match="3 frames"):
            clean(written(dataset))
        assert clean(written(dataset), frame=3).facts["frame"] == 3


# Decoders: pydicom issues 1440 and 966. What was cut is refused for every coding.
PACKED = {
    "JPEG": "SC_rgb_jpeg_dcmtk.dcm",
    "JPEG lossless": "SC_rgb_jpeg_gdcm.dcm",
    "JPEG-LS": "MR_small_jpeg_ls_lossless.dcm",
    "JPEG-LS near": "SC_rgb_jls_lossy_line.dcm",
    "JPEG 2000": "MR_small_jp2klossless.dcm",
    "JPEG 2000 colour": "SC_rgb_gdcm_KY.dcm",
    "RLE": "SC_rgb_rle.dcm",
}


@pytest.mark.parametrize("coding", PACKED)
@pytest.mark.parametrize("share", [0.2, 0.6, 0.95])
@pytest.mark.parametrize("end", [b"", b"\xff\xd9"], ids=["cut", "cut with an end"])
def test_a_codestream_that_was_cut_is_refused(coding: str, share: float, end: bytes) -> None:
    dataset = pydicom.dcmread(SAMPLES / PACKED[coding])
    packed = get_frame(dataset.PixelData, 0, number_of_frames=1).rstrip(b"\0")
    assert clean(repacked(PACKED[coding], packed + b"\0" * (len(packed) % 2))).pixels.size
    cut = packed[: int(len(packed) * share)] + end
    assert refusal(repacked(PACKED[coding], cut + b"\0" * (len(cut) % 2)))


@pytest.mark.parametrize("coding", PACKED)
def test_junk_in_place_of_a_codestream_is_refused_in_words(coding: str) -> None:
    name = pydicom.dcmread(SAMPLES / PACKED[coding]).file_meta.TransferSyntaxUID.name
    said = refusal(repacked(PACKED[coding], bytes(range(256)) * 4))
    assert name in said
    assert "Explicit VR Little Endian" in said


@pytest.mark.parametrize(
    ("uid", "name"),
    [
        ("1.2.840.10008.1.2.4.201", "High-Throughput JPEG 2000"),
        ("1.2.840.10008.1.2.4.100", "MPEG2"),
        ("1.2.3.4.5", "its maker's own"),
    ],
)
def test_a_coding_without_decoder_is_refused_by_its_name(uid: str, name: str) -> None:
    dataset = pydicom.dcmread(io.BytesIO(dicom_of()))
    dataset.PixelData = encapsulate([b"\0" * 100])
    dataset["PixelData"].is_undefined_length = True
    dataset.file_meta.TransferSyntaxUID = UID(uid)
    said = refusal(written(dataset))
    assert name in said
    assert "Explicit VR Little Endian" in said


@pytest.mark.parametrize("grey", [0, 700])
def test_a_picture_of_one_plain_grey_is_taken_for_a_failure(grey: int) -> None:
    plain = np.full((32, 32), grey, np.uint16)
    assert "one plain grey" in refusal(dicom_of(plain))
    dataset = pydicom.dcmread(io.BytesIO(dicom_of(plain)))
    dataset.compress(RLELossless)
    assert "one plain grey" in refusal(written(dataset))


@given(st.integers(min_value=1, max_value=10**7))
def test_a_dicom_file_cut_anywhere_is_refused_or_whole(where: int) -> None:
    data = DATA
    try:
        found = clean(data[: where % len(data)])
    except PictureRefused:
        return
    assert found.pixels.tobytes() == clean(data).pixels.tobytes()


@given(st.binary(max_size=200), st.integers(min_value=0, max_value=10**6))
def test_damaged_elements_are_refused_in_words_and_never_a_fault(body: bytes, where: int) -> None:
    at = 132 + where % (len(DATA) - 132)
    try:
        clean(DATA[:at] + body + DATA[at:])
    except PictureRefused as refused:
        assert refused.reason.endswith(".")  # noqa: PT017 both ends are right


DATA = dicom_of(ramp(12, (24, 24)), PatientName="A^B", PixelSpacing=["0.1", "0.1"])


# Small file, enormous picture: OWASP ASVS 5.0 items 5.2.1 and 5.2.6.
def test_an_enormous_picture_is_refused_by_its_header() -> None:
    assert "60000 x 60000" in refusal(dicom_of(Rows=60_000, Columns=60_000))


def test_a_deflated_file_is_unpacked_no_further_than_it_may_be() -> None:
    data = dicom_of(np.zeros((9000, 9000), np.uint16), syntax=DeflatedExplicitVRLittleEndian)
    assert len(data) < 1_000_000
    assert "Unpacked" in refusal(data)


@pytest.mark.parametrize("bits", [1, 32])
def test_depths_that_no_radiograph_has_are_refused(bits: int) -> None:
    assert f"{bits} bits" in refusal(dicom_of(BitsAllocated=bits))


def test_a_file_without_a_picture_is_refused() -> None:
    dataset = pydicom.dcmread(io.BytesIO(dicom_of()))
    del dataset.PixelData
    assert "holds no picture" in refusal(written(dataset))
