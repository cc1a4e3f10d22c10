"""Picture files for tests, with a marker in every place where a camera or program leaves words."""

from __future__ import annotations

import io
import random
import struct
import zlib
from typing import Any

from PIL import Image, ImageCms, PngImagePlugin

MARKER = "ZZMARKERZZ"
DATE = "1987:06:05"


def corner(size: tuple[int, int] = (60, 40), mode: str = "RGB") -> Image.Image:
    """White with a red block in the upper left corner, so that turning shows."""
    picture = Image.new("RGB", size, "white")
    picture.paste((220, 20, 20), (0, 0, size[0] // 3, size[1] // 3))
    return picture.convert(mode)


def noise(size: tuple[int, int] = (300, 300), seed: int = 4) -> Image.Image:
    return Image.frombytes("RGB", size, random.Random(seed).randbytes(size[0] * size[1] * 3))


def jpeg(picture: Image.Image, **how: Any) -> bytes:
    to = io.BytesIO()
    picture.save(to, "JPEG", **{"quality": 95, **how})
    return to.getvalue()


def png(picture: Image.Image, **how: Any) -> bytes:
    to = io.BytesIO()
    picture.save(to, "PNG", **how)
    return to.getvalue()


def turned(orientation: int) -> bytes:
    """A JPEG whose pixels lie so that the orientation value brings the red corner to the upper left."""
    back = {
        1: None,
        2: Image.Transpose.FLIP_LEFT_RIGHT,
        3: Image.Transpose.ROTATE_180,
        4: Image.Transpose.FLIP_TOP_BOTTOM,
        5: Image.Transpose.TRANSPOSE,
        6: Image.Transpose.ROTATE_90,
        7: Image.Transpose.TRANSVERSE,
        8: Image.Transpose.ROTATE_270,
    }[orientation]
    lying = corner() if back is None else corner().transpose(back)
    exif = Image.Exif()
    exif[0x0112] = orientation
    return jpeg(lying, exif=exif)


def marked_exif() -> Image.Exif:
    exif = Image.Exif()
    for tag in (0x010E, 0x010F, 0x0110, 0x0131, 0x013B, 0x8298, 0x9C9B, 0xC62F):
        exif[tag] = MARKER
    exif[0x0132] = f"{DATE} 10:00:00"
    inner = exif.get_ifd(0x8769)
    inner[0x9003] = f"{DATE} 10:00:00"
    inner[0x9286] = MARKER.encode()
    inner[0x927C] = MARKER.encode()
    inner[0xA431] = MARKER
    exif.get_ifd(0x8825)[0x001D] = DATE
    return exif


def segment(marker: int, body: bytes) -> bytes:
    return bytes([0xFF, marker]) + struct.pack(">H", len(body) + 2) + body


def marked_jpeg(size: tuple[int, int] = (60, 40)) -> bytes:
    """A JPEG that carries the marker in Exif, XMP, IPTC, comment, colour profile, and behind its end."""
    plain = jpeg(corner(size), exif=marked_exif(), comment=MARKER.encode(), icc_profile=marked_profile())
    more = segment(0xE1, b"http://ns.adobe.com/xap/1.0/\x00<x>" + MARKER.encode() + b"</x>")
    more += segment(0xED, b"Photoshop 3.0\x008BIM\x04\x04\x00\x00" + MARKER.encode())
    more += segment(0xE9, MARKER.encode("utf-16-le"))
    return plain[:2] + more + plain[2:] + jpeg(corner((8, 8)), comment=MARKER.encode()) + MARKER.encode()


def marked_profile() -> bytes:
    """An sRGB profile whose description is the marker."""
    made = ImageCms.ImageCmsProfile(ImageCms.createProfile("sRGB")).tobytes()
    words = "sRGB built-in".encode("utf-16-be")
    assert words in made
    return made.replace(words, (MARKER + "   ").encode("utf-16-be"))


def marked_png(size: tuple[int, int] = (60, 40)) -> bytes:
    """A PNG that carries the marker in every kind of text chunk, Exif, a private chunk, and behind its end."""
    words = PngImagePlugin.PngInfo()
    words.add_text("Author", MARKER)
    words.add_text(MARKER, MARKER, zip=True)
    words.add_itxt("Comment", MARKER, zip=True)
    plain = png(corner(size), pnginfo=words, exif=marked_exif(), icc_profile=marked_profile())
    end = plain.rindex(b"IEND") - 4
    return plain[:end] + chunk(b"zzMk", MARKER.encode()) + plain[end:] + MARKER.encode()


def chunk(kind: bytes, body: bytes) -> bytes:
    return struct.pack(">I", len(body)) + kind + body + struct.pack(">I", zlib.crc32(kind + body))


def declared_png(width: int, height: int) -> bytes:
    """A PNG of about 70 bytes that declares this size, one bit a pixel, with almost no data."""
    header = struct.pack(">IIBBBBB", width, height, 1, 0, 0, 0, 0)
    return (
        b"\x89PNG\r\n\x1a\n"
        + chunk(b"IHDR", header)
        + chunk(b"IDAT", zlib.compress(b"\0"))
        + chunk(b"IEND", b"")
    )


def two_in_one() -> bytes:
    """A camera file of two pictures (MPO): the first red, the second blue with the marker."""
    to = io.BytesIO()
    first, second = Image.new("RGB", (40, 30), (200, 30, 30)), Image.new("RGB", (40, 30), (30, 30, 200))
    first.save(to, "MPO", save_all=True, append_images=[second])
    return to.getvalue()


def segments_of(data: bytes) -> list[int]:
    """Markers of a JPEG up to and with the scan, after ITU-T T.81 annex B; then what stands at the very end."""
    assert data[:2] == b"\xff\xd8"
    at, found = 2, [0xD8]
    while found[-1] != 0xDA:
        assert data[at] == 0xFF
        found.append(data[at + 1])
        at += 2 + int.from_bytes(data[at + 2 : at + 4], "big")
    return [*found, data[-1]]


def chunks_of(data: bytes) -> list[str]:
    """Kinds of a PNG's chunks; the last must end the file."""
    at, found = 8, []
    while at < len(data):
        length = int.from_bytes(data[at : at + 4], "big")
        found.append(data[at + 4 : at + 8].decode("ascii"))
        at += 12 + length
    assert at == len(data)
    return found


def carries(data: bytes, text: str = MARKER) -> bool:
    """Does the text stand in the bytes, plain or as UTF-16?"""
    return any(text.encode(code) in data for code in ("utf-8", "utf-16-le", "utf-16-be"))
