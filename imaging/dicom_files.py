"""What a DICOM file says before its pixels are decoded: kind, size, frames, and the few facts that are kept.

Structure after DICOM PS3.5 and PS3.10, attributes after PS3.3. Cleaning goes by tags and never by decoded text
(PS3.15 annex E lists 621 attributes to remove; here nothing is kept but what is named in this file), so a name in a
character set nobody declared is left behind like any other.
"""

import logging
import re
import warnings
from collections.abc import Iterator
from dataclasses import dataclass
from typing import Any, cast

import pydicom
from pydicom import config
from pydicom._uid_dict import UID_dictionary
from pydicom.datadict import dictionary_description, dictionary_has_tag
from pydicom.dataelem import RawDataElement
from pydicom.dataset import Dataset
from pydicom.encaps import parse_basic_offsets, parse_fragments
from pydicom.uid import UID

from imaging import dicom_reading
from imaging.file_facts import FileFacts
from imaging.intake_limits import (
    DAMAGED,
    INCOMPLETE,
    MOST_FRAMES,
    PictureRefused,
    Structure,
    refuse_another_file,
    within_limit,
)

DICOM_START = b"DICM"
EXPORT = "Export it as JPEG or PNG, or as uncompressed DICOM (Explicit VR Little Endian), and send that."

# What the file holds is nobody's business in a log: the library would quote it there.
config.settings.reading_validation_mode = config.IGNORE
for _name in ("pydicom", "pydicom.pixels"):
    logging.getLogger(_name).addHandler(logging.NullHandler())
    logging.getLogger(_name).propagate = False
warnings.filterwarnings("ignore", module="pydicom")

_STORAGE = "1.2.840.10008.5.1.4.1.1."
TAKEN = {
    f"{_STORAGE}1": "computed radiograph",
    f"{_STORAGE}1.1": "digital radiograph",
    f"{_STORAGE}1.1.1": "digital radiograph as detected",
    f"{_STORAGE}1.3": "intraoral radiograph",
    f"{_STORAGE}1.3.1": "intraoral radiograph as detected",
    f"{_STORAGE}7": "secondary capture",
    f"{_STORAGE}7.1": "secondary capture",
    f"{_STORAGE}7.2": "secondary capture",
    f"{_STORAGE}7.3": "secondary capture",
    f"{_STORAGE}7.4": "secondary capture",
    f"{_STORAGE}77.1.4": "photograph",
}
"""Storage classes that are taken (PS3.4 annex B): pictures of one exposure, and captures of a screen or film."""
MODALITIES = ("CR", "DX", "IO", "PX", "RG", "OT", "XC")
"""Kinds taken where no storage class is named (PS3.3 C.7.3.1.1.1)."""

NATIVE = tuple(f"1.2.840.10008.1.2{end}" for end in ("", ".1", ".2", ".1.99"))
_COMPRESSED = "1.2.840.10008.1.2."
JPEG = tuple(f"{_COMPRESSED}4.{end}" for end in ("50", "51", "57", "70"))
JPEG_LS = tuple(f"{_COMPRESSED}4.{end}" for end in ("80", "81"))
JPEG_2000 = tuple(f"{_COMPRESSED}4.{end}" for end in ("90", "91"))
RUN_LENGTH = (f"{_COMPRESSED}5",)
DECODED = (*NATIVE, *JPEG, *JPEG_LS, *JPEG_2000, *RUN_LENGTH)
BYTES_FOR_BYTE = ((NATIVE, 4), (RUN_LENGTH, 7), (JPEG, 10), (JPEG_LS, 8), (JPEG_2000, 7))
"""Bytes in memory at the worst for each byte of the decoded picture, measured (`bench photographs`)."""
BYTES_FOR_MIXED = 10
"""The same where brightness and colours are stored apart: the library mixes them in floats."""

ITEM, MOST_PIECES = b"\xfe\xff\x00\xe0", 10_000
"""Tag of a piece of a coded picture, and how many there may be; encoders cut a frame into a few."""
GREY = ("MONOCHROME1", "MONOCHROME2")
COLOURS = ("PALETTE COLOR", "RGB", "YBR_FULL", "YBR_FULL_422", "YBR_ICT", "YBR_RCT")
_OTHER_COLOURS = ("HSV", "ARGB", "CMYK", "YBR_PARTIAL_422", "YBR_PARTIAL_420", "XYB")

