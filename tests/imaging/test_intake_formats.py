"""TIFF, HEIC and WebP: upright once, whole files only, all greys, one page, pixels only.

The families follow public bug reports of imaging libraries and web applications, named beside each.
"""

from __future__ import annotations

import io
import tracemalloc
import zlib
from contextlib import suppress
from typing import Any

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st
from PIL import Image, ImageCms

from imaging.deidentify import FrameAsked, PictureRefused, clean, encoded
from tests.imaging.made_pictures import (
    DATE,
    MARKER,
    carries,
    chunks_of,
    corner,
    marked_exif,
    marked_profile,
    noise,
    turned,
)
from tests.imaging.made_radiographs import saved, tiff_of, turned_heic

RAMP = np.arange(65536, dtype=np.uint16).reshape(256, 256)
CODINGS = (None, "tiff_lzw", "tiff_adobe_deflate", "packbits")
LOSSLESS: dict[str, dict[str, Any]] = {"WEBP": {"lossless": True}, "TIFF": {}}


def refusal(data: bytes, frame: int | None = None) -> str:
    with pytest.raises(PictureRefused) as refused:
        clean(data, frame=frame)
    return refused.value.reason


def red_at_upper_left(data: bytes) -> bool:
    pixels = clean(data).pixels
    red, far = pixels.getpixel((3, 3)), pixels.getpixel((pixels.width - 4, pixels.height - 4))
    assert isinstance(red, tuple)
    assert isinstance(far, tuple)
    return red[0] > 180 and max(red[1:]) < 60 and min(far) > 230 and pixels.size == (60, 40)


# Orientation: Pillow issues 4537 and 5546; strukturag/libheif issue 227; bigcat88/pillow_heif issue 86.
@pytest.mark.parametrize("orientation", range(1, 9))
def test_a_heic_turned_by_its_container_is_upright_once_with_and_without_exif(orientation: int) -> None:
    for exif in (True, False):
        data = turned_heic(orientation, exif=exif)
        assert red_at_upper_left(data)
        again = encoded(clean(data).pixels, "PNG")
        assert clean(again).pixels.tobytes() == clean(data).pixels.tobytes()


@pytest.mark.parametrize("orientation", range(2, 9))
def test_exif_alone_does_not_turn_a_heic(orientation: int) -> None:
    """ISO/IEC 23008-12 annex A.2.2: the container's properties say how it is shown; phones' viewers go by them."""
    with Image.open(io.BytesIO(turned(orientation))) as lying:
        assert clean(turned_heic(orientation, container=False)).pixels.size == lying.size


@pytest.mark.parametrize("orientation", range(1, 9))
def test_a_tiff_is_turned_upright_once_at_any_depth(orientation: int) -> None:
    with Image.open(io.BytesIO(turned(orientation))) as opened:
        lying = opened.convert("RGB")
    assert red_at_upper_left(saved(lying, "TIFF", tiffinfo={274: orientation}))
    deep = np.asarray(lying).astype(np.uint16) * 257
    data = tiff_of(deep, photometric="rgb", extratags=[(274, 3, 1, orientation, True)])
    assert red_at_upper_left(data)
    grey = clean(tiff_of(deep[..., 1], photometric="minisblack", extratags=[(274, 3, 1, orientation, True)]))
    assert grey.pixels.size == (60, 40) == (grey.width, grey.height)
    assert grey.pixels.getpixel((3, 3)) < grey.pixels.getpixel((56, 36))  # type: ignore[operator]


@pytest.mark.parametrize("orientation", range(1, 9))
def test_a_webp_with_an_exif_orientation_is_turned_upright_once(orientation: int) -> None:
    with Image.open(io.BytesIO(turned(orientation))) as lying:
        data = saved(lying.convert("RGB"), "WEBP", lossless=True, exif=lying.getexif())
    assert red_at_upper_left(data)


# Depth: Pillow issues 2574 and 1108.
@pytest.mark.parametrize("photometric", ["minisblack", "miniswhite"])
@pytest.mark.parametrize(
    "how",
    [
        {},
        {"compression": "zlib"},
        {"byteorder": ">"},
        {"tile": (64, 64)},
        {"bigtiff": True},
        {"compression": "zlib", "byteorder": ">", "tile": (64, 64)},
        {"compression": "zlib", "byteorder": ">", "predictor": True},
    ],
)
def test_sixteen_bits_of_grey_keep_their_levels_and_their_sense(
    photometric: str, how: dict[str, Any]
) -> None:
    found = clean(tiff_of(RAMP, photometric=photometric, **how)).pixels.getchannel("G")
    assert len(set(found.tobytes())) >= 200
    ends = found.getpixel((0, 0)), found.getpixel((255, 255))
    assert ends == ((0, 255) if photometric == "minisblack" else (255, 0))


