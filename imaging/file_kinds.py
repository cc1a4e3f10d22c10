"""What the bytes of an upload are: kind, size in pixels and where the picture ends, read before anything is decoded.

Structure of JPEG after ITU-T T.81 annex B, of PNG after the W3C PNG specification (third edition) section 5.
"""

import io
import re
import zipfile
import zlib

from imaging.dicom_files import DICOM_START, dicom
from imaging.heif_files import HEIF_BRANDS, heif
from imaging.intake_limits import (
    AS_JPEG,
    CUT_SHORT,
    DAMAGED,
    INCOMPLETE,
    LARGEST_BYTES,
    PictureRefused,
    Structure,
    with_tail,
    within_limit,
)
from imaging.jpeg_scans import HUFFMAN_FRAMES, OTHER_FRAMES, PROGRESSIVE, Scans, end_of_bits
from imaging.tiff_files import TIFF_STARTS, tiff
from imaging.webp_files import webp

MOST_SCANS = 100
"""Programs send a progressive picture in about ten; thousands would keep the machine busy for hours."""
SCANS_BESIDE = 1.5
"""Bytes a pixel beside what a decoder keeps of a picture in several scans, measured (`bench photographs`)."""
PNG_START = b"\x89PNG\r\n\x1a\n"

_DRAWING = re.compile(
    rb"^(?:\xef\xbb\xbf)?\s*(?:<\?xml[^>]*>|<!--.*?-->|<!doctype[^>]*>|\s)*<svg[\s>]", re.I | re.S
)
_MARKER = re.compile(rb"\xff+([^\x00\xff])")

# Names of segments and chunks that are safe to show; anything else could itself be a name somebody chose.
_SEGMENTS = {0xE2: "APP2 block", 0xED: "Photoshop and IPTC block", 0xFE: "comment"}
_CHUNKS = {
    "tEXt": "text",
    "zTXt": "text",
    "iTXt": "text",
    "eXIf": "Exif",
    "tIME": "time of change",
    "iCCP": "colour profile",
    "acTL": "further frames",
    "fcTL": "further frames",
    "fdAT": "further frames",
    "sPLT": "suggested palette",
}
# Bytes a pixel in memory by PNG's colour type (section 11.2.1), measured with the copies on the way (`bench photographs`).
PNG_COSTS = {
    2: (6, "a colour PNG"),
    3: (7, "a PNG with a palette"),
    4: (11, "a PNG with clear places"),
    6: (11, "a PNG with clear places"),
}
PNG_COST_OF_16_BITS = 2.5
_PNG_PLAIN = (
    "IHDR",
    "PLTE",
    "IDAT",
    "IEND",
    "sRGB",
    "tRNS",
    "gAMA",
    "cHRM",
    "sBIT",
    "bKGD",
    "hIST",
    "cICP",
    "pHYs",
)


def inspect(data: bytes) -> Structure:
    """Kind and structure of an upload, from its bytes alone; raises PictureRefused with the reason in words."""
    if not data:
        raise PictureRefused("The file is empty (0 bytes). Send it again from the camera or card.")
    if len(data) > LARGEST_BYTES:
        raise PictureRefused(
            f"The file has {len(data) / 1024 / 1024:.0f} MB; at most {LARGEST_BYTES // 1024 // 1024} MB are taken."
        )
    if data.startswith(b"\xff\xd8\xff"):
        found = _jpeg(data)
    elif data.startswith(PNG_START):
        found = _png(data)
    elif data[128:132] == DICOM_START:
        found = dicom(data)
    elif data.startswith(TIFF_STARTS):
        found = tiff(data)
    elif data[4:8] == b"ftyp" and data[8:12] in HEIF_BRANDS:
        found = heif(data)
    elif data[:4] == b"RIFF" and data[8:12] == b"WEBP":
        found = webp(data)
    else:
        raise PictureRefused(_not_taken(data))
    if zipfile.is_zipfile(io.BytesIO(data)):
        raise PictureRefused("Another file (a ZIP archive) is hidden behind the picture. " + AS_JPEG)
    return found


def _not_taken(data: bytes) -> str:
    """Why bytes of no kind that is taken are refused, with the format named where it is known."""
    brand = data[8:12] if data[4:8] == b"ftyp" else b""
    known = (
        (brand in (b"avif", b"avis"), "an AVIF picture"),
        (_DRAWING.match(data[:65536]) is not None, "an SVG drawing"),
        (data.startswith((b"%!PS", b"\xc5\xd0\xd3\xc6")), "an EPS drawing"),
        (data.startswith(b"%PDF-"), "a PDF document"),
        (data.startswith((b"GIF87a", b"GIF89a")), "a GIF picture"),
        (data.startswith(b"BM"), "a BMP picture"),
        (data.startswith((b"\x00\x00\x00\x0cjP  ", b"\xff\x4f\xff\x51")), "a JPEG 2000 picture"),
        (data.startswith(b"PK\x03\x04"), "a ZIP archive"),
    )
    for met, name in known:
        if met:
            return f"This is {name}, which is not taken. {AS_JPEG}"
    return "This is neither a JPEG, PNG, TIFF, HEIC, WebP nor DICOM file, whatever its name says. " + AS_JPEG


