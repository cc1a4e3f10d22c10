"""What a TIFF file says before it is decoded: pages, size, coding, and the names of its further fields.

Structure after TIFF revision 6.0 (sections 2, 4 to 10 and 14) and its supplements on Deflate; BigTIFF alike.
"""

import io
import logging
import zlib
from collections.abc import Iterator
from typing import Any

import numpy as np
import tifffile
from PIL import Image

from imaging.intake_limits import (
    DAMAGED,
    INCOMPLETE,
    MOST_FRAMES,
    PictureRefused,
    Structure,
    with_tail,
    within_limit,
)
from imaging.tiff_fields import within_bounds

logging.getLogger("tifffile").addHandler(logging.NullHandler())
logging.getLogger("tifffile").propagate = False

TIFF_STARTS = (b"II*\x00", b"MM\x00*", b"II+\x00", b"MM\x00+")
EXPORT = "Export it as PNG, or as TIFF without compression, and send that."
CODINGS = {1: "none", 5: "LZW", 8: "Deflate", 32773: "PackBits", 32946: "Deflate"}
WHITE_IS_ZERO, BLACK_IS_ZERO, RGB, PALETTE, INKS = 0, 1, 2, 3, 5
_WAYS = {
    WHITE_IS_ZERO: (1, 4, 8, 16),
    BLACK_IS_ZERO: (1, 4, 8, 16),
    RGB: (8, 16),
    PALETTE: (4, 8),
    INKS: (8,),
}
"""Bits for each sample that are taken of each way to mean colours (tag PhotometricInterpretation)."""
SAMPLES = {WHITE_IS_ZERO: (1, 2), BLACK_IS_ZERO: (1, 2), RGB: (3, 4), PALETTE: (1,), INKS: (4,)}
"""Samples for each pixel: the colours, and one for clear places."""
REDUCED, MASK = 1, 4
ASSOCIATED, UNASSOCIATED = 1, 2
"""What a fourth sample of colour is (TIFF 6.0 page 31): clear places, by which the colours are multiplied or not."""
PROFILE = 34675
"""Colour profile (ICC.1 annex B.4)."""
RESOLUTION, RESOLUTION_UNIT, INCH, CENTIMETRE = (282, 283), 296, 2, 3
PLAIN, DEFLATE = 1, (8, 32946)
UNPACKED_HERE = (PLAIN, *DEFLATE)
"""Codings of 16-bit samples that numpy takes in; the others go to libtiff, which knows one order of bytes only."""
NEGATIVE = "lowest value is white"
"""Key of `info` of a picture of 16-bit greys whose sense is yet to be turned over."""
ORIENTATION = 274
UPRIGHT = {
    2: Image.Transpose.FLIP_LEFT_RIGHT,
    3: Image.Transpose.ROTATE_180,
    4: Image.Transpose.FLIP_TOP_BOTTOM,
    5: Image.Transpose.TRANSPOSE,
    6: Image.Transpose.ROTATE_270,
    7: Image.Transpose.TRANSVERSE,
    8: Image.Transpose.ROTATE_90,
}
"""What brings a picture of each orientation value upright (TIFF 6.0 page 36; Exif takes it over)."""
QUARTERS = (5, 6, 7, 8)
"""Orientations that exchange across and down."""
# Tags that only say how the pixels are stored (TIFF 6.0 appendix A), or are kept; all others are listed as left behind.
_STRUCTURE = frozenset(
    map(
        int,
        "254 255 256 257 258 259 262 263 266 273 274 277 278 279 280 281 284 288 289 290 291 317 318 319 320 321 322 "
        "323 324 325 332 334 338 339 340 341 282 283 296".split(),
    )
)


def tiff(data: bytes) -> Structure:
    """Structure of a TIFF; of several full pages the one that is taken is chosen later. Raises PictureRefused."""
    end = within_bounds(data)
    try:
        with tifffile.TiffFile(io.BytesIO(data)) as file:
            found = [page for _, page in zip(range(MOST_FRAMES + 1), file.pages, strict=False)]
            return _looked_through(found, data, end)
    except PictureRefused:
        raise
    except Exception as error:  # the parser raises what it meets: TiffFileError, struct.error, ...
        raise PictureRefused(DAMAGED) from error


