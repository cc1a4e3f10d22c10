"""Pixels only: orientation once, sRGB, first picture, whole files, and nothing that could name anybody.

The families follow public bug reports of imaging libraries and web applications, named beside each.
"""

from __future__ import annotations

import io

import pytest
from hypothesis import given
from hypothesis import strategies as st
from PIL import Image, ImageCms

from imaging.deidentify import SRGB_PROFILE, PictureRefused, clean, encoded
from imaging.intake_limits import LARGEST_BYTES, LARGEST_PIXELS
from tests.imaging.made_pictures import (
    DATE,
    MARKER,
    carries,
    chunks_of,
    corner,
    declared_png,
    jpeg,
    marked_jpeg,
    marked_png,
    noise,
    png,
    segments_of,
    turned,
    two_in_one,
)


def refusal(data: bytes) -> str:
    with pytest.raises(PictureRefused) as refused:
        clean(data)
    return refused.value.reason


def near(pixel: object, wanted: tuple[int, int, int], within: int = 12) -> bool:
    assert isinstance(pixel, tuple)
    return all(abs(a - b) <= within for a, b in zip(pixel, wanted, strict=True))


# Orientation: Pillow issues 4537 and 5546.
@pytest.mark.parametrize("orientation", range(1, 9))
def test_a_picture_is_turned_upright_once_and_a_second_pass_changes_nothing(orientation: int) -> None:
    first = clean(turned(orientation))
    assert first.pixels.size == (60, 40) == (first.width, first.height)
    assert near(first.pixels.getpixel((4, 4)), (220, 20, 20))
    assert near(first.pixels.getpixel((55, 35)), (255, 255, 255))
    again = clean(encoded(first.pixels, "PNG"))
    assert again.pixels.tobytes() == first.pixels.tobytes()
    sent_again = encoded(first.pixels, "JPEG")
    with Image.open(io.BytesIO(sent_again)) as exported:
        assert exported.getexif().get(0x0112) is None
        assert clean(sent_again).pixels.tobytes() == exported.convert("RGB").tobytes()


# Formats refused by name: SVG after multica-ai/multica issue 3022.
@pytest.mark.parametrize(
    ("data", "name"),
    [
        (b"\x00\x00\x00\x18ftypavif\x00\x00\x00\x00mif1avif" + bytes(100), "AVIF"),
        (b'<svg xmlns="http://www.w3.org/2000/svg" onload="alert(1)"/>', "SVG"),
        (b'<?xml version="1.0"?>\n<!-- x -->\n<svg onload="alert(1)"></svg>', "SVG"),
        (b"%!PS-Adobe-3.0 EPSF-3.0\n", "EPS"),
        (b"%PDF-1.7\n", "PDF"),
        (b"GIF89a" + bytes(100), "GIF"),
        (b"PK\x03\x04" + bytes(100), "ZIP"),
        (b"just words", "neither a JPEG, PNG"),
        (b"\x00", "neither a JPEG, PNG"),
    ],
)
def test_other_kinds_of_file_are_refused_by_name_and_the_way_out_is_told(data: bytes, name: str) -> None:
    assert name in refusal(data)
    assert "JPEG or PNG" in refusal(data)


@pytest.mark.parametrize("kind", ["EPS", "GIF", "BMP", "JPEG2000"])
def test_what_the_library_itself_would_open_is_refused(kind: str) -> None:
    to = io.BytesIO()
    corner().save(to, kind)
    assert "not taken" in refusal(to.getvalue())


# CMYK: Kozea/WeasyPrint pull request 2179, lovell/sharp issue 1649.
def test_red_in_cmyk_stays_red_with_and_without_the_adobe_segment() -> None:
    red = Image.new("CMYK", (32, 32), (0, 255, 255, 0))
    with_adobe = jpeg(red)
    assert b"Adobe" in with_adobe
    # Without the segment, values mean ink: the library wrote them inverted for Adobe's sake.
    inverted = Image.new("CMYK", (32, 32), (255, 0, 0, 255))
    source = jpeg(inverted)
    at = source.index(b"Adobe") - 4
    without = source[:at] + source[at + 2 + int.from_bytes(source[at + 2 : at + 4], "big") :]
    assert b"Adobe" not in without
    for data in (with_adobe, without):
        found = clean(data).pixels.getpixel((16, 16))
        assert near(found, (255, 0, 0), 40), found


def test_a_bogus_profile_is_left_behind_and_the_picture_kept() -> None:
    red = Image.new("CMYK", (32, 32), (0, 255, 255, 0))
    wrong = ImageCms.ImageCmsProfile(ImageCms.createProfile("sRGB")).tobytes()
    for profile in (b"no profile at all" * 20, wrong):
        cleaned = clean(jpeg(red, icc_profile=profile))
        assert near(cleaned.pixels.getpixel((16, 16)), (255, 0, 0), 40)
        assert "colour profile" in cleaned.removed


