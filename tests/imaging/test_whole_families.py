"""Faults that were reported of other programs, each as a whole family: orientation, inks, depth, bombs, names, litter."""

from __future__ import annotations

import io
import struct
import zlib
from contextlib import suppress
from pathlib import Path
from typing import Any

import pytest
from django.http import UnreadablePostError
from django.test import Client
from django.urls import reverse
from PIL import Image, PngImagePlugin

from accounts.models import User
from filing.models import StoredFile
from filing.selectors import open_bytes
from imaging import services
from imaging.deidentify import SRGB_PROFILE, PictureRefused, clean
from portfolio.models import RecordItem, RecordSet
from tests.factories.accounts import person, signed_in
from tests.factories.imaging import taken
from tests.factories.portfolio import case_of, record_set_of
from tests.imaging.made_pictures import chunk, corner, declared_png, jpeg, noise, png, segment, turned

RED = (220, 20, 20)
XMP = '<x:xmpmeta><rdf:Description tiff:Orientation="{}"/></x:xmpmeta>'


@pytest.fixture
def owner(db: None) -> User:
    return person()


@pytest.fixture
def record_set(owner: User) -> RecordSet:
    return record_set_of(case_of(owner))


def read(file: StoredFile | None) -> bytes:
    assert file is not None
    with open_bytes(file) as stream:
        return stream.read()


def red_at_upper_left(picture: Image.Image) -> bool:
    found, far = picture.getpixel((3, 3)), picture.getpixel((picture.width - 4, picture.height - 4))
    assert isinstance(found, tuple)
    assert isinstance(far, tuple)
    return abs(found[0] - RED[0]) < 25 and found[1] < 60 and min(far) > 230


def raw_png(size: tuple[int, int], depth: int, colours: int, rows: bytes) -> bytes:
    header = struct.pack(">IIBBBBB", *size, depth, colours, 0, 0, 0)
    return (
        b"\x89PNG\r\n\x1a\n"
        + chunk(b"IHDR", header)
        + chunk(b"IDAT", zlib.compress(rows))
        + chunk(b"IEND", b"")
    )


# Orientation: Pillow issues 4537 and 5546; Mosquito-Alert/mosquito_alert issue 52.
@pytest.mark.parametrize("orientation", range(1, 9))
def test_the_apps_own_export_sent_again_stays_as_it_is(
    owner: User, record_set: RecordSet, orientation: int
) -> None:
    first = taken(owner, record_set, turned(orientation))
    for file in (first.print_file, first.screen_file):
        sent = read(file)
        with Image.open(io.BytesIO(sent)) as exported:
            assert exported.getexif().get(0x0112, 1) == 1
            again = clean(sent)
            assert red_at_upper_left(again.pixels)
            assert again.pixels.tobytes() == exported.convert("RGB").tobytes()


@pytest.mark.parametrize("orientation", range(1, 9))
def test_orientation_in_a_png_or_in_xmp_is_honoured_once(orientation: int) -> None:
    with Image.open(io.BytesIO(turned(orientation))) as lying:
        pixels, exif = lying.convert("RGB"), lying.getexif()
    words = PngImagePlugin.PngInfo()
    words.add_itxt("XML:com.adobe.xmp", XMP.format(orientation))
    for data in (
        png(pixels, exif=exif),
        png(pixels, pnginfo=words),
        png(pixels, exif=exif, pnginfo=words),
        jpeg(pixels, xmp=XMP.format(orientation).encode()),
        jpeg(pixels, exif=exif, xmp=XMP.format(orientation).encode()),
    ):
        assert red_at_upper_left(clean(data).pixels)


@pytest.mark.parametrize("value", [0, 9, 65535])
def test_an_orientation_that_does_not_exist_turns_nothing(value: int) -> None:
    exif = Image.Exif()
    exif[0x0112] = value
    assert red_at_upper_left(clean(jpeg(corner(), exif=exif)).pixels)


def test_a_turned_camera_file_of_three_pictures_gives_the_first_upright(
    owner: User, record_set: RecordSet
) -> None:
    to, exif = io.BytesIO(), Image.Exif()
    exif[0x0112] = 6
    others = [Image.new("RGB", (60, 40), (0, 0, 250)), Image.new("RGB", (60, 40), (0, 250, 0))]
    lying = corner().transpose(Image.Transpose.ROTATE_90)
    lying.save(to, "MPO", save_all=True, append_images=others, exif=exif, quality=95)
    item = taken(owner, record_set, to.getvalue(), "photo.jpg")
    for file in (item.print_file, item.screen_file):
        made = read(file)
        assert made.count(b"\xff\xd8\xff") == 1
        with Image.open(io.BytesIO(made)) as opened:
            assert opened.format == "JPEG"
            assert red_at_upper_left(opened)