def upright(data: bytes, page: int) -> Image.Image:
    """One page, by its place in the file from 0, decoded and upright; deep colours come in 8 bits, greys in all theirs.

    Raises OSError or ValueError for what is damaged.
    """
    with tifffile.TiffFile(io.BytesIO(data)) as file:
        here: Any = file.pages[page]
        way, coding, bits = int(here.photometric), int(here.compression), int(here.bitspersample)
        turned = _whole(here, ORIENTATION)
        dpi = _resolution(here)[:: -1 if turned in QUARTERS else 1]
        profile = here.tags.get(PROFILE)
        values = None
        if bits == 16 and coding in UNPACKED_HERE:
            _unpacks_within_bounds(here, data)
            values = here.asarray(maxworkers=1)
    if values is not None:
        picture = _of_values(values, way, here)
        picture = picture.transpose(UPRIGHT[turned]) if turned in UPRIGHT else picture
        if profile and isinstance(profile.value, bytes):
            picture.info["icc_profile"] = profile.value
    else:
        picture = _unpacked_by_library(data, page)
    picture.info["dpi"] = dpi
    # Greys of 8 bits were turned over by the library; those of 16 are when they become 8.
    picture.info[NEGATIVE] = way == WHITE_IS_ZERO and picture.mode.startswith("I")
    return picture


def _unpacked_by_library(data: bytes, page: int) -> Image.Image:
    with Image.open(io.BytesIO(data), formats=["TIFF"]) as opened:
        opened.seek(page)
        opened.load()  # which also turns it
    return opened


def _whole(page: Any, tag: int) -> int:
    """The whole number of a tag; 0 where it is missing or none."""
    found = page.tags.get(tag)
    return found.value if found and isinstance(found.value, int) else 0


def _resolution(page: Any) -> tuple[float, float]:
    """Pixels an inch across and down, as the file lies (TIFF 6.0 page 38); zeros without a unit of length."""
    unit = page.tags.get(RESOLUTION_UNIT)
    inches = {INCH: 1.0, CENTIMETRE: 2.54}.get(INCH if unit is None else _whole(page, RESOLUTION_UNIT), 0.0)
    found = [page.tags.get(tag) for tag in RESOLUTION]
    across, down = (_share(tag.value) * inches if tag else 0.0 for tag in found)
    return across, down


def _share(value: Any) -> float:
    """A rational number of a tag; 0 for none."""
    match value:
        case (int(above), int(below)) if below:
            return above / below
    return 0.0


def _unpacks_within_bounds(page: Any, data: bytes) -> None:
    """Refuse a deflated strip or tile that holds more than its share of the picture: it could fill the memory."""
    if int(page.compression) not in DEFLATE:
        return
    rows = page.tilelength if page.is_tiled else min(int(page.rowsperstrip), int(page.imagelength))
    wide = page.tilewidth if page.is_tiled else page.imagewidth
    most = int(wide) * int(rows) * int(page.samplesperpixel) * 2
    for at, count in zip(page.dataoffsets, page.databytecounts, strict=True):
        unpacker = zlib.decompressobj()
        unpacker.decompress(data[at : at + count], most + 1)
        if not unpacker.eof:
            raise PictureRefused(DAMAGED)


def _of_values(values: Any, way: int, page: Any) -> Image.Image:
    """A picture of decoded 16-bit values: grey keeps them, colour keeps the upper 8 of each."""
    planes_first = int(page.planarconfig or 1) == 2
    if way in (WHITE_IS_ZERO, BLACK_IS_ZERO):
        grey = (
            values[0] if values.ndim == 3 and planes_first else values[..., 0] if values.ndim == 3 else values
        )
        return Image.fromarray(np.ascontiguousarray(grey, np.uint16))
    colours = np.moveaxis(values, 0, -1) if planes_first and values.ndim == 3 else values
    picture = Image.fromarray(np.ascontiguousarray(colours >> 8, dtype=np.uint8))
    clear = page.extrasamples[0] if picture.mode == "RGBA" and page.extrasamples else 0
    if clear == ASSOCIATED:
        return Image.frombytes("RGBa", picture.size, picture.tobytes()).convert("RGBA")
    return picture if clear == UNASSOCIATED else picture.convert("RGB")