def test_colours_go_through_the_embedded_profile() -> None:
    # A Lab profile on RGB pixels is refused by the colour engine; an XYZ-like one is not at hand. A profile with
    # swapped red and blue primaries shows that the profile is used at all.
    made = bytearray(ImageCms.ImageCmsProfile(ImageCms.createProfile("sRGB")).tobytes())
    count = int.from_bytes(made[128:132], "big")
    entries = {bytes(made[132 + 12 * n : 136 + 12 * n]): 132 + 12 * n for n in range(count)}
    red, blue = entries[b"rXYZ"], entries[b"bXYZ"]
    made[red : red + 4], made[blue : blue + 4] = b"bXYZ", b"rXYZ"
    cleaned = clean(png(Image.new("RGB", (8, 8), (250, 10, 10)), icc_profile=bytes(made)))
    found = cleaned.pixels.getpixel((4, 4))
    assert isinstance(found, tuple)
    assert found[2] > 200 > 60 > found[0]


# Two pictures in one file: Pillow issues 1138 and 4603.
def test_a_camera_file_of_two_pictures_gives_the_first() -> None:
    data = two_in_one()
    with Image.open(io.BytesIO(data)) as opened:
        assert opened.format == "MPO"
    cleaned = clean(data)
    assert near(cleaned.pixels.getpixel((20, 15)), (200, 30, 30))
    assert "further picture behind the first" in cleaned.removed
    assert encoded(cleaned.pixels, "JPEG").count(b"\xff\xd8\xff") == 1


# 16 bits: Pillow issues 2574 and 1108.
def test_a_grey_picture_of_16_bits_keeps_its_greys() -> None:
    ramp = Image.new("I;16", (256, 256))
    ramp.putdata(list(range(65536)))
    assert len(set(clean(png(ramp)).pixels.getchannel("G").tobytes())) >= 200


def test_a_radiograph_of_12_bits_in_16_does_not_turn_black() -> None:
    ramp = Image.new("I;16", (64, 64))
    ramp.putdata(list(range(4096)))
    assert clean(png(ramp)).pixels.getchannel("R").getextrema() == (0, 255)


@pytest.mark.parametrize("mode", ["1", "L", "LA", "P", "RGB", "RGBA"])
def test_every_kind_of_png_becomes_rgb_on_white(mode: str) -> None:
    picture = corner().convert(mode)
    assert clean(png(picture)).pixels.mode == "RGB"
    clear = Image.new("RGBA", (8, 8), (0, 0, 0, 0))
    assert clean(png(clear)).pixels.getpixel((4, 4)) == (255, 255, 255)


# Truncated: Pillow issues 2717 and 4414; Django's own field accepts the half file.
@pytest.mark.parametrize("progressive", [False, True])
@pytest.mark.parametrize("share", [0.02, 0.5, 0.98, 0.9999])
def test_a_jpeg_that_was_cut_off_is_refused(progressive: bool, share: float) -> None:
    data = jpeg(noise(), progressive=progressive)
    assert "incomplete" in refusal(data[: int(len(data) * share)])


@given(st.integers(min_value=1, max_value=10**6))
def test_a_picture_cut_anywhere_is_never_taken(where: int) -> None:
    for data in (jpeg(corner()), png(corner())):
        with pytest.raises(PictureRefused):
            clean(data[: where % len(data)])


@given(st.binary(max_size=300))
def test_bytes_of_any_kind_are_refused_in_words(data: bytes) -> None:
    for start in (
        b"",
        b"\xff\xd8\xff",
        b"\x89PNG\r\n\x1a\n",
        b"II*\x00",
        b"MM\x00*",
        b"\x00\x00\x00\x18ftypheic\x00\x00\x00\x00mif1heic",
        b"RIFF\x10\x00\x00\x00WEBPVP8 ",
        bytes(128) + b"DICM",
    ):
        assert refusal(start + data).endswith((".", "that."))


def test_a_png_with_a_damaged_chunk_is_refused() -> None:
    data = bytearray(png(corner()))
    data[data.index(b"IDAT") + 6] ^= 0xFF
    assert "damaged" in refusal(bytes(data))


# Small file, enormous picture: Pillow issue 515, OWASP ASVS 5.0 item 5.2.6.
@pytest.mark.parametrize("side", [10_000, 20_000, 60_000])
def test_an_enormous_picture_is_refused_by_its_declared_size(side: int) -> None:
    said = refusal(declared_png(side, side))
    assert f"{side} x {side}" in said
    assert f"{LARGEST_PIXELS // 1_000_000} million" in said


