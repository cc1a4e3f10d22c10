"""Small or well-formed files that claim far more than they are: refused before anything of that size is made.

Family of Pillow issue 515 and OWASP ASVS 5.0 items 5.2.1, 5.2.3 and 5.2.6, for TIFF and DICOM; and other files behind
the picture, of the Django documentation's security topic.
"""

from __future__ import annotations

import io
import struct
import tracemalloc
from collections.abc import Iterator
from itertools import pairwise
from typing import Any

import numpy as np
import pydicom
import pytest
from hypothesis import given
from hypothesis import strategies as st
from PIL import Image
from pydicom.encaps import get_frame

from imaging import dicom_pixels
from imaging.deidentify import PictureRefused, clean
from imaging.dicom_codings import runs_within
from imaging.tiff_fields import within_bounds
from tests.imaging.made_pictures import corner
from tests.imaging.made_radiographs import SAMPLES, dicom_of, ramp, repacked, sample, saved, tiff_of, written

PIXELS = struct.pack("<HH", 0x7FE0, 0x0010)
ITEM = struct.pack("<HHI", 0xFFFE, 0xE000, 0)


def refusal(data: bytes, frame: int | None = None) -> str:
    with pytest.raises(PictureRefused) as refused:
        clean(data, frame=frame)
    return refused.value.reason


@pytest.fixture
def little_memory() -> Iterator[None]:
    """Whatever the file of a test claims, no more than 60 MB of objects and values are made for it."""
    tracemalloc.start()
    yield
    peak = tracemalloc.get_traced_memory()[1]
    tracemalloc.stop()
    assert peak < 60_000_000


def with_elements(more: bytes) -> bytes:
    """A radiograph with further elements before its pixels."""
    data = dicom_of(ramp(12, (16, 16)))
    assert data.count(PIXELS) == 1
    return data.replace(PIXELS, more + PIXELS)


def sequence(content: bytes, *, tag: int = 0x00400275, vr: bytes = b"SQ", known: bool = True) -> bytes:
    """A sequence of this content, its length stated or closed by a delimiter."""
    head = struct.pack("<HH", tag >> 16, tag & 0xFFFF) + vr + b"\0\0"
    if known:
        return head + struct.pack("<I", len(content)) + content
    return head + struct.pack("<I", 0xFFFFFFFF) + content + struct.pack("<HHI", 0xFFFE, 0xE0DD, 0)