@pytest.mark.parametrize("white_is_zero", [False, True])
def test_sixteen_bits_of_grey_in_lzw_keep_their_levels_and_their_sense(white_is_zero: bool) -> None:
    data = saved(
        Image.fromarray(RAMP), "TIFF", compression="tiff_lzw", tiffinfo={262: 0} if white_is_zero else {}
    )
    found = clean(data).pixels.getchannel("G")
    assert len(set(found.tobytes())) >= 200
    with Image.open(io.BytesIO(data)) as opened:
        said = opened.tag_v2[262]  # type: ignore[attr-defined]  # of TIFF pictures
    assert (found.getpixel((0, 0)) == 255) == (said == 0)


@pytest.mark.parametrize("planes", ["contig", "separate"])
@pytest.mark.parametrize("coding", [None, "zlib"])
def test_sixteen_bits_of_colour_keep_their_levels(planes: str, coding: str | None) -> None:
    deep = np.stack([RAMP, RAMP[::-1], RAMP], axis=0 if planes == "separate" else -1)
    pixels = clean(tiff_of(deep, photometric="rgb", planarconfig=planes, compression=coding)).pixels
    assert len(set(pixels.getchannel("R").tobytes())) >= 200
    assert pixels.getpixel((0, 0)) == (0, 255, 0)


@pytest.mark.parametrize(("kind", "multiplied"), [("unassalpha", False), ("assocalpha", True)])
def test_clear_places_of_sixteen_bits_are_laid_on_white(kind: str, multiplied: bool) -> None:
    deep = np.zeros((40, 60, 4), np.uint16)
    deep[:, :30] = (65535, 0, 0, 65535)
    deep[:, 30:] = (0, 0, 0, 0) if multiplied else (65535, 0, 0, 0)
    pixels = clean(tiff_of(deep, photometric="rgb", extrasamples=[kind])).pixels
    assert (pixels.getpixel((5, 5)), pixels.getpixel((50, 5))) == ((255, 0, 0), (255, 255, 255))


def test_a_colour_profile_counts_at_any_depth() -> None:
    """A profile whose red and green are exchanged shows whether it was gone through."""
    other = ImageCms.ImageCmsProfile(ImageCms.createProfile("sRGB")).tobytes()
    red, green = other.index(b"rXYZ", 128), other.index(b"gXYZ", 128)
    swapped = bytearray(other)
    swapped[red : red + 4], swapped[green : green + 4] = b"gXYZ", b"rXYZ"
    colours = np.asarray(corner())
    shown = []
    for values in (colours, colours.astype(np.uint16) * 257):
        data = tiff_of(values, photometric="rgb", iccprofile=bytes(swapped))
        shown.append(clean(data).pixels.getpixel((3, 3)))
    assert shown[0] == shown[1] != corner().getpixel((3, 3))


def test_sixteen_bits_in_an_order_no_decoder_at_hand_knows_are_refused_by_name() -> None:
    data = tiff_of(RAMP, photometric="minisblack", byteorder=">")
    uncompressed = b"\x01\x03\x00\x03\x00\x00\x00\x01\x00\x01"
    assert data.count(uncompressed) == 1
    assert "LZW samples of 16 bits in an order" in refusal(
        data.replace(uncompressed, uncompressed[:-1] + b"\x05")
    )


def test_a_strip_that_unpacks_without_end_is_cut_off_at_what_it_may_hold() -> None:
    data = bytearray(tiff_of(RAMP, photometric="minisblack", compression="zlib"))
    bomb = zlib.compress(bytes(200_000_000), 9)
    with Image.open(io.BytesIO(data)) as opened:
        tags = opened.tag_v2  # type: ignore[attr-defined]  # of TIFF pictures
        places, counts = tags[273], tags[279]
    data += bomb
    for was, now in ((places[0], len(data) - len(bomb)), (counts[0], len(bomb))):
        old = was.to_bytes(4, "little")
        assert data.count(old)
        at = data.index(old)
        data[at : at + 4] = now.to_bytes(4, "little")
    tracemalloc.start()
    with suppress(PictureRefused):
        clean(bytes(data))
    assert tracemalloc.get_traced_memory()[1] < 20_000_000
    tracemalloc.stop()


def test_a_tiff_of_12_bits_in_16_does_not_turn_black() -> None:
    assert clean(tiff_of(RAMP >> 4, photometric="minisblack")).pixels.getextrema() == ((0, 255),) * 3


@pytest.mark.parametrize("mode", ["1", "L", "LA", "P", "RGB", "RGBA", "CMYK"])
@pytest.mark.parametrize("coding", CODINGS)
def test_every_kind_of_tiff_becomes_the_same_picture(mode: str, coding: str | None) -> None:
    pixels = clean(saved(corner(mode=mode), "TIFF", compression=coding)).pixels
    assert pixels.mode == "RGB"
    assert pixels.getpixel((55, 35)) == (255, 255, 255)
    red = pixels.getpixel((3, 3))
    assert isinstance(red, tuple)
    assert mode in ("1", "L", "LA") or (red[0] > 180 and max(red[1:]) < 60)


