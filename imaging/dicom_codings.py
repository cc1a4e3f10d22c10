"""What a codestream inside a DICOM file says of itself, asked before it is decoded: it must be the picture of the header.

Decoders allocate what the codestream declares, whatever the DICOM header says; a few bytes can declare 65535 x 65535.
JPEG after ITU-T T.81 annex B and T.87 annex C, JPEG 2000 after T.800 annex A.5.1, runs after DICOM PS3.5 annex G.
"""

import struct

from imaging.intake_limits import DAMAGED, PictureRefused
from imaging.jpeg_scans import scan_ends

MOST_SCANS = 100
_SIZE_OF_2000 = b"\xff\x4f\xff\x51"
_FRAMES = {*range(0xC0, 0xD0), 0xF7} - {0xC4, 0xC8, 0xCC}
"""Markers of frame headers: T.81 table B.1 without tables and reserved ones, and T.87's own."""
UNLIKE = (
    "The picture inside this DICOM file is coded with another size or number of colours than the file itself states. "
    "Export it as JPEG or PNG, or as uncompressed DICOM (Explicit VR Little Endian), and send that."
)


def as_stated(packed: bytes, rows: int, columns: int, samples: int) -> None:
    """Refuse a JPEG, JPEG-LS or JPEG 2000 codestream that is not of the stated size; raises PictureRefused.

    A stream without any header that can be read is left to its decoder, which refuses it by the name of the coding.
    """
    found = _jpeg(packed) if packed.startswith(b"\xff\xd8") else _jpeg_2000(packed)
    if found is not None and found != (rows, columns, samples):
        raise PictureRefused(UNLIKE)
    if packed.startswith(b"\xff\xd8") and len(scan_ends(packed)) > MOST_SCANS:
        raise PictureRefused(DAMAGED)


def _jpeg(packed: bytes) -> tuple[int, int, int] | None:
    """Rows, columns and components of the first frame header."""
    at = 2
    while at + 10 <= len(packed) and packed[at] == 0xFF:
        marker = packed[at + 1]
        if marker in _FRAMES:
            rows, columns, components = struct.unpack(">HHB", packed[at + 5 : at + 10])
            return rows, columns, components
        if marker in (0xD9, 0xDA):
            return None
        at += 1 if marker == 0xFF else 2 + int.from_bytes(packed[at + 2 : at + 4], "big")
    return None


def _jpeg_2000(packed: bytes) -> tuple[int, int, int] | None:
    """Rows, columns and components of the SIZ segment, which begins the codestream, perhaps behind boxes of JP2."""
    at = packed.find(_SIZE_OF_2000)
    if at < 0 or len(packed) < at + 42:
        return None
    right, bottom, left, top = struct.unpack(">IIII", packed[at + 8 : at + 24])
    return bottom - top, right - left, int.from_bytes(packed[at + 40 : at + 42], "big")


def runs_within(packed: bytes, length: int) -> None:
    """Refuse run-length coding of which a segment holds more than `length` bytes; raises PictureRefused.

    A byte n under 128 is followed by n + 1 bytes as they are, one over 128 by one byte that stands for 257 − n. A
    header that cannot be is left to the decoder.
    """
    count, *places = struct.unpack("<16I", packed[:64].ljust(64, b"\xff"))
    if count > len(places):
        return
    ends = [*places[1:count], len(packed)]
    for start, end in zip(places, ends, strict=False):
        at, held = start, 0
        while at < min(end, len(packed)):
            control = packed[at]
            at += control + 2 if control < 128 else 2
            held += control + 1 if control < 128 else (257 - control) % 129
            if held > length + 128:
                raise PictureRefused(DAMAGED)
