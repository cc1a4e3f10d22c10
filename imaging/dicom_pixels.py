"""From the stored values of a DICOM file to a grey or colour picture of 8 bits, by the rules of PS3.3.

The values of a grey picture go through a table of all values it can hold, so the library's own transformations
(modality, window or table of values) are worked out once for each value and not for each pixel.
"""

import zlib

import numpy as np
from PIL import Image
from pydicom.dataset import Dataset
from pydicom.encaps import encapsulate, get_frame
from pydicom.pixels.processing import apply_color_lut, apply_modality_lut, apply_voi
from pydicom.pixels.utils import pixel_array

from imaging import dicom_codings
from imaging.dicom_files import EXPORT, GREY, JPEG, NATIVE, RUN_LENGTH, Stored, numbers, texts, whole
from imaging.file_facts import FileFacts
from imaging.greys import (
    BY_RANGE,
    NO_WINDOW,
    WHITE,
    Counts,
    Values,
    counted,
    ends_of,
    looked_up,
    stretched,
    strips,
)
from imaging.intake_limits import CUT_SHORT, PictureRefused
from imaging.jpeg_scans import scan_ends, with_bits_behind

FEWEST_GREYS = 16
"""A stated window that leaves fewer of the greys in use is not of this picture."""


def picture_of(stored: Stored, frame: int) -> tuple[Image.Image, FileFacts]:
    """One frame, from 1, as a picture of mode L or RGB, and how it was made; raises PictureRefused.

    Facts: `inverted`, `inversion` and `window`; of a picture in colour none.
    """
    values = _values(stored, frame)
    if values.size == 0 or values.min() == values.max():
        raise PictureRefused(f"The picture in this DICOM file came out as one plain grey. {EXPORT}")
    if stored.photometric in GREY:
        return _grey(stored.dataset, values)
    picture = Image.fromarray(_colours(stored, values))
    profile = stored.dataset.get("ICCProfile")
    if isinstance(profile, bytes):
        picture.info["icc_profile"] = profile
    return picture, {}


def _values(stored: Stored, frame: int) -> Values:
    """The stored values of one frame; a compressed one that was cut short is refused.

    All decoders but that of JPEG tell it themselves; JPEG is decoded twice, like a file of its own.
    """
    dataset = stored.dataset
    dataset.NumberOfFrames = stored.frames
    if stored.syntax in NATIVE:
        return _decoded(dataset, frame - 1)
    packed = get_frame(dataset.PixelData, frame - 1, number_of_frames=stored.frames)
    if stored.syntax in RUN_LENGTH:
        dicom_codings.runs_within(packed, stored.rows * stored.columns)
    else:
        dicom_codings.as_stated(packed, stored.rows, stored.columns, stored.samples)
    dataset.NumberOfFrames, dataset.PixelData = 1, b""  # the other frames are needed no more
    with_bits = None
    ends = scan_ends(packed) if stored.syntax in JPEG else []
    if ends:
        # One after the other, so that only one of them is in memory.
        with_bits = _checksum(_of_one(dataset, with_bits_behind(packed, ends)))
    values = _of_one(dataset, packed)
    if stored.syntax in JPEG and (not ends or _checksum(values) != with_bits):
        raise PictureRefused(CUT_SHORT)
    return values


def _checksum(values: Values) -> int:
    return zlib.crc32(np.ascontiguousarray(values).data)


def _of_one(dataset: Dataset, packed: bytes) -> Values:
    for keyword in ("ExtendedOffsetTable", "ExtendedOffsetTableLengths"):
        if keyword in dataset:
            delattr(dataset, keyword)  # it tells places of the pieces as they were
    dataset.PixelData = encapsulate([packed])
    dataset["PixelData"].is_undefined_length = True
    return _decoded(dataset, 0)


def _decoded(dataset: Dataset, index: int) -> Values:
    try:
        values = pixel_array(dataset, index=index)
        return values.astype(values.dtype.newbyteorder("="), copy=False)  # files may count from the other end
    except Exception as error:  # each decoder raises its own
        name = dataset.file_meta.TransferSyntaxUID.name
        raise PictureRefused(
            f"The picture in this DICOM file (coded as {name}) cannot be decoded here: it is damaged, cut short, or of a "
            f"depth that the decoder does not know. {EXPORT}"
        ) from error


def _grey(dataset: Dataset, values: Values) -> tuple[Image.Image, FileFacts]:
    """Grey values through modality, window and presentation (PS3.3 C.11.1, C.11.2 and C.11.6)."""
    bits = 8 * values.dtype.itemsize
    patterns = values.view(np.dtype(f"uint{bits}"))
    possible = _meanings(dataset, bits)
    counts = counted(strips(patterns), 2**bits)
    counts[_padding(dataset, possible)] = 0
    used = counts > 0
    if not used.any():
        raise PictureRefused(f"The picture in this DICOM file holds nothing but filling. {EXPORT}")
    shown, window = _table(dataset, possible, counts)
    inverted, inversion = inversion_of(
        (texts(dataset, "PhotometricInterpretation") or [""])[0],
        (texts(dataset, "PresentationLUTShape") or [""])[0],
    )
    if inverted:
        shown = 255 - shown
    shown[_padding(dataset, possible)] = 0
    picture = Image.fromarray(looked_up(patterns, shown))
    return picture, {"inverted": inverted, "inversion": inversion, "window": window}