def test_an_enormous_jpeg_is_refused_by_its_declared_size() -> None:
    data = bytearray(jpeg(corner()))
    at = data.index(b"\xff\xc0")
    data[at + 5 : at + 9] = b"\xff\xff\xff\xff"
    assert "65535 x 65535" in refusal(bytes(data))


def test_a_file_of_too_many_bytes_is_refused() -> None:
    assert "at most 40 MB" in refusal(jpeg(corner()) + bytes(LARGEST_BYTES))


# Empty: immich-app/immich issue 29416.
def test_an_empty_file_is_refused() -> None:
    assert "empty" in refusal(b"")


# Content behind the picture: Django documentation, security topic, user-uploaded content.
@pytest.mark.parametrize("picture", [jpeg(corner()), png(corner())], ids=["jpeg", "png"])
@pytest.mark.parametrize(
    "tail", [b"<script>alert(1)</script>", b"<HTML>", b"<?php x ?>", b"%PDF-1.7", b"\0<svg onload=x>"]
)
def test_a_picture_with_another_file_behind_it_is_refused(picture: bytes, tail: bytes) -> None:
    assert "hidden behind the picture" in refusal(picture + tail)


def test_a_picture_that_is_also_an_archive_is_refused() -> None:
    import zipfile

    to = io.BytesIO(jpeg(corner()))
    with zipfile.ZipFile(to, "a") as archive:
        archive.writestr("a.txt", "words")
    assert "ZIP" in refusal(to.getvalue())


def test_zeros_behind_the_end_are_dropped_without_a_word() -> None:
    assert clean(jpeg(corner()) + bytes(64)).removed == ()


# What may stand in an output: the places where identifiers hide in JPEG and PNG files.
@pytest.mark.parametrize("source", [marked_jpeg(), marked_png()], ids=["jpeg", "png"])
def test_nothing_but_pixels_leaves(source: bytes) -> None:
    assert carries(source)
    assert carries(source, DATE)
    pixels = clean(source).pixels
    as_jpeg, as_png = encoded(pixels, "JPEG"), encoded(pixels, "PNG")
    for output in (as_jpeg, as_png):
        assert not carries(output)
        assert not carries(output, DATE)
    # SOI, JFIF, sRGB profile, tables, frame, tables, scan; the file ends with the end marker
    assert set(segments_of(as_jpeg)) == {0xD8, 0xE0, 0xE2, 0xDB, 0xC0, 0xC4, 0xDA, 0xD9}
    assert as_jpeg.endswith(b"\xff\xd9")
    assert as_jpeg.count(b"\xff\xd8\xff") == 1
    assert as_jpeg.count(b"Exif") == as_jpeg.count(b"ns.adobe") == 0
    assert set(chunks_of(as_png)) == {"IHDR", "iCCP", "IDAT", "IEND"}
    for output in (as_jpeg, as_png):
        with Image.open(io.BytesIO(output)) as opened:
            assert opened.info["icc_profile"] == SRGB_PROFILE


def test_the_profile_is_always_the_same_and_undated() -> None:
    assert SRGB_PROFILE[24:36] == bytes(12)
    words = ImageCms.getProfileDescription(ImageCms.ImageCmsProfile(io.BytesIO(SRGB_PROFILE)))
    assert words.strip() == "sRGB built-in"


def test_what_was_left_behind_is_listed_by_name_and_never_by_content() -> None:
    of_jpeg, of_png = clean(marked_jpeg()).removed, clean(marked_png()).removed
    assert {
        "Exif",
        "Exif Artist",
        "Exif Copyright",
        "Exif MakerNote",
        "Exif BodySerialNumber",
        "Exif DateTimeOriginal",
        "Exif GPSDateStamp",
        "XMP",
        "Photoshop and IPTC block",
        "comment",
        "colour profile",
        "further picture behind the first",
    } <= set(of_jpeg)
    assert {"text", "Exif", "private chunk", "bytes behind the end"} <= set(of_png)
    assert MARKER not in " ".join([*of_jpeg, *of_png])
    assert len(set(of_jpeg)) == len(of_jpeg)


def test_damaged_exif_costs_nobody_the_picture() -> None:
    cleaned = clean(jpeg(corner(), exif=b"Exif\x00\x00II*\x00\xff\xff\xff\x7f" + b"x" * 40))
    assert cleaned.pixels.size == (60, 40)
    assert "Exif" in cleaned.removed


def test_a_smaller_copy_keeps_the_shape_and_the_whole_file_is_read() -> None:
    data = jpeg(noise((900, 600)))
    cleaned = clean(data, longest=300)
    assert cleaned.pixels.size == (300, 200)
    assert (cleaned.width, cleaned.height) == (900, 600)
    with pytest.raises(PictureRefused):
        clean(data[: len(data) * 9 // 10], longest=300)
    assert clean(jpeg(corner()), longest=2400).pixels.size == (60, 40)
