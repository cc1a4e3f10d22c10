"""What a WebP file says before it is decoded: chunks, size, and the names of what lies beside the picture.

Structure after RFC 9649 (WebP Image Format).
"""

from imaging.intake_limits import DAMAGED, INCOMPLETE, PictureRefused, Structure, with_tail, within_limit

BYTES_EACH, BYTES_EACH_EXACT = 15, 18
"""Bytes a pixel while a WebP is decoded, measured (`bench photographs`): the canvas of the library twice, what it hands
over, and the picture; more where it is kept without loss, has clear places or moves."""
_PLAIN = (b"VP8 ", b"VP8L", b"VP8X", b"ALPH")
_NAMES = {
    b"EXIF": "Exif",
    b"XMP ": "XMP",
    b"ICCP": "colour profile",
    b"ANIM": "further frames",
    b"ANMF": "further frames",
}


def webp(data: bytes) -> Structure:
    """Structure of a WebP; of an animated one the first frame is taken. Raises PictureRefused."""
    end = 8 + int.from_bytes(data[4:8], "little")
    if end > len(data):
        raise PictureRefused(INCOMPLETE)
    at, size, kinds = 12, (0, 0), set[bytes]()
    beside: list[str] = []
    while at + 8 <= end:
        kind, length = data[at : at + 4], int.from_bytes(data[at + 4 : at + 8], "little")
        body = data[at + 8 : at + 8 + length]
        if at + 8 + length > end:
            raise PictureRefused(INCOMPLETE)
        if kind == b"VP8X" and len(body) >= 10:
            size = (1 + int.from_bytes(body[4:7], "little"), 1 + int.from_bytes(body[7:10], "little"))
        elif kind in (b"VP8 ", b"VP8L"):
            size = size if size != (0, 0) else _size(kind, body)
        if kind in (b"VP8 ", b"VP8L", b"ALPH", b"ANMF"):
            kinds.add(kind)
        if kind not in _PLAIN:
            beside.append(_NAMES.get(kind, "private chunk"))
        at += 8 + length + length % 2
    if not kinds - {b"ALPH"}:
        raise PictureRefused(DAMAGED)
    exact = kinds != {b"VP8 "}
    within_limit(*size, BYTES_EACH_EXACT if exact else BYTES_EACH, "a WebP picture of this kind")
    return Structure("WebP", *size, with_tail(beside, data[end:]))


def _size(kind: bytes, body: bytes) -> tuple[int, int]:
    """Width and height of a lossy (RFC 6386 section 9.1) or lossless bit stream."""
    if kind == b"VP8 " and body[3:6] == b"\x9d\x01\x2a" and len(body) >= 10:
        return int.from_bytes(body[6:8], "little") & 0x3FFF, int.from_bytes(body[8:10], "little") & 0x3FFF
    if kind == b"VP8L" and body[:1] == b"\x2f" and len(body) >= 5:
        bits = int.from_bytes(body[1:5], "little")
        return 1 + (bits & 0x3FFF), 1 + (bits >> 14 & 0x3FFF)
    raise PictureRefused(DAMAGED)