# Inks: Kozea/WeasyPrint pull request 2179.
@pytest.mark.parametrize("profile", [None, b"no profile" * 30])
def test_red_inks_in_a_tiff_are_red(profile: bytes | None) -> None:
    how = {"icc_profile": profile} if profile else {}
    found = clean(saved(Image.new("CMYK", (32, 32), (0, 255, 255, 0)), "TIFF", **how)).pixels.getpixel(
        (16, 16)
    )
    assert isinstance(found, tuple)
    assert found[0] > 200
    assert max(found[1:]) < 60


# Further pages: Pillow issues 1138 and 4603 and pydicom issue 614, for their like in a TIFF.
def test_a_tiff_of_several_pages_asks_and_gives_the_one_that_was_named() -> None:
    pages = [Image.new("RGB", (40 + n, 30), (200, 40 * n, 0)) for n in range(3)]
    data = saved(pages[0], "TIFF", save_all=True, append_images=pages[1:])
    for frame in (None, 4):
        with pytest.raises(FrameAsked, match="3 pages") as asked:
            clean(data, frame=frame)
        assert asked.value.frames == 3
    for frame in (1, 2, 3):
        taken = clean(data, frame=frame)
        assert taken.pixels.size == (39 + frame, 30) == (taken.width, taken.height)
        assert taken.facts == {"frame": frame, "frames": 3}
        assert "further pages" in taken.removed


def test_a_preview_inside_a_tiff_is_no_page() -> None:
    to = io.BytesIO()
    with tiff_writer(to) as file:
        file.write(np.asarray(corner()), photometric="rgb")
        file.write(np.asarray(corner((30, 20))), photometric="rgb", subfiletype=1)
    taken = clean(to.getvalue())
    assert taken.pixels.size == (60, 40)
    assert "preview picture" in taken.removed


def tiff_writer(to: io.BytesIO) -> Any:
    import tifffile

    return tifffile.TiffWriter(to)


def test_a_page_named_of_a_file_that_has_one_is_refused() -> None:
    assert "one page" in refusal(saved(corner(), "TIFF"), frame=2)
    assert clean(saved(corner(), "TIFF"), frame=1).facts == {}


def test_of_an_animated_webp_the_first_frame_is_taken() -> None:
    data = saved(corner(), "WEBP", save_all=True, lossless=True, append_images=[noise((60, 40))])
    assert red_at_upper_left(data)
    assert "further frames" in clean(data).removed


# What is not taken is refused by name, and the way out is told.
@pytest.mark.parametrize(
    ("data", "words"),
    [
        (saved(corner(), "TIFF", compression="jpeg"), "compressed as JPEG"),
        (tiff_of(RAMP.astype(np.float32)), "floating-point samples of 32 bits"),
        (tiff_of(RAMP.astype(np.int16)), "signed samples"),
        (tiff_of(RAMP.astype(np.uint32)), "samples of 32 bits"),
        (b"\x00\x00\x00\x18ftypavif\x00\x00\x00\x00mif1avif" + bytes(100), "AVIF"),
    ],
)
def test_other_ways_to_store_a_picture_are_refused_by_name(data: bytes, words: str) -> None:
    assert words in refusal(data)
    assert "Export it as" in refusal(data)


# Truncated: Pillow issues 2717 and 4414, and pull request 5921.
@pytest.mark.parametrize("coding", CODINGS)
@given(where=st.integers(min_value=1, max_value=10**7))
def test_a_tiff_cut_anywhere_is_refused_or_nothing_of_it_is_missing(coding: str | None, where: int) -> None:
    data = saved(noise((40, 30)), "TIFF", compression=coding)
    try:
        found = clean(data[: where % len(data)])
    except PictureRefused:
        return
    assert found.pixels.tobytes() == clean(data).pixels.tobytes()


