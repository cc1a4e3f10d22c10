"""What a HEIC file says before it is decoded: boxes, size, and the names of what lies beside the picture.

Structure after ISO/IEC 14496-12 (boxes) and 23008-12 (HEIF). Turning is the container's own affair there: its
rotation is applied by the decoder, and an Exif orientation beside it is information only (23008-12 annex A.2.2), so
it is not applied a second time.
"""

import io
from collections.abc import Iterator

import pillow_heif

from imaging.intake_limits import (
    AS_JPEG,
    DAMAGED,
    INCOMPLETE,
    PictureRefused,
    Structure,
    with_tail,
    within_limit,
)

HEIF_BRANDS = (b"heic", b"heix", b"heim", b"heis", b"hevc", b"hevx", b"mif1", b"msf1")
BYTES_EACH = 6.5
"""Bytes a pixel while a HEIC is decoded, measured (`bench photographs`): brightness and colours as coded, and the picture.

24 megapixels are what phones take by themselves.
"""
_BOXES = (b"ftyp", b"meta", b"mdat", b"moov", b"free", b"skip", b"idat", b"uuid", b"styp", b"mpvd", b"wide")
_NAMES = {
    "exif": "Exif",
    "xmp": "XMP",
    "metadata": "further HEIC data",
    "thumbnails": "preview picture",
    "depth_images": "depth picture",
    "aux": "auxiliary picture",
    "icc_profile": "colour profile",
}


def heif(data: bytes) -> Structure:
    """Structure of a HEIC; of several pictures the primary one is taken, as phones show it. Raises PictureRefused."""
    end = _end_of_boxes(data)
    try:
        file = pillow_heif.open_heif(io.BytesIO(data))
        (width, height), beside = file.size, list(_beside(file))
    except Exception as error:  # the decoder's own errors, and what it meets on the way
        raise PictureRefused(
            "This HEIC file cannot be read: it is damaged, or coded in a way that is not known. " + AS_JPEG
        ) from error
    within_limit(width, height, BYTES_EACH, "a HEIC picture")
    return Structure("HEIC", width, height, with_tail(beside, data[end:]))


def opened(data: bytes) -> "pillow_heif.HeifFile":
    """The file for decoding; what it says was looked through before."""
    return pillow_heif.open_heif(io.BytesIO(data))


def _end_of_boxes(data: bytes) -> int:
    """Where the last box ends; a box that reaches past the file was cut off."""
    at = 0
    while at < len(data):
        head = data[at : at + 8]
        if head[4:8] not in _BOXES:
            return at  # whatever stands there is no part of the picture
        length = int.from_bytes(head[:4], "big")
        if length == 1:
            length = int.from_bytes(data[at + 8 : at + 16], "big")
        if length == 0:
            return len(data)
        if length < 8:
            raise PictureRefused(DAMAGED)
        if at + length > len(data):
            raise PictureRefused(INCOMPLETE)
        at += length
    return at


def _beside(file: "pillow_heif.HeifFile") -> Iterator[str]:
    for key, name in _NAMES.items():
        if file.info.get(key):
            yield name
    if len(file) > 1:
        yield "further pictures"