# Inks: Kozea/WeasyPrint pull request 2179, lovell/sharp issue 1649, cgwire/zou pull request 1188.
@pytest.mark.parametrize("profile", [None, b"no profile" * 30, SRGB_PROFILE])
def test_red_inks_are_red_on_screen_and_in_print(
    owner: User, record_set: RecordSet, profile: bytes | None
) -> None:
    how = {"icc_profile": profile} if profile else {}
    item = taken(owner, record_set, jpeg(Image.new("CMYK", (64, 64), (0, 255, 255, 0)), **how))
    for file in (item.print_file, item.screen_file):
        with Image.open(io.BytesIO(read(file))) as opened:
            assert opened.mode == "RGB"
            assert opened.info["icc_profile"] == SRGB_PROFILE
            red, green, blue = opened.getpixel((32, 32))  # type: ignore[misc]  # RGB gives three numbers
            assert red > 200
            assert max(green, blue) < 60


# Depth: Pillow issues 2574 and 1108.
def test_sixteen_bits_of_grey_keep_200_levels_on_screen_and_in_print(
    owner: User, record_set: RecordSet
) -> None:
    ramp = Image.new("I;16", (256, 256))
    ramp.putdata(list(range(65536)))
    item = taken(owner, record_set, png(ramp))
    for file in (item.print_file, item.screen_file):
        with Image.open(io.BytesIO(read(file))) as opened:
            assert len(set(opened.getchannel("G").tobytes())) >= 200


@pytest.mark.parametrize(("colours", "samples"), [(0, 1), (2, 3), (4, 2), (6, 4)])
def test_every_kind_of_png_of_sixteen_bits_keeps_its_levels(colours: int, samples: int) -> None:
    row = b"".join(
        struct.pack(">H", value) * (samples - (colours in (4, 6)))
        + (b"\xff\xff" if colours in (4, 6) else b"")
        for value in range(0, 65536, 128)
    )
    data = raw_png((512, 4), 16, colours, (b"\0" + row) * 4)
    assert len(set(clean(data).pixels.getchannel("G").tobytes())) >= 200
    assert max(clean(data, longest=256).pixels.getchannel("R").tobytes()) > 250


# Bombs: Pillow issue 515, pull request 2583; OWASP ASVS 5.0 items 5.2.1 and 5.2.6.
@pytest.mark.parametrize(
    ("size", "depth", "colours", "most"),
    [
        ((10_000, 10_000), 1, 0, "80 million"),
        ((10_000, 10_000), 16, 0, "64 million"),
        ((7_000, 6_000), 8, 2, "26 million"),
        ((7_000, 6_000), 8, 3, "22 million"),
        ((5_000, 5_000), 8, 6, "14 million"),
        ((2**31, 2**31), 8, 2, "26 million"),
    ],
)
def test_what_would_take_too_much_memory_is_refused_by_its_header(
    size: tuple[int, int], depth: int, colours: int, most: str
) -> None:
    with pytest.raises(PictureRefused) as refused:
        clean(raw_png(size, depth, colours, b"\0"))
    assert f"{size[0]} x {size[1]}" in refused.value.reason
    assert most in refused.value.reason


def test_a_progressive_jpeg_that_would_take_too_much_memory_is_refused_by_its_header() -> None:
    for ratio, most in (("4:4:4", "21 million"), ("4:2:0", "35 million")):
        data = bytearray(jpeg(corner(), progressive=True, subsampling=ratio))
        at = data.index(b"\xff\xc2")
        data[at + 5 : at + 9] = struct.pack(">HH", 7_000, 8_000)
        with pytest.raises(PictureRefused, match=f"at most {most} are taken of a progressive JPEG"):
            clean(bytes(data))


@pytest.mark.parametrize("kind", [b"zTXt", b"iCCP"])
def test_a_bomb_in_a_chunk_of_words_is_refused_or_left_out(kind: bytes) -> None:
    plain, bomb = png(corner()), chunk(kind, b"x\0\0" + zlib.compress(bytes(80_000_000), 9))
    try:
        assert clean(plain[:33] + bomb + plain[33:]).pixels.size == (60, 40)
    except PictureRefused as refused:
        assert "damaged" in refused.reason  # noqa: PT017 both ends are right


@pytest.mark.parametrize("side", [10_000, 20_000])
def test_an_enormous_small_file_is_told_with_the_limit(owner: User, record_set: RecordSet, side: int) -> None:
    answer = services.add_picture(owner, record_set, "smile.png", declared_png(side, side))
    assert isinstance(answer, services.NotTaken)
    assert (answer.name, "80 million" in answer.reason) == ("smile.png", True)


# A script inside: Django documentation, security topic; multica-ai/multica issue 3022.
def test_a_page_inside_a_picture_does_not_leave_with_it(owner: User, record_set: RecordSet) -> None:
    page = b"<html><script>alert(1)</script></html>"
    words = PngImagePlugin.PngInfo()
    words.add_text("Comment", page.decode())
    for data in (jpeg(corner(), comment=page), png(corner(), pnginfo=words)):
        item = taken(owner, record_set, data)
        assert page in read(item.file)
        for file in (item.print_file, item.screen_file):
            assert b"script" not in read(file)