def _jpeg(data: bytes) -> Structure:
    """Walk the segments to the end marker of the first picture."""
    at = 2
    beside: list[str] = []
    scans = Scans()
    while True:
        found = _MARKER.match(data, at)
        if found is None:
            raise PictureRefused(INCOMPLETE if at + 4 > len(data) else DAMAGED)
        marker, at = found.group(1)[0], found.end()
        if marker == 0xD9:
            break
        if marker == 0x01 or 0xD0 <= marker <= 0xD7:
            continue
        length = int.from_bytes(data[at : at + 2], "big")
        if length < 2 or at + length > len(data):
            raise PictureRefused(INCOMPLETE)
        body, at = data[at + 2 : at + length], at + length
        if name := _segment_name(marker, body):
            beside.append(name)
        at = _counted(scans, marker, body, data, at)
    if not scans.width or not scans.ends:
        raise PictureRefused(DAMAGED)
    if scans.incomplete:
        raise PictureRefused(CUT_SHORT)
    return Structure("JPEG", scans.width, scans.height, with_tail(beside, data[at:]), tuple(scans.ends))


def _counted(scans: Scans, marker: int, body: bytes, data: bytes, at: int) -> int:
    """Hand over a segment that says what the picture consists of; the place of the next marker."""
    if marker in OTHER_FRAMES:
        raise PictureRefused(
            "This JPEG is of a rare kind (lossless or arithmetic), which is not taken. " + AS_JPEG
        )
    if marker in HUFFMAN_FRAMES:
        if len(body) < 6 or not body[5] or len(body) < 6 + 3 * body[5] or scans.width:
            raise PictureRefused(DAMAGED)
        scans.frame(marker, body)
        within_limit(scans.width, scans.height)
        if marker == PROGRESSIVE:
            within_limit(scans.width, scans.height, scans.bytes_kept + SCANS_BESIDE, "a progressive JPEG")
    elif marker == 0xDD:
        scans.restart_interval(body)
    elif marker == 0xDA:
        if not scans.width or not body or len(body) < 4 + 2 * body[0] or not 0 < body[0] < 5:
            raise PictureRefused(DAMAGED)
        if body[0] < len(scans.sampling):
            within_limit(
                scans.width, scans.height, scans.bytes_kept + SCANS_BESIDE, "a JPEG in several scans"
            )
        if len(scans.ends) >= MOST_SCANS:
            raise PictureRefused(
                f"This JPEG has more than {MOST_SCANS} scans, which no camera writes. " + AS_JPEG
            )
        end = end_of_bits(data, at)
        if end < 0:
            raise PictureRefused(INCOMPLETE)
        scans.scan(body, data, at, end)
        return end
    return at


def _segment_name(marker: int, body: bytes) -> str:
    """Name of what a segment carries beside the pixels; empty for tables and what only says how to decode."""
    if marker == 0xE0:
        return "" if body.startswith(b"JFIF") and body[12:14] in (b"", b"\x00\x00") else "small preview"
    if marker == 0xE1:
        if body.startswith(b"Exif\x00"):
            return "Exif"
        return "XMP" if b"ns.adobe.com" in body[:64] else "APP1 block"
    if marker == 0xE2 and body.startswith(b"ICC_PROFILE"):
        return "colour profile"
    if marker == 0xE2 and body.startswith(b"MPF\x00"):
        return "list of further pictures"
    if marker == 0xEE and body.startswith(b"Adobe"):
        return ""
    if marker in _SEGMENTS:
        return _SEGMENTS[marker]
    return f"APP{marker - 0xE0} block" if 0xE0 <= marker <= 0xEF else ""


def _png(data: bytes) -> Structure:
    """Walk the chunks with their checksums to the end chunk."""
    at, size = len(PNG_START), (0, 0)
    beside: list[str] = []
    while True:
        head = data[at : at + 8]
        if len(head) < 8:
            raise PictureRefused(INCOMPLETE)
        length, kind = int.from_bytes(head[:4], "big"), head[4:]
        end = at + 12 + length
        if end > len(data):
            raise PictureRefused(INCOMPLETE)
        if zlib.crc32(data[at + 4 : end - 4]) != int.from_bytes(data[end - 4 : end], "big"):
            raise PictureRefused(DAMAGED)
        if kind == b"IHDR" and size == (0, 0):
            size = _png_size(data[at + 8 : end - 4])
        name = kind.decode("latin-1")
        if name not in _PNG_PLAIN:
            beside.append(_CHUNKS.get(name, "private chunk"))
        at = end
        if kind == b"IEND":
            break
    if size == (0, 0):
        raise PictureRefused(DAMAGED)
    return Structure("PNG", *size, with_tail(beside, data[at:]))


def _png_size(header: bytes) -> tuple[int, int]:
    """Width and height of the header chunk, within the limit of its colour type and depth."""
    if len(header) != 13:
        raise PictureRefused(DAMAGED)
    size = (int.from_bytes(header[:4], "big"), int.from_bytes(header[4:8], "big"))
    depth, colours = header[8], header[9]
    within_limit(
        *size,
        *PNG_COSTS.get(
            colours,
            (PNG_COST_OF_16_BITS if depth == 16 else 1, "a PNG of 16 bits" if depth == 16 else "a PNG"),
        ),
    )
    return size
