"""Files of the most pixels that are taken in of each kind, made for measuring; every one is within the limit of bytes."""

from collections.abc import Callable
from functools import partial
from math import isqrt
from random import Random
from typing import Any

import gdcm
import numpy as np
import numpy.typing as npt
import pillow_heif
import tifffile
from PIL import Image
from pydicom.dataset import Dataset, FileMetaDataset
from pydicom.encaps import encapsulate
from pydicom.uid import (
    DeflatedExplicitVRLittleEndian,
    ExplicitVRLittleEndian,
    JPEGBaseline8Bit,
    RLELossless,
    generate_uid,
)

DX, CAPTURE = "1.2.840.10008.5.1.4.1.1.1.1", "1.2.840.10008.5.1.4.1.1.7"
Values = npt.NDArray[Any]


def scene(size: tuple[int, int]) -> Image.Image:
    """Soft shapes and colours, like a picture out of focus."""
    blots = Image.frombytes("RGB", (150, 100), Random(24).randbytes(150 * 100 * 3))
    return blots.resize(size, Image.Resampling.BICUBIC)


def size_of(pixels: int) -> tuple[int, int]:
    """Three by two, with about so many pixels and never more."""
    height = isqrt(pixels * 2 // 3)
    return pixels // height, height


def grey(pixels: int) -> Values:
    """The scene in 16 bits of grey, as rows and columns."""
    return np.asarray(scene(size_of(pixels)).convert("L")).astype(np.uint16) * 257


def jpeg(pixels: int, path: str, **how: Any) -> None:
    scene(size_of(pixels)).save(path, "JPEG", **{"quality": 85, "subsampling": "4:2:0", **how})


def png(pixels: int, path: str, mode: str) -> None:
    scene(size_of(pixels)).convert(mode).save(path, "PNG", compress_level=6)


def png_16(pixels: int, path: str) -> None:
    Image.fromarray(grey(pixels)).save(path, "PNG", compress_level=6)


def webp(pixels: int, path: str, **how: Any) -> None:
    scene(size_of(pixels)).save(path, "WEBP", **{"method": 0, **how})


def heic(pixels: int, path: str) -> None:
    pillow_heif.register_heif_opener()
    scene(size_of(pixels)).save(path, "HEIF", quality=60, enc_params={"preset": "ultrafast"})


def tiff(pixels: int, path: str, *, bits: int, colours: int, coding: str | None) -> None:
    if coding == "lzw":
        Image.fromarray(grey(pixels)).save(path, "TIFF", compression="tiff_lzw", tiffinfo={262: 0})
        return
    if colours == 4:
        flat = scene((300, 200)).resize(size_of(pixels), Image.Resampling.NEAREST)
        flat.convert("CMYK").save(path, "TIFF", compression="tiff_adobe_deflate")
        return
    values = grey(pixels)
    values = values if bits == 16 else (values >> 8).astype(np.uint8)
    values = values if colours == 1 else np.repeat(values[..., None], colours, axis=-1)
    way = "minisblack" if colours == 1 else "rgb"
    tifffile.imwrite(path, values, photometric=way, compression=coding, rowsperstrip=64)


def dicom(pixels: int, path: str, values: Values | None = None, **attributes: Any) -> None:
    values = grey(pixels) if values is None else values
    dataset, bits = Dataset(), 8 * values.dtype.itemsize
    dataset.file_meta = FileMetaDataset()
    dataset.file_meta.TransferSyntaxUID = attributes.pop("syntax", ExplicitVRLittleEndian)
    dataset.SOPClassUID, dataset.SOPInstanceUID = DX if values.ndim == 2 else CAPTURE, generate_uid()
    dataset.Modality = "DX" if values.ndim == 2 else "OT"
    dataset.Rows, dataset.Columns = values.shape[:2]
    dataset.SamplesPerPixel = 1 if values.ndim == 2 else 3
    dataset.PhotometricInterpretation = "MONOCHROME2" if values.ndim == 2 else "RGB"
    dataset.BitsAllocated = dataset.BitsStored = bits
    dataset.HighBit, dataset.PixelRepresentation = bits - 1, 0
    if values.ndim == 3:
        dataset.PlanarConfiguration = 0
    data = attributes.pop("packed", None)
    dataset.PixelData = values.tobytes() if data is None else encapsulate([data])
    dataset["PixelData"].VR = "OW" if bits == 16 else "OB"
    dataset["PixelData"].is_undefined_length = data is not None
    for keyword, value in attributes.items():
        setattr(dataset, keyword, value)
    if dataset.file_meta.TransferSyntaxUID == RLELossless:
        dataset.file_meta.TransferSyntaxUID = ExplicitVRLittleEndian
        dataset.compress(RLELossless)
    dataset.save_as(path, enforce_file_format=True)


def dicom_in_colour(pixels: int, path: str) -> None:
    dicom(pixels, path, np.asarray(scene(size_of(pixels))))


def dicom_8(pixels: int, path: str) -> None:
    dicom(pixels, path, (grey(pixels) >> 8).astype(np.uint8))


def dicom_jpeg(pixels: int, path: str, mode: str = "RGB") -> None:
    picture = scene(size_of(pixels)).convert(mode)
    picture.save(path, "JPEG", quality=85)
    with open(path, "rb") as file:
        packed = file.read()
    how = {"PhotometricInterpretation": "YBR_FULL_422"} if mode == "RGB" else {}
    packed += b"\0" * (len(packed) % 2)
    dicom(pixels, path, np.asarray(picture), packed=packed, syntax=JPEGBaseline8Bit, **how)


def dicom_recoded(pixels: int, path: str, coding: str) -> None:
    """By another library than the one that is measured reads and writes with."""
    dicom(pixels, path)
    reader, change, writer = gdcm.ImageReader(), gdcm.ImageChangeTransferSyntax(), gdcm.ImageWriter()
    reader.SetFileName(path)
    assert reader.Read()
    change.SetTransferSyntax(gdcm.TransferSyntax(getattr(gdcm.TransferSyntax, coding)))
    change.SetInput(reader.GetImage())
    assert change.Change()
    writer.SetFile(reader.GetFile())
    writer.SetImage(change.GetOutput())
    writer.SetFileName(path)
    assert writer.Write()


LARGEST: dict[str, tuple[int, Callable[[int, str], None]]] = {
    "baseline JPEG": (80, jpeg),
    "progressive JPEG 4:2:0": (35, partial(jpeg, progressive=True)),
    "progressive JPEG 4:4:4": (21, partial(jpeg, progressive=True, subsampling="4:4:4")),
    "PNG, 16 bits grey": (64, png_16),
    "colour PNG": (26, partial(png, mode="RGB")),
    "PNG with clear places": (14, partial(png, mode="RGBA")),
    "HEIC": (24, heic),
    "WebP": (10, webp),
    "WebP without loss": (8, partial(webp, lossless=True, quality=0)),
    "TIFF, 8 bits grey": (80, partial(tiff, bits=8, colours=1, coding="zlib")),
    "TIFF, 16 bits grey": (40, partial(tiff, bits=16, colours=1, coding="zlib")),
    "TIFF, 16 bits grey, LZW": (36, partial(tiff, bits=16, colours=1, coding="lzw")),
    "TIFF, colour": (26, partial(tiff, bits=8, colours=3, coding="zlib")),
    "TIFF, 16 bits colour": (10, partial(tiff, bits=16, colours=3, coding="zlib")),
    "TIFF, inks": (20, partial(tiff, bits=8, colours=4, coding="zlib")),
    "DICOM, 8 bits grey": (26, dicom_8),
    "DICOM, 16 bits grey": (20, dicom),
    "DICOM, deflated": (20, partial(dicom, syntax=DeflatedExplicitVRLittleEndian)),
    "DICOM, colour": (13, dicom_in_colour),
    "DICOM, runs": (11, partial(dicom, syntax=RLELossless)),
    "DICOM, JPEG": (5, dicom_jpeg),
    "DICOM, JPEG, grey": (13, partial(dicom_jpeg, mode="L")),
    "DICOM, JPEG without loss": (8, partial(dicom_recoded, coding="JPEGLosslessProcess14_1")),
    "DICOM, JPEG-LS": (10, partial(dicom_recoded, coding="JPEGLSLossless")),
    "DICOM, JPEG 2000": (11, partial(dicom_recoded, coding="JPEG2000Lossless")),
}
"""The most pixels accepted of each kind, in millions (limits of `imaging.*_files`), and what makes such a file."""


def make(kind: str, millions: int, path: str) -> None:
    """A picture of this kind with about so many million pixels, never more."""
    Image.MAX_IMAGE_PIXELS = None
    LARGEST[kind][1](millions * 1_000_000, path)