@pytest.mark.parametrize("name", ["tracing.svg", "tracing.png", "tracing.jpg"])
@pytest.mark.parametrize(
    "coded",
    [
        lambda words: words.encode(),
        lambda words: words.encode("utf-16"),
        lambda words: zlib.compress(words.encode()),
    ],
    ids=["plain", "two bytes", "packed"],
)
def test_a_drawing_with_a_script_is_refused_under_any_name(
    owner: User, record_set: RecordSet, name: str, coded: Any
) -> None:
    drawing = coded('<svg xmlns="http://www.w3.org/2000/svg" onload="alert(1)"/>')
    answer = services.add_picture(owner, record_set, name, drawing)
    assert isinstance(answer, services.NotTaken)
    assert answer.name == name
    assert not RecordItem.objects.exists()


# Hostile names: CVE-2021-28658, CVE-2021-31542.
@pytest.mark.parametrize(
    "name", ["../../evil.jpg", "..\\..\\a.png", "/etc/x", "C:\\a\\b.jpg", "a\x00b.jpg", "..", ""]
)
def test_a_hostile_name_in_a_form_is_never_a_fault(
    owner: User, record_set: RecordSet, settings: Any, name: str
) -> None:
    body = (
        b'--x\r\nContent-Disposition: form-data; name="pictures"; filename="' + name.encode() + b'"\r\n'
        b"Content-Type: image/jpeg\r\n\r\n" + jpeg(corner()) + b"\r\n--x--\r\n"
    )
    address = reverse("imaging:add", args=[record_set.public_id])
    answer = signed_in(owner).post(address, body, content_type="multipart/form-data; boundary=x")
    assert answer.status_code in (302, 400)
    root = Path(settings.DATA_DIR).resolve()
    assert all(root in path.resolve().parents for path in Path(settings.DATA_DIR).rglob("*"))
    # Django leaves a part without a name out; all others are taken under their last part.
    assert RecordItem.objects.count() == (0 if name in ("", "..") else 1)
    for item in RecordItem.objects.all():
        assert item.file is not None
        assert not {"/", "\\", "\x00"} & set(item.file.shown_name)


# Litter: un1t/django-cleanup issues 43, 87 and 112; immich-app/immich issues 13022 and 30878.
class CutOff(io.RawIOBase):
    """A connection that ends after so many bytes."""

    def __init__(self, data: bytes) -> None:
        self.left = io.BytesIO(data)
        self.broke = False

    def read(self, size: int = -1) -> bytes:
        if found := self.left.read(size):
            return found
        self.broke = True
        return b""  # as the server's reader does when the browser is gone


@pytest.mark.parametrize("share", [0.1, 0.5, 0.99])
def test_an_upload_that_is_cut_off_leaves_nothing(
    owner: User, record_set: RecordSet, settings: Any, tmp_path: Path, share: float
) -> None:
    settings.FILE_UPLOAD_TEMP_DIR = str(tmp_path)
    head = b'--x\r\nContent-Disposition: form-data; name="pictures"; filename="a.jpg"\r\n\r\n'
    body = head + jpeg(noise((1200, 1200))) + bytes(3_000_000) + b"\r\n--x--\r\n"
    browser = signed_in(owner)
    for _ in range(5):
        stream = send_cut_off(browser, reverse("imaging:add", args=[record_set.public_id]), body, share)
        assert stream.broke, "the upload was read to where it was cut off"
    assert list(tmp_path.iterdir()) == []
    assert not RecordItem.objects.exists()
    assert not StoredFile.objects.exists()


def send_cut_off(browser: Client, address: str, body: bytes, share: float) -> CutOff:
    stream = CutOff(body[: int(len(body) * share)])
    how: dict[str, Any] = {
        "wsgi.input": stream,
        "CONTENT_LENGTH": len(body),
        "CONTENT_TYPE": "multipart/form-data; boundary=x",
    }
    with suppress(UnreadablePostError):
        browser.generic("POST", address, b"", **how)
    return stream


@pytest.mark.django_db(transaction=True)
def test_a_failure_after_the_files_are_stored_keeps_no_row_and_the_sweep_takes_the_bytes(
    monkeypatch: pytest.MonkeyPatch,
) -> None:
    owner = person()
    record_set = record_set_of(case_of(owner))

    def fail(*_: object) -> None:
        raise RuntimeError

    monkeypatch.setattr(services, "add_item", fail)
    with pytest.raises(RuntimeError):
        services.add_picture(owner, record_set, "a.jpg", jpeg(corner()))
    assert not StoredFile.objects.exists()
    assert not RecordItem.objects.exists()


def test_private_blocks_of_any_number_are_left_behind() -> None:
    plain = jpeg(corner())
    blocks = b"".join(segment(0xE0 + number, b"QQPRIVATEQQ") for number in range(1, 16))
    cleaned = clean(plain[:2] + blocks + plain[2:])
    assert "APP9 block" in cleaned.removed