# What only says how the pixels are stored, or is kept among the facts: not listed as left behind.
_PIXEL_WORDS = """SamplesPerPixel PhotometricInterpretation PlanarConfiguration NumberOfFrames Rows Columns BitsAllocated
    BitsStored HighBit PixelRepresentation PixelData SmallestImagePixelValue LargestImagePixelValue PixelPaddingValue
    RescaleIntercept RescaleSlope RescaleType WindowCenter WindowWidth VOILUTFunction VOILUTSequence ModalityLUTSequence
    PresentationLUTShape LossyImageCompression SOPClassUID Modality PixelAspectRatio PixelSpacing ImagerPixelSpacing
    NominalScannedPixelSpacing PixelSpacingCalibrationType EstimatedRadiographicMagnificationFactor PatientOrientation
    DistanceSourceToDetector DistanceSourceToPatient
    BurnedInAnnotation RedPaletteColorLookupTableDescriptor GreenPaletteColorLookupTableDescriptor
    BluePaletteColorLookupTableDescriptor RedPaletteColorLookupTableData GreenPaletteColorLookupTableData
    BluePaletteColorLookupTableData FrameIncrementPointer PixelIntensityRelationship
    PixelIntensityRelationshipSign""".split()
_ORIENTATION = re.compile(r"[APLRHF]{1,3}")
_NUMBER = re.compile(r"[+-]?[0-9]{1,12}(\.[0-9]{0,12})?([eE][+-]?[0-9]{1,2})?")
LONGEST_TEXT = 1024
"""Bytes of an attribute that is read: a number for each of 1000 frames is never needed."""
PAIRS = ("PixelSpacing", "ImagerPixelSpacing", "NominalScannedPixelSpacing", "PixelAspectRatio")
SINGLE = ("EstimatedRadiographicMagnificationFactor", "DistanceSourceToDetector", "DistanceSourceToPatient")
"""Attributes of two numbers and of one that are kept."""


@dataclass(frozen=True, slots=True)
class Stored:
    """How the pixels of one file are stored, looked through and found to be taken."""

    dataset: Dataset
    syntax: str
    rows: int
    columns: int
    samples: int
    bits: int
    frames: int
    declared_frames: int
    photometric: str


def dicom(data: bytes) -> Structure:
    """Structure of a DICOM file; raises PictureRefused with the kind named where it is not taken."""
    stored = opened(data)
    pixels = stored.dataset["PixelData"]
    refuse_another_file(
        data[(pixels.file_tell or 0) + len(pixels.value) :]
    )  # nothing is left of a deflated one
    return Structure(
        "DICOM",
        stored.columns,
        stored.rows,
        tuple(dict.fromkeys(_left_behind(stored.dataset))),
        pages=tuple(range(stored.frames)),
    )


def opened(data: bytes) -> Stored:
    """The file's data set with what is needed to decode it; everything is checked before any pixel is."""
    try:
        dataset = dicom_reading.read(data)
    except PictureRefused:
        raise
    except Exception as error:  # the parser raises what it meets: struct.error, EOFError, ValueError, ...
        raise PictureRefused(DAMAGED) from error
    _of_a_taken_kind(dataset)
    syntax = str(dataset.file_meta.get("TransferSyntaxUID", ""))
    _of_a_taken_coding(syntax)
    rows, columns = whole(dataset, "Rows"), whole(dataset, "Columns")
    samples, bits = whole(dataset, "SamplesPerPixel", 1), whole(dataset, "BitsAllocated")
    photometric = _photometric(dataset, samples)
    if bits not in (8, 16):
        raise PictureRefused(f"This DICOM file has {bits} bits for each sample; 8 and 16 are taken. {EXPORT}")
    within_limit(
        columns, rows, bytes_each(samples, bits, syntax, photometric), "a DICOM picture of this kind"
    )
    frames, declared = _frames(dataset, syntax, rows * columns * _sample_bytes(samples, bits, photometric))
    return Stored(dataset, syntax, rows, columns, samples, bits, frames, declared, photometric)


