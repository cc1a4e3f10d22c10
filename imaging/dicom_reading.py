"""Reading the elements of a DICOM file (PS3.5 section 7, PS3.10 section 7.1) without letting a small file fill the memory.

The library makes objects of whatever stands in the file: millions of empty elements, items in items, a number that is
40 MB long. So it reads through a stream that counts, sequences are opened here and nowhere later, and values larger
than any that is needed are emptied.
"""

import io
import zlib
from collections.abc import Iterator

import pydicom
from pydicom.charset import default_encoding
from pydicom.datadict import dictionary_has_tag, dictionary_VR
from pydicom.dataelem import DataElement, RawDataElement
from pydicom.dataset import Dataset
from pydicom.filereader import read_sequence
from pydicom.tag import BaseTag

from imaging.intake_limits import DAMAGED, INCOMPLETE, LARGEST_BYTES, PictureRefused, refuse_another_file

DEFLATED, EXPLICIT = b"1.2.840.10008.1.2.1.99", b"1.2.840.10008.1.2.1"
PIXELS = BaseTag(0x7FE00010)
MOST_READS = 50_000
"""About two for each element or item; a radiograph has some hundred, a file of 1000 frames some ten thousand."""
DEEPEST = 8
"""Sequences inside each other are opened down to here; deeper ones stay closed and are left behind all the same."""
LARGEST_VALUE = 256 * 1024
"""Tables of values and palettes have at most 65536 entries of two bytes."""
TOO_MANY = (
    "This DICOM file consists of more parts than any radiograph has, or is damaged. Export the picture you need as JPEG "
    "or PNG and send that."
)


class Counted(io.BytesIO):
    """Bytes to read from, at most so many times; `left` is shared among all streams of one file."""

    def __init__(self, data: bytes, left: list[int]) -> None:
        super().__init__(data)
        self._left = left

    def read(self, size: int | None = -1, /) -> bytes:
        if size is None or size < 0:
            raise PictureRefused(DAMAGED)  # all at once is asked for by what unpacks without a limit
        self._left[0] -= 1
        if self._left[0] < 0:
            raise PictureRefused(TOO_MANY)
        return super().read(size)


def read(data: bytes) -> Dataset:
    """The data set with its sequences opened; raises PictureRefused, and what the library raises of damaged files."""
    left = [MOST_READS]
    try:
        dataset = pydicom.dcmread(Counted(_inflated(data), left))
        _open_sequences(dataset, left)
    finally:
        if left[0] < 0:  # the library may have put an error of its own over ours
            raise PictureRefused(TOO_MANY)
    return dataset


def inside(dataset: Dataset, tag: BaseTag) -> Iterator[Dataset]:
    """The data sets of a sequence that was opened; none of any other element."""
    element = dataset.get_item(tag)
    if isinstance(element, DataElement) and element.VR == "SQ":
        yield from element.value


def _inflated(data: bytes) -> bytes:
    """The file with a deflated data set unpacked (PS3.5 annex A.5), no further than a file may be long."""
    end, syntax = _meta(data)
    if syntax != DEFLATED:
        return data
    unpacker = zlib.decompressobj(-zlib.MAX_WBITS)
    unpacked = unpacker.decompress(data[end:], LARGEST_BYTES + 1)
    if len(unpacked) > LARGEST_BYTES:
        raise PictureRefused(
            f"Unpacked, this DICOM file has more than {LARGEST_BYTES // 1024 // 1024} MB. Export the picture you need as "
            "JPEG or PNG and send that."
        )
    if not unpacker.eof:
        raise PictureRefused(INCOMPLETE)
    refuse_another_file(unpacker.unused_data)
    return data[:end].replace(DEFLATED, EXPLICIT.ljust(len(DEFLATED), b"\0")) + unpacked


def _meta(data: bytes) -> tuple[int, bytes]:
    """Where the file meta group ends, and the transfer syntax it names (PS3.10 section 7.1: explicit, little endian)."""
    at, syntax = 132, b""
    while data[at : at + 2] == b"\x02\x00":
        if data[at + 4 : at + 6] in (b"OB", b"UN", b"OW", b"SQ", b"UT"):
            head, length = 12, int.from_bytes(data[at + 8 : at + 12], "little")
        else:
            head, length = 8, int.from_bytes(data[at + 6 : at + 8], "little")
        if data[at + 2 : at + 4] == b"\x10\x00":
            syntax = data[at + head : at + head + length].rstrip(b"\0 ")
        at += head + length
    return at, syntax


def _open_sequences(dataset: Dataset, left: list[int], depth: int = 0) -> None:
    """Open what is a sequence, empty what is too long, so that no later look can do more than look."""
    for tag in list(dataset.keys()):
        element = dataset.get_item(tag)
        if isinstance(element, RawDataElement):
            if _is_sequence(element):
                _open_one(dataset, element, left)
            elif tag != PIXELS and len(element.value or b"") > LARGEST_VALUE:
                dataset[tag] = element._replace(value=b"", length=0)
        if depth < DEEPEST:
            for one in inside(dataset, tag):
                _open_sequences(one, left, depth + 1)


def _open_one(dataset: Dataset, element: RawDataElement, left: list[int]) -> None:
    value = element.value or b""
    try:
        items = read_sequence(
            Counted(value, left),
            element.is_implicit_VR or element.VR == "UN",
            element.is_little_endian,
            len(value),
            default_encoding,
        )
        dataset[element.tag] = DataElement(element.tag, "SQ", items)
    except Exception:  # damaged, or too many parts, which is told in the end
        dataset[element.tag] = element._replace(value=b"", length=0)


def _is_sequence(element: RawDataElement) -> bool:
    known = element.VR in (None, "UN") and dictionary_has_tag(element.tag)
    return element.VR == "SQ" or (known and dictionary_VR(element.tag) == "SQ")