@pytest.mark.parametrize("coding", CODINGS)
@pytest.mark.parametrize("deep", [False, True])
def test_a_tiff_whose_strip_ends_early_is_refused(coding: str | None, deep: bool) -> None:
    """The list of fields stands before the strip here, so only the strip itself is short."""
    whole = Image.fromarray(RAMP) if deep else noise((200, 100))
    data = bytearray(saved(whole, "TIFF", compression=coding))
    with Image.open(io.BytesIO(data)) as opened:
        counts = opened.tag_v2[279]  # type: ignore[attr-defined]  # of TIFF pictures
    last = counts[-1].to_bytes(4, "little")
    assert data.count(last) >= 1
    at = data.rindex(last)
    data[at : at + 4] = (counts[-1] // 2).to_bytes(4, "little")
    assert refusal(bytes(data))


@given(st.integers(min_value=1, max_value=10**7))
def test_a_heic_or_webp_cut_anywhere_is_never_taken(where: int) -> None:
    for data in (HEIC, WEBP, LOSSY_WEBP):
        with pytest.raises(PictureRefused):
            clean(data[: where % len(data)])


def test_a_webp_cut_inside_with_a_header_that_fits_again_is_refused() -> None:
    for data in (WEBP, LOSSY_WEBP):
        for share in (0.3, 0.6, 0.9):
            cut = data[: int(len(data) * share) // 2 * 2]
            cut = cut[:4] + (len(cut) - 8).to_bytes(4, "little") + cut[8:16]
            cut += (len(data[: int(len(data) * share) // 2 * 2]) - 20).to_bytes(4, "little")
            cut += data[20 : int(len(data) * share) // 2 * 2]
            assert "damaged" in refusal(cut) or "incomplete" in refusal(cut)


HEIC = saved(noise((64, 48)), "HEIF", quality=60)
WEBP = saved(noise((64, 48)), "WEBP", lossless=True)
LOSSY_WEBP = saved(noise((64, 48)), "WEBP", quality=60)


# Small file, enormous picture: Pillow issue 515, OWASP ASVS 5.0 item 5.2.6.
def test_an_enormous_tiff_is_refused_by_its_header() -> None:
    data = bytearray(saved(Image.new("L", (40, 30)), "TIFF"))
    with Image.open(io.BytesIO(data)) as opened:
        assert opened.size == (40, 30)
    for tag, old in ((256, 40), (257, 30)):
        head = tag.to_bytes(2, "little")
        at = next(
            n
            for n in range(len(data) - 12)
            if data[n : n + 2] == head and data[n + 8 : n + 10] == old.to_bytes(2, "little")
        )
        data[at + 2 : at + 4] = (4).to_bytes(2, "little")
        data[at + 8 : at + 12] = (20_000).to_bytes(4, "little")
    assert "20000 x 20000" in refusal(bytes(data))


def test_an_enormous_webp_is_refused_by_its_header() -> None:
    data = bytearray(saved(corner(), "WEBP", lossless=True, exif=marked_exif()))
    assert data[12:16] == b"VP8X"
    data[24:30] = (9_999).to_bytes(3, "little") * 2
    assert "10000 x 10000" in refusal(bytes(data))
    assert "WebP" in refusal(bytes(data))


def test_an_enormous_heic_is_refused_by_its_header() -> None:
    data = saved(corner((64, 64)), "HEIF", quality=60)
    said = b"ispe\0\0\0\0" + (64).to_bytes(4, "big") * 2
    assert said in data
    assert refusal(data.replace(said, b"ispe\0\0\0\0" + (16_000).to_bytes(4, "big") * 2))


# Content behind the picture: Django documentation, security topic.
@pytest.mark.parametrize("data", [HEIC, WEBP], ids=["heic", "webp"])
def test_another_file_behind_the_picture_is_refused_and_zeros_are_not(data: bytes) -> None:
    assert "hidden behind the picture" in refusal(data + b"<script>alert(1)</script>")
    assert clean(data + bytes(64)).removed == clean(data).removed


# Where identifiers hide: HEIC items, TIFF fields and private ones, WebP chunks.
def marked(kind: str) -> bytes:
    how: dict[str, Any] = {"exif": marked_exif(), "icc_profile": marked_profile()}
    if kind == "TIFF":
        how["tiffinfo"] = {270: MARKER, 305: MARKER, 315: MARKER, 306: DATE, 65000: MARKER}
        del how["exif"]
    else:
        how["xmp"] = f"<x:xmpmeta>{MARKER}</x:xmpmeta>".encode()
    return saved(corner(), {"HEIC": "HEIF"}.get(kind, kind), **how)


@pytest.mark.parametrize("kind", ["TIFF", "HEIC", "WEBP"])
def test_nothing_but_pixels_leaves_and_what_stays_behind_is_named(kind: str) -> None:
    data = marked(kind)
    assert carries(data)
    cleaned = clean(data)
    for made in (encoded(cleaned.pixels, "PNG"), encoded(cleaned.pixels, "JPEG")):
        assert not carries(made)
        assert not carries(made, DATE)
    assert set(chunks_of(encoded(cleaned.pixels, "PNG"))) == {"IHDR", "iCCP", "IDAT", "IEND"}
    assert cleaned.removed
    assert MARKER not in " ".join(cleaned.removed)
    named = {"TIFF": {"TIFF ImageDescription", "TIFF Artist", "TIFF DateTime", "private TIFF field"}}
    assert named.get(kind, {"Exif", "XMP", "colour profile", "Exif Artist"}) <= set(cleaned.removed)
    assert cleaned.facts == {}
