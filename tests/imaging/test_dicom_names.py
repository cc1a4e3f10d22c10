"""DICOM files: names and dates stay behind, whatever holds them; only pixels and a few named facts leave."""

from __future__ import annotations

import io
import logging
from typing import Any

import pydicom
import pytest

from imaging.deidentify import clean, encoded
from tests.imaging.made_pictures import MARKER, carries
from tests.imaging.made_radiographs import BIRTH, dicom_of, marked_dicom, written

# Names: PS3.15 annex E; pydicom issues 2115, 1328 and 815 for their character sets.
SETS: list[tuple[Any, bytes]] = [
    (None, "ZZMARKERZZ Иванов".encode("cp1251")),
    ("ISO_IR 192", "ZZMARKERZZ Müller".encode("latin-1")),
    ("Not Supplied", b"ZZMARKERZZ"),
    (["ISO 2022 IR 6", "ISO 2022 IR 87"], b"ZZMARKERZZ\x1b$B"),
]


@pytest.mark.parametrize(("declared", "name"), SETS)
def test_a_name_in_any_character_set_is_left_behind(declared: Any, name: bytes) -> None:
    data = bytearray(dicom_of(PatientName="X" * (len(name) + len(name) % 2), SpecificCharacterSet=declared))
    data = data.replace(b"X" * (len(name) + len(name) % 2), name + b" " * (len(name) % 2))
    assert carries(bytes(data))
    cleaned = clean(bytes(data))
    assert "DICOM Patient's Name" in cleaned.removed
    assert MARKER not in str((cleaned.removed, cleaned.facts))


def test_nothing_but_pixels_and_the_named_facts_leaves(caplog: pytest.LogCaptureFixture, capfd: Any) -> None:
    data = marked_dicom(PixelSpacing=["0.1", "0.1"], PatientOrientation=["A", "F"], BurnedInAnnotation="YES")
    assert carries(data)
    with caplog.at_level(logging.DEBUG):
        cleaned = clean(data)
    for made in (encoded(cleaned.pixels, "PNG"), encoded(cleaned.pixels, "JPEG")):
        assert not carries(made)
        assert not carries(made, BIRTH)
    told = str((cleaned.removed, cleaned.facts, caplog.text, capfd.readouterr()))
    assert MARKER not in told
    assert BIRTH not in told
    assert {
        "DICOM Patient's Name",
        "DICOM Patient ID",
        "DICOM Patient's Birth Date",
        "DICOM Study Date",
        "DICOM Institution Name",
        "DICOM Device Serial Number",
        "DICOM Request Attributes Sequence",
        "DICOM Code Meaning",
        "DICOM Pixel Spacing Calibration Description",
        "DICOM overlay",
        "private DICOM attributes",
        "DICOM Data Set Trailing Padding",
    } <= set(cleaned.removed)
    assert set(cleaned.facts) == {
        "modality",
        "stored_as",
        "PixelSpacing",
        "PatientOrientation",
        "BurnedInAnnotation",
        "inverted",
        "inversion",
        "window",
    }


@pytest.mark.parametrize(
    ("keyword", "value"),
    [("PatientOrientation", [MARKER, MARKER]), ("Modality", MARKER), ("PixelSpacingCalibrationType", MARKER)],
)
def test_words_in_place_of_a_code_are_not_kept(keyword: str, value: Any) -> None:
    assert MARKER not in str(clean(dicom_of(**{keyword: value})).facts)


def test_a_picture_with_a_dicom_mark_inside_is_what_its_first_bytes_say() -> None:
    dataset = pydicom.dcmread(io.BytesIO(dicom_of()))
    dataset.preamble = b"II*\0" + bytes(124)
    assert clean(written(dataset)).kind == "DICOM"