def _looked_through(pages: list[Any], data: bytes, end: int) -> Structure:
    full = [number for number, page in enumerate(pages) if not int(page.subfiletype) & (REDUCED | MASK)]
    if not full or len(pages) > MOST_FRAMES:
        raise PictureRefused(DAMAGED if not full else f"The file has more than {MOST_FRAMES} pages. {EXPORT}")
    for number in full:
        _taken(pages[number], len(data))
    first = pages[full[0]]
    beside = list(dict.fromkeys(name for page in pages for name in _names(page)))
    if len(full) > 1:
        beside.append("further pages")
    if len(full) < len(pages):
        beside.append("preview picture")
    for page in pages:
        end = max(
            end, *(at + count for at, count in zip(page.dataoffsets, page.databytecounts, strict=False)), 0
        )
    return Structure(
        "TIFF", first.imagewidth, first.imagelength, with_tail(beside, data[end:]), pages=tuple(full)
    )


def _taken(page: Any, length: int) -> None:
    """Refuse a page whose coding is not taken, whose size is too large, or whose pixels are not all there."""
    way, bits, samples = int(page.photometric), int(page.bitspersample), int(page.samplesperpixel)
    coding = int(page.compression)
    if coding not in CODINGS:
        name = getattr(page.compression, "name", "a coding that is not known")
        raise PictureRefused(f"This TIFF is compressed as {name}, which is not taken. {EXPORT}")
    if way not in _WAYS or bits not in _WAYS[way] or int(page.sampleformat) != 1:
        kind = {2: "signed", 3: "floating-point"}.get(int(page.sampleformat), "plain")
        colours = getattr(page.photometric, "name", "unknown")
        raise PictureRefused(
            f"This TIFF has {kind} samples of {bits} bits and colours of the kind {colours}. Taken are grey of up to "
            f"16 bits, colour of 8 and 16, palettes and inks of 8. {EXPORT}"
        )
    planar = int(page.planarconfig or 1) == 2 and samples > 1
    if bits == 16 and coding not in UNPACKED_HERE and (planar or page.parent.byteorder == ">"):
        raise PictureRefused(
            f"This TIFF has {CODINGS[coding]} samples of 16 bits in an order that is not taken. {EXPORT}"
        )
    if samples not in SAMPLES[way]:
        raise PictureRefused(f"This TIFF has {samples} samples for each pixel, which is not taken. {EXPORT}")
    wide, high = int(page.imagewidth), int(page.imagelength)
    within_limit(wide, high, bytes_each(way, bits, samples), "a TIFF of this kind")
    if page.is_tiled:
        within_limit(
            int(page.tilewidth), int(page.tilelength), bytes_each(way, bits, samples), "a TIFF of this kind"
        )
    offsets, counts = page.dataoffsets, page.databytecounts
    if not offsets or len(offsets) != len(counts):
        raise PictureRefused(DAMAGED)
    if any(at + count > length for at, count in zip(offsets, counts, strict=True)):
        raise PictureRefused(INCOMPLETE)
    if len(counts) < _pieces(page, wide, high, samples):
        raise PictureRefused(INCOMPLETE)
    if coding == PLAIN and not page.is_tiled and sum(counts) < -(-wide * samples * bits // 8) * high:
        raise PictureRefused(INCOMPLETE)


def _pieces(page: Any, wide: int, high: int, samples: int) -> int:
    """Strips or tiles the page must have."""
    planes = samples if int(page.planarconfig or 1) == 2 else 1
    if page.is_tiled:
        return planes * -(-wide // int(page.tilewidth)) * -(-high // int(page.tilelength))
    return planes * -(-high // max(1, min(int(page.rowsperstrip), high)))


def bytes_each(way: int, bits: int, samples: int) -> int:
    """Bytes a pixel in memory: the decoded samples and the copy that becomes the picture shown."""
    if way in (WHITE_IS_ZERO, BLACK_IS_ZERO):
        return 4 if bits == 16 else 2
    if way == RGB and samples == 3 and bits == 8:
        return 6
    return 8 if bits <= 8 else 16


def _names(page: Any) -> Iterator[str]:
    """Names of the tags beside the pixels, never what stands in them; numbers nobody registered are private."""
    for tag in page.tags:
        if tag.code in _STRUCTURE:
            continue
        known = tifffile.TIFF.TAGS.get(int(tag.code), "")
        yield f"TIFF {known}" if known else "private TIFF field"