def whole(dataset: Dataset, keyword: str, otherwise: int = 0) -> int:
    """A whole number of the data set; `otherwise` where it is missing, empty or no number."""
    value = numbers(dataset, keyword)
    return int(value[0]) if value and value[0].is_integer() and abs(value[0]) < 2**32 else otherwise


def numbers(dataset: Dataset, keyword: str) -> list[float]:
    """The numbers of an attribute; none where it is missing, empty or not made of numbers."""
    try:
        found = [float(text) for text in texts(dataset, keyword)]
    except ValueError:
        return []
    return [value for value in found if abs(value) < 1e12]


def texts(dataset: Dataset, keyword: str) -> list[str]:
    """The values of an attribute as short texts; none where it cannot be read or is far longer than these are."""
    try:
        kept = dataset.get_item(keyword)
        if isinstance(kept, RawDataElement) and len(kept.value or b"") > LONGEST_TEXT:
            return []
        value: Any = dataset.get(keyword)
    except Exception:  # what stands in the file decides what is raised
        return []
    if value is None or isinstance(value, bytes):
        return []
    several = [value] if isinstance(value, str) or not hasattr(value, "__iter__") else list(value)
    return [str(one).strip("\0 ")[:32] for one in several[:8]]


def _of_a_taken_kind(dataset: Dataset) -> None:
    uid = (texts(dataset, "SOPClassUID") or texts(dataset.file_meta, "MediaStorageSOPClassUID") or [""])[0]
    modality = (texts(dataset, "Modality") or [""])[0]
    if uid in TAKEN or (not uid and modality in MODALITIES):
        return
    name = UID(uid).name if uid in UID_dictionary else ""
    kind = re.sub(r" (Image )?Storage( [-(].*)?$", "", name) if name else "of a kind that is not named"
    raise PictureRefused(
        f"This DICOM file is {'a record of the kind ' + chr(34) + kind + chr(34) if name else kind}. Taken are single "
        "radiographs (computed, digital, intraoral, panoramic), secondary captures and photographs. "
        "Export the picture you need as JPEG or PNG and send that."
    )


def _of_a_taken_coding(syntax: str) -> None:
    if syntax in DECODED:
        return
    if not syntax:
        raise PictureRefused(f"This DICOM file does not say how its picture is coded. {EXPORT}")
    name = UID(syntax).name if syntax in UID_dictionary else "a way of its maker's own"
    raise PictureRefused(f"This DICOM file is coded as {name}, which cannot be decoded here. {EXPORT}")


def _photometric(dataset: Dataset, samples: int) -> str:
    said = (texts(dataset, "PhotometricInterpretation") or [""])[0]
    wanted = 1 if said in (*GREY, "PALETTE COLOR") else 3
    if said in (*GREY, *COLOURS) and samples == wanted:
        return said
    named = said if said in (*GREY, *COLOURS, *_OTHER_COLOURS) else "a kind that is not known"
    raise PictureRefused(f"The colours of this DICOM file are {named} with {samples} samples. {EXPORT}")


def _sample_bytes(samples: int, bits: int, photometric: str) -> int:
    """Bytes of one uncompressed pixel; YBR_FULL_422 shares its colours between two (PS3.3 C.7.6.3.1.2)."""
    return 2 * bits // 8 if photometric == "YBR_FULL_422" else samples * bits // 8


def bytes_each(samples: int, bits: int, syntax: str, photometric: str) -> int:
    """Bytes a pixel while it is decoded: the file, the values with their copies on the way, and the picture of 8 bits."""
    times = next(times for codings, times in BYTES_FOR_BYTE if syntax in codings)
    if photometric.startswith("YBR_FULL"):
        times = max(times, BYTES_FOR_MIXED)
    table_and_picture = 2 if (samples, bits) == (1, 8) else 0  # in deeper ones they are lost among the rest
    return times * samples * bits // 8 + table_and_picture