# Elements: PS3.5 section 7.
@pytest.mark.parametrize(
    "more",
    [
        b"".join(
            struct.pack("<HH2sH", 0x1001 + 2 * (n // 60000), 0x1000 + n % 60000, b"LO", 0)
            for n in range(90_000)
        ),
        sequence(ITEM * 90_000),
        sequence(ITEM * 90_000, tag=0x00283010),
        sequence(ITEM * 90_000, tag=0x00283010, vr=b"UN"),
        sequence(ITEM[:4] + struct.pack("<I", 8 * 90_000) + ITEM * 90_000),
    ],
    ids=["elements", "items", "items of a table", "items of an unknown kind", "item of items"],
)
def test_a_dicom_file_of_more_parts_than_any_has_is_refused(more: bytes) -> None:
    assert "more parts than any" in refusal(with_elements(more))


@pytest.mark.usefixtures("little_memory")
def test_items_without_a_stated_length_and_sequences_without_end_are_refused() -> None:
    assert "more parts than any" in refusal(with_elements(sequence(ITEM * 90_000, known=False)))
    opening = sequence(b"", known=False)[:12] + struct.pack("<HHI", 0xFFFE, 0xE000, 0xFFFFFFFF)
    assert refusal(with_elements(opening * 50_000))


@pytest.mark.usefixtures("little_memory")
@pytest.mark.parametrize("keyword", ["PixelSpacing", "WindowCenter", "PatientOrientation", "Modality"])
def test_a_value_that_is_far_too_long_is_not_read(keyword: str) -> None:
    tag = pydicom.datadict.tag_for_keyword(keyword)
    assert tag is not None
    long = (
        struct.pack("<HH", tag >> 16, tag & 0xFFFF)
        + b"UT\0\0"
        + struct.pack("<I", 3_000_000)
        + b"0.1\\11" * 500_000
    )
    without: dict[str, Any] = {keyword: None}
    plain = dicom_of(ramp(12, (16, 16)), **without)
    cleaned = clean(plain.replace(PIXELS, long + PIXELS))
    assert not cleaned.facts.get(keyword)
    assert cleaned.pixels.getextrema() == ((0, 255),) * 3


def test_an_honest_file_of_many_parts_is_taken() -> None:
    nested = pydicom.Dataset()
    nested.CodeMeaning = "x"
    data = dicom_of(ramp(12, (16, 16)), RequestAttributesSequence=[nested] * 2000)
    assert "DICOM Code Meaning" in clean(data).removed


# Codestreams: T.81, T.87, T.800; pydicom issues 1440 and 966 for what decoders do with them.
@pytest.mark.parametrize(
    ("name", "kind", "how"),
    [
        ("SC_rgb_jpeg_dcmtk.dcm", "JPEG", {}),
        ("SC_rgb_gdcm_KY.dcm", "JPEG2000", {"no_jp2": True}),
    ],
)
@pytest.mark.parametrize("size", [(2000, 2000), (99, 100), (100, 101)])
def test_a_codestream_of_another_size_than_the_header_is_never_decoded(
    name: str, kind: str, how: dict[str, Any], size: tuple[int, int], monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr(dicom_pixels, "pixel_array", lambda *_, **__: pytest.fail("it was decoded"))
    packed = saved(Image.new("RGB", size, (9, 90, 200)), kind, **how)
    assert "another size" in refusal(repacked(name, packed + b"\0" * (len(packed) % 2)))


@pytest.mark.parametrize(
    "name", ["MR_small_jpeg_ls_lossless.dcm", "SC_rgb_jpeg_gdcm.dcm", "MR_small_jp2klossless.dcm"]
)
def test_each_coding_is_asked_for_its_size(name: str, monkeypatch: pytest.MonkeyPatch) -> None:
    rows = pydicom.dcmread(SAMPLES / name).Rows
    clean(repacked(name, None))
    monkeypatch.setattr(dicom_pixels, "pixel_array", lambda *_, **__: pytest.fail("it was decoded"))
    assert "another size" in refusal(repacked(name, None, Rows=rows - 1))


def test_runs_that_unpack_to_more_than_the_picture_are_never_decoded(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(dicom_pixels, "pixel_array", lambda *_, **__: pytest.fail("it was decoded"))
    segment = b"\x81\x00" * 500_000
    head = struct.pack("<16I", 3, *(64 + n * len(segment) for n in range(3)), *[0] * 12)
    assert "damaged" in refusal(repacked("SC_rgb_rle.dcm", head + segment * 3))


@given(st.lists(st.binary(min_size=1, max_size=400), min_size=1, max_size=15))
def test_runs_of_honest_segments_pass_at_their_own_length(segments: list[bytes]) -> None:
    """Coded as literal runs, the one coding in which nothing can be saved."""
    coded = [
        b"".join(bytes([len(one[a : a + 128]) - 1]) + one[a : a + 128] for a in range(0, len(one), 128))
        for one in segments
    ]
    places = [64]
    for one in coded:
        places.append(places[-1] + len(one))
    head = struct.pack("<16I", len(coded), *places[:-1], *[0] * (15 - len(coded)))
    assert all(a < b for a, b in pairwise(places))
    runs_within(head + b"".join(coded), max(map(len, segments)))


def test_a_picture_in_too_many_pieces_is_refused() -> None:
    dataset = pydicom.dcmread(SAMPLES / "SC_rgb_jpeg_dcmtk.dcm")
    packed = get_frame(dataset.PixelData, 0, number_of_frames=1)
    for pixels in (ITEM * 11_000, ITEM[:4] + struct.pack("<I", 80_000) + bytes(80_000)):
        dataset.PixelData = pixels + ITEM[:4] + struct.pack("<I", len(packed)) + packed
        dataset["PixelData"].is_undefined_length = True
        assert "too many pieces" in refusal(written(dataset))


def test_a_table_of_places_of_the_pieces_does_not_mislead() -> None:
    """An extended offset table (PS3.3 C.7.6.3.1.8) tells places in the file, which the frame that is taken has left."""
    dataset = pydicom.dcmread(io.BytesIO(repacked("SC_rgb_jpeg_dcmtk.dcm", None)))
    dataset.ExtendedOffsetTable = struct.pack("<Q", 40_000_000)
    dataset.ExtendedOffsetTableLengths = struct.pack("<Q", 40_000_000)
    assert clean(written(dataset)).pixels.size == (100, 100)


# TIFF: fields may point at the same bytes, and tiles may be larger than the picture.
def fields(*more: tuple[int, int, int, int]) -> list[tuple[int, int, int, int]]:
    plain = [
        (256, 4, 1, 64),
        (257, 4, 1, 64),
        (258, 3, 1, 8),
        (259, 3, 1, 1),
        (262, 3, 1, 1),
        (277, 3, 1, 1),
        (278, 4, 1, 64),
    ]
    return sorted([*plain, *more])


def pages_of(count: int, entries: list[tuple[int, int, int, int]], body: bytes) -> bytes:
    """A TIFF of so many pages with the same fields; a place of 0 in an entry of more than four bytes means the body."""
    size = 2 + 12 * len(entries) + 4
    place = 8 + size * count
    lists = []
    for number in range(count):
        packed = b"".join(
            struct.pack("<HHII", code, kind, many, place if many > 4 and not at else at)
            for code, kind, many, at in entries
        )
        after = 8 + size * (number + 1) if number < count - 1 else 0
        lists.append(struct.pack("<H", len(entries)) + packed + struct.pack("<I", after))
    return b"II*\0" + struct.pack("<I", 8) + b"".join(lists) + body


@pytest.mark.usefixtures("little_memory")
def test_pages_that_share_one_long_list_of_strips_are_refused() -> None:
    many = 40_000
    data = pages_of(900, fields((273, 4, many, 0), (279, 4, many, 0)), struct.pack("<I", 8) * many)
    assert "damaged" in refusal(data)


@pytest.mark.usefixtures("little_memory")
def test_fields_that_share_one_long_text_are_refused() -> None:
    data = pages_of(
        1,
        fields((273, 4, 1, 8), (279, 4, 1, 4096), *((40000 + n, 7, 2_000_000, 0) for n in range(200))),
        bytes(2_000_000),
    )
    assert "damaged" in refusal(data)


@pytest.mark.usefixtures("little_memory")
def test_a_list_of_strips_longer_than_any_picture_needs_is_refused() -> None:
    many = 600_000
    assert "damaged" in refusal(pages_of(1, fields((273, 4, many, 0), (279, 4, many, 0)), bytes(4 * many)))


def test_a_list_of_fields_that_leads_to_itself_ends() -> None:
    data = bytearray(pages_of(1, fields((273, 4, 1, 8), (279, 4, 1, 4096)), bytes(4096)))
    at = 8 + 2 + 12 * 9
    data[at : at + 4] = struct.pack("<I", 8)
    assert refusal(bytes(data))


@pytest.mark.usefixtures("little_memory")
@pytest.mark.parametrize("deep", [True, False])
def test_tiles_larger_than_a_picture_may_be_are_refused(deep: bool) -> None:
    values = np.zeros((64, 64), np.uint16 if deep else np.uint8)
    data = bytearray(tiff_of(values, photometric="minisblack", tile=(64, 64), compression="zlib"))
    for tag in (322, 323):
        at = next(at for kind in (3, 4) if (at := data.find(struct.pack("<HH", tag, kind))) > 0)
        struct.pack_into("<HHII", data, at, tag, 4, 1, 49_152)
    assert "49152 x 49152" in refusal(bytes(data))


@pytest.mark.parametrize("samples", [3, 60])
def test_samples_beside_the_grey_ones_are_limited(samples: int) -> None:
    values = np.zeros((20, 20, samples), np.uint16)
    said = refusal(
        tiff_of(values, photometric="minisblack", planarconfig="contig", extrasamples=(0,) * (samples - 1))
    )
    assert f"{samples} samples for each pixel" in said


@given(st.integers(min_value=0, max_value=2**32 - 1), st.integers(min_value=0, max_value=300))
def test_any_field_may_lie_and_nothing_but_a_refusal_comes_of_it(value: int, where: int) -> None:
    data = bytearray(pages_of(1, fields((273, 4, 1, 122), (279, 4, 1, 4096)), bytes(range(256)) * 16))
    at = 8 + where % 118
    data[at : at + 4] = value.to_bytes(4, "little")
    try:
        clean(bytes(data), 64)
    except PictureRefused as refused:
        assert refused.reason.endswith(".")  # noqa: PT017 both ends are right


def test_the_end_of_a_tiff_is_where_its_last_strip_or_value_ends() -> None:
    for how in ({}, {"bigtiff": True}, {"byteorder": ">"}, {"description": "x" * 999}):
        data = tiff_of(ramp(16, (40, 60)), photometric="minisblack", **how)
        assert within_bounds(data) <= len(data)
        assert clean(data).removed == clean(data + bytes(100)).removed
        assert "bytes behind the end" in clean(data + b"something").removed


# Another file behind the picture.
@pytest.mark.parametrize(
    "data",
    [
        tiff_of(ramp(16, (40, 60)), photometric="minisblack"),
        saved(corner(), "TIFF", compression="tiff_lzw"),
        dicom_of(ramp(12)),
        repacked("SC_rgb_jpeg_dcmtk.dcm", None),
        sample("image_dfl.dcm"),
    ],
    ids=["deep tiff", "tiff", "dicom", "coded dicom", "deflated dicom"],
)
@pytest.mark.parametrize("other", [b"<script>alert(1)</script>", b"%PDF-1.7\n", b"<!DOCTYPE html><html>"])
def test_another_file_behind_a_tiff_or_dicom_file_is_refused(data: bytes, other: bytes) -> None:
    assert "hidden behind the picture" in refusal(data + other)


@pytest.mark.parametrize(
    "data", [tiff_of(ramp(16, (40, 60)), photometric="minisblack"), dicom_of(ramp(12))], ids=["tiff", "dicom"]
)
def test_an_archive_behind_a_tiff_or_dicom_file_is_refused(data: bytes) -> None:
    import zipfile

    to = io.BytesIO()
    with zipfile.ZipFile(to, "w") as archive:
        archive.writestr("a.txt", "a")
    assert "ZIP archive" in refusal(data + to.getvalue())