def inversion_of(photometric: str, shape: str) -> tuple[bool, str]:
    """Whether the lowest value is white, and why: one rule for the four combinations.

    MONOCHROME1 says that the lowest value is white (PS3.3 C.7.6.3.1.2). The presentation shape INVERSE says the same
    of such a picture (C.8.11.1.1: it "shall be" INVERSE where the picture is MONOCHROME1), so both together invert
    once. INVERSE beside MONOCHROME2 contradicts that rule; what is asked for is done and told.
    """
    if photometric == "MONOCHROME1":
        return True, "the file says that its lowest value is white"
    if shape == "INVERSE":
        return (
            True,
            "the file asks for an inverse picture, against what its values are said to mean: look at it",
        )
    return False, ""


def _meanings(dataset: Dataset, bits: int) -> Values:
    """What each pattern of `bits` bits means: unused bits are cut off, the sign is taken in (PS3.5 section 8.1.1)."""
    stored = min(max(1, whole(dataset, "BitsStored", bits)), bits)
    above = min(max(stored - 1, whole(dataset, "HighBit", stored - 1)), bits - 1)
    meanings: Values = (np.arange(2**bits, dtype=np.int64) >> (above + 1 - stored)) & (2**stored - 1)
    if whole(dataset, "PixelRepresentation") == 1:
        meanings = np.where(meanings >= 2 ** (stored - 1), meanings - 2**stored, meanings)
    return meanings


def _padding(dataset: Dataset, possible: Values) -> Values:
    """Which patterns are filling around the picture (PS3.3 C.7.5.1.1.2)."""
    filling = numbers(dataset, "PixelPaddingValue")
    if not filling or "PixelPaddingValue" not in dataset:
        return np.zeros(possible.shape, bool)
    padding: Values = possible == int(filling[0])
    return padding


def _table(dataset: Dataset, possible: Values, counts: Counts) -> tuple[Values, str]:
    """What each pattern is shown as, 0 to 255, by the stated window, else by the range of the picture."""
    try:
        meant = np.asarray(apply_modality_lut(possible, dataset), float)
    except Exception:  # a table of another size, a slope that is no number
        meant = possible.astype(float)
    words = NO_WINDOW
    if "VOILUTSequence" in dataset or ("WindowCenter" in dataset and "WindowWidth" in dataset):
        shown = _windowed(dataset, meant)
        used = counts > 0
        if shown is not None and len(np.unique(shown[used])) >= min(
            FEWEST_GREYS, int(np.count_nonzero(used))
        ):
            return shown, "the window stated in the file"
        words = "the window stated in the file is not of this picture"
    low, high = ends_of(meant, counts)
    shown = stretched(meant, low, high) if low < high else np.full(meant.shape, WHITE // 2, np.uint8)
    return shown, f"{words}; {BY_RANGE}"


def _windowed(dataset: Dataset, meant: Values) -> Values | None:
    """The greys after a stated table, else the first stated window; None where it is damaged."""
    try:
        if dataset.get("VOILUTSequence"):
            depth = int(dataset.VOILUTSequence[0].LUTDescriptor[2])
            return stretched(apply_voi(np.rint(meant).astype(np.int64), dataset), 0, 2**depth - 1)
    except Exception:  # a table of another length or depth than it states
        return None
    centre, width = numbers(dataset, "WindowCenter"), numbers(dataset, "WindowWidth")
    if not centre or not width or not np.isfinite(meant).all():
        return None
    return window(meant, centre[0], width[0], (texts(dataset, "VOILUTFunction") or [""])[0])


def window(values: Values, centre: float, width: float, function: str = "") -> Values | None:
    """Greys of 8 bits of values by a window (PS3.3 C.11.2.1.2 and C.11.2.1.3); None for a width that is not allowed.

    `function`: "LINEAR" or "" counts whole steps, "LINEAR_EXACT" and "SIGMOID" do not.
    """
    if function in ("", "LINEAR"):
        if width < 1:
            return None
        share = (
            np.where(values > centre - 0.5, 1.0, 0.0)
            if width == 1
            else (values - (centre - 0.5)) / (width - 1) + 0.5
        )
    elif width <= 0:
        return None
    elif function == "LINEAR_EXACT":
        share = (values - centre) / width + 0.5
    elif function == "SIGMOID":
        share = 1 / (1 + np.exp(np.clip(-4 * (values - centre) / width, -700, 700)))
    else:
        return None
    return stretched(share, 0, 1)


def _colours(stored: Stored, values: Values) -> Values:
    """Three samples of 8 bits a pixel; palettes are looked up, deeper samples scaled by their stated bits."""
    bits = whole(stored.dataset, "BitsStored", stored.bits)
    if stored.photometric == "PALETTE COLOR":
        try:
            values = apply_color_lut(values, stored.dataset)
        except Exception as error:
            raise PictureRefused(f"The palette of this DICOM file cannot be read. {EXPORT}") from error
        bits = 8 * values.dtype.itemsize
    if values.dtype.itemsize == 1:
        return np.ascontiguousarray(values[..., :3], np.uint8)
    shown = np.empty((*values.shape[:2], 3), np.uint8)
    for piece, to in zip(strips(values), strips(shown), strict=True):
        to[...] = stretched(piece[..., :3], 0, 2**bits - 1)
    return shown