def _frames(dataset: Dataset, syntax: str, length: int) -> tuple[int, int]:
    """How many frames there are and how many the file declares; refuses one that is short of what it declares."""
    declared = max(1, whole(dataset, "NumberOfFrames", 1))
    try:
        pixels = dataset.get("PixelData")
    except Exception as error:
        raise PictureRefused(DAMAGED) from error
    if not isinstance(pixels, bytes) or not pixels:
        raise PictureRefused("This DICOM file holds no picture. " + EXPORT)
    found = len(pixels) // length if syntax in NATIVE else _packed_frames(pixels, declared)
    if found < declared or found < 1:
        raise PictureRefused(INCOMPLETE if declared == 1 or found < 1 else _too_few(declared, found))
    if found > MOST_FRAMES:
        raise PictureRefused(
            f"This DICOM file has {found} frames; at most {MOST_FRAMES} are looked at. {EXPORT}"
        )
    return found, declared


def _too_few(declared: int, found: int) -> str:
    return f"The file declares {declared} frames and holds {found}: its end is missing. Send it again."


def _packed_frames(pixels: bytes, declared: int) -> int:
    """Frames of encapsulated pixel data (PS3.5 annex A.4), by the offset table, else by where codestreams begin."""
    if pixels.count(ITEM) > MOST_PIECES or int.from_bytes(pixels[4:8], "little") > 4 * MOST_FRAMES:
        raise PictureRefused(f"The picture in this DICOM file is cut into too many pieces. {EXPORT}")
    try:
        count, places = parse_fragments(pixels)
        offsets = parse_basic_offsets(pixels)
    except Exception as error:
        raise PictureRefused(INCOMPLETE) from error
    if len(offsets) > 1 or count == 1:
        return max(len(offsets), min(count, 1))
    starts = [pixels[at + 8 : at + 10] for at in places]
    begun = sum(start in (b"\xff\xd8", b"\xff\x4f") for start in starts)
    return begun or (count if declared > 1 else 1)


def kept_facts(stored: Stored) -> FileFacts:
    """The allow-listed record (`imaging.file_facts`): kind, orientation, text said to be burned in, stated spacings.

    Numbers are kept as the short texts they came as, so that a zero or a negative one can be told. Free text is not
    kept, whatever its attribute is called.
    """
    dataset = stored.dataset
    facts: dict[str, Any] = {
        "modality": next((one for one in texts(dataset, "Modality") if re.fullmatch(r"[A-Z]{2,8}", one)), ""),
        "stored_as": TAKEN.get((texts(dataset, "SOPClassUID") or [""])[0], "radiograph"),
    }
    for keyword in (*PAIRS, *SINGLE):
        found = texts(dataset, keyword)
        if len(found) == (2 if keyword in PAIRS else 1) and all(_NUMBER.fullmatch(one) for one in found):
            facts[keyword] = found
    how = (texts(dataset, "PixelSpacingCalibrationType") or [""])[0]
    if how in ("GEOMETRY", "FIDUCIAL"):
        facts["PixelSpacingCalibrationType"] = how
    ways = texts(dataset, "PatientOrientation")
    if len(ways) == 2 and all(_ORIENTATION.fullmatch(way) for way in ways):
        facts["PatientOrientation"] = ways
    if (texts(dataset, "BurnedInAnnotation") or [""])[0] in ("YES", "NO"):
        facts["BurnedInAnnotation"] = texts(dataset, "BurnedInAnnotation")[0]
    return cast(FileFacts, facts)  # the keys are those of its own words


def _left_behind(dataset: Dataset, depth: int = 0) -> Iterator[str]:
    """Names of the attributes that are in nothing shown or printed, those of nested data sets too; never values."""
    kept, tags = set(_PIXEL_WORDS), list(dataset.keys())
    for tag in tags:
        if tag.is_private:
            yield "private DICOM attributes"
            continue
        if 0x6000 <= tag.group <= 0x60FF:
            yield "DICOM overlay"
            continue
        if not dictionary_has_tag(tag):
            yield "DICOM attribute of an unknown number"
            continue
        name = dictionary_description(tag)
        if pydicom.datadict.keyword_for_tag(tag) not in kept:
            yield f"DICOM {name}"
        if depth < dicom_reading.DEEPEST and name not in ("VOI LUT Sequence", "Modality LUT Sequence"):
            for one in dicom_reading.inside(dataset, tag):
                yield from _left_behind(one, depth + 1)
