"""DICOM, TIFF and HEIC files for tests, with a marker in every place where a machine or program leaves words."""

from __future__ import annotations

import io
import os
from pathlib import Path
from typing import Any

import numpy as np
import pillow_heif
import pydicom
import tifffile
from PIL import Image
from pydicom.dataset import Dataset, FileMetaDataset
from pydicom.encaps import encapsulate
from pydicom.uid import UID, ExplicitVRLittleEndian, generate_uid

from tests.imaging.made_pictures import MARKER, turned

pillow_heif.register_heif_opener()
SAMPLES = Path(os.path.dirname(pydicom.__file__)) / "data" / "test_files"
"""Public sample files that ship inside the pydicom package (MIT)."""
CR = "1.2.840.10008.5.1.4.1.1.1"
DX = "1.2.840.10008.5.1.4.1.1.1.1"
CAPTURE = "1.2.840.10008.5.1.4.1.1.7"
BIRTH = "19870605"


def sample(name: str) -> bytes:
    return (SAMPLES / name).read_bytes()


def ramp(bits: int = 12, size: tuple[int, int] = (64, 64)) -> np.ndarray[Any, Any]:
    """Values from 0 to the highest of so many bits, by rows."""
    kind = np.uint8 if bits <= 8 else np.uint16
    return np.linspace(0, 2**bits - 1, size[0] * size[1]).astype(kind).reshape(size)


def dicom_of(values: np.ndarray[Any, Any] | None = None, *, frames: int = 1, **attributes: Any) -> bytes:
    """A digital radiograph of these values; attributes are set by keyword, None leaves one out.

    `values` of shape (rows, columns), or (frames, rows, columns) beside `frames`. `syntax` names the coding.
    """
    values = ramp() if values is None else values
    dataset, bits = Dataset(), 8 * values.dtype.itemsize
    rows, columns = values.shape[-2:]
    dataset.file_meta = FileMetaDataset()
    dataset.file_meta.TransferSyntaxUID = attributes.pop("syntax", ExplicitVRLittleEndian)
    pixels = attributes.pop("pixels", values.tobytes())
    facts: dict[str, Any] = {
        "SOPClassUID": DX,
        "SOPInstanceUID": generate_uid(),
        "Modality": "DX",
        "Rows": rows,
        "Columns": columns,
        "SamplesPerPixel": 1,
        "PhotometricInterpretation": "MONOCHROME2",
        "BitsAllocated": bits,
        "BitsStored": 12 if bits == 16 else 8,
        "HighBit": 11 if bits == 16 else 7,
        "PixelRepresentation": 0,
        **({"NumberOfFrames": frames} if frames > 1 else {}),
        **attributes,
    }
    for keyword, value in facts.items():
        if value is not None:
            setattr(dataset, keyword, value)
    dataset.file_meta.MediaStorageSOPClassUID = UID(facts["SOPClassUID"] or CAPTURE)
    dataset.file_meta.MediaStorageSOPInstanceUID = facts["SOPInstanceUID"]
    dataset.PixelData = pixels + b"\0" * (len(pixels) % 2)
    dataset["PixelData"].VR = "OW" if bits == 16 else "OB"
    return written(dataset)


def written(dataset: Dataset) -> bytes:
    to = io.BytesIO()
    pydicom.dcmwrite(to, dataset, enforce_file_format=True)
    return to.getvalue()


def repacked(name: str, packed: bytes | None, **attributes: Any) -> bytes:
    """A sample file as a secondary capture, with another codestream in its place where one is given."""
    dataset = pydicom.dcmread(SAMPLES / name)
    dataset.SOPClassUID = dataset.file_meta.MediaStorageSOPClassUID = UID(CAPTURE)
    for keyword, value in attributes.items():
        setattr(dataset, keyword, value)
    if packed is not None:
        dataset.PixelData = encapsulate([packed])
        dataset["PixelData"].is_undefined_length = True
    return written(dataset)


def marked_dicom(values: np.ndarray[Any, Any] | None = None, **attributes: Any) -> bytes:
    """A radiograph that carries the marker and a birth date in names, numbers, nested and private data, and overlays."""
    nested = Dataset()
    nested.PatientName = f"{MARKER}^NESTED"
    nested.CodeMeaning = MARKER
    data = dicom_of(
        values,
        PatientName=f"{MARKER}^JANE",
        PatientID=MARKER,
        PatientBirthDate=BIRTH,
        StudyDate=BIRTH,
        InstitutionName=MARKER,
        DeviceSerialNumber=MARKER,
        StudyDescription=MARKER,
        PixelSpacingCalibrationDescription=MARKER,
        RequestAttributesSequence=[nested],
        **attributes,
    )
    dataset = pydicom.dcmread(io.BytesIO(data))
    block = dataset.private_block(0x0011, MARKER, create=True)
    block.add_new(0x01, "LO", MARKER)
    dataset.add_new((0x6000, 0x3000), "OW", MARKER.encode() * 4)
    dataset.add_new((0x6000, 0x0022), "LO", MARKER)
    dataset.preamble = MARKER.encode().ljust(128, b"\0")
    data = written(dataset)
    return data + b"\xfc\xff\xfc\xffOB\0\0" + (20).to_bytes(4, "little") + (MARKER * 2).encode()


def tiff_of(values: np.ndarray[Any, Any], **how: Any) -> bytes:
    to = io.BytesIO()
    tifffile.imwrite(to, values, **how)
    return to.getvalue()


def saved(picture: Image.Image, kind: str, **how: Any) -> bytes:
    to = io.BytesIO()
    picture.save(to, kind, **how)
    return to.getvalue()


def turned_heic(orientation: int, *, container: bool = True, exif: bool = True) -> bytes:
    """A HEIC whose pixels lie so that the orientation brings the red corner to the upper left, as `turned` of a JPEG.

    `container`: it is turned by the properties of HEIF (irot and imir, 23008-12 section 6.5), as phones write it;
    `exif`: the Exif block says the same. The writer puts both in; what is not wanted is set to "upright" in the bytes.
    """
    with Image.open(io.BytesIO(turned(orientation))) as opened:
        lying = opened.convert("RGB")
    fields = Image.Exif()
    fields[0x0112] = orientation if container else 1
    file = pillow_heif.from_bytes("RGB", lying.size, lying.tobytes())
    to = io.BytesIO()
    file.save(to, quality=95, exif=fields.tobytes())
    said, says = fields[0x0112], orientation if exif else 1
    for order, head in (
        ("little", b"\x12\x01\x03\x00\x01\x00\x00\x00"),
        ("big", b"\x01\x12\x00\x03\x00\x00\x00\x01"),
    ):
        before, after = (head + value.to_bytes(2, order) for value in (said, says))  # type: ignore[arg-type]
        if before in to.getvalue():
            return to.getvalue().replace(before, after)
    raise AssertionError("no orientation was written")
