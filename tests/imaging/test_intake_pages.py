"""Taking in radiographs and phone pictures through the pages: asked frames, private originals, facts, inverting."""

from __future__ import annotations

import io
import json
from typing import Any

import numpy as np
import pytest
from django.core.files.uploadedfile import SimpleUploadedFile
from django.urls import reverse
from PIL import Image

from accounts.models import User
from filing.models import StoredFile
from filing.selectors import open_bytes
from imaging import dicom_files, file_kinds, heif_files, services, tiff_files, webp_files
from imaging.intake_limits import DECODED_BYTES, LARGEST_PIXELS
from portfolio.models import RecordItem, RecordSet
from portfolio.services import record_items
from tests.factories.accounts import person, signed_in
from tests.factories.imaging import taken
from tests.factories.portfolio import case_of, record_set_of
from tests.imaging.made_pictures import MARKER, carries, corner, marked_exif, noise
from tests.imaging.made_radiographs import BIRTH, dicom_of, marked_dicom, ramp, saved, tiff_of

pytestmark = pytest.mark.django_db
FRAMES = np.stack([np.roll(ramp(12, (40, 60)), 7 * n, axis=1) for n in range(3)])


@pytest.fixture
def owner() -> User:
    return person()


@pytest.fixture
def record_set(owner: User) -> RecordSet:
    return record_set_of(case_of(owner))


def read(file: StoredFile | None) -> bytes:
    assert file is not None
    with open_bytes(file) as stream:
        return stream.read()


def send(owner: User, record_set: RecordSet, data: bytes, **fields: str) -> Any:
    """What the page's script is told about one file."""
    answer = signed_in(owner).post(
        reverse("imaging:add", args=[record_set.public_id]),
        {"pictures": SimpleUploadedFile("one.dcm", data), **fields},
        headers={"X-Requested-With": "fetch"},
    )
    assert answer.status_code == 200
    return json.loads(answer.content)["files"][0]


@pytest.mark.parametrize(
    ("data", "stored_as", "printed_as"),
    [
        (marked_dicom(ramp(12, (300, 200))), "application/dicom", "image/png"),
        (
            tiff_of(ramp(16, (300, 200)), photometric="minisblack", description=MARKER),
            "image/tiff",
            "image/png",
        ),
        (saved(corner((300, 200)), "HEIF", exif=marked_exif()), "image/heic", "image/jpeg"),
        (saved(corner((300, 200)), "WEBP", exif=marked_exif()), "image/webp", "image/jpeg"),
    ],
    ids=["dicom", "tiff", "heic", "webp"],
)
def test_the_original_is_kept_as_it_came_and_the_renditions_are_pixels_only(
    owner: User, record_set: RecordSet, data: bytes, stored_as: str, printed_as: str
) -> None:
    item = taken(owner, record_set, data, f"{MARKER}.any")
    assert item.file is not None
    assert (read(item.file), item.file.media_type) == (data, stored_as)
    assert item.print_file is not None
    assert item.print_file.media_type == printed_as
    for file in (item.screen_file, item.print_file):
        made = read(file)
        assert not carries(made)
        assert not carries(made, BIRTH)
        with Image.open(io.BytesIO(made)) as opened:
            assert opened.size == (item.width, item.height)
    assert MARKER not in json.dumps([item.removed, item.file_facts])
    page = signed_in(owner).get(reverse("imaging:picture", args=[item.public_id])).content.decode()
    assert page.count(MARKER) == page.count(f"{MARKER}.any")
    assert BIRTH not in page


@pytest.mark.parametrize("rendition", ["screen", "print"])
def test_a_rendition_is_served_as_what_it_is_and_the_original_has_no_address(
    owner: User, record_set: RecordSet, rendition: str
) -> None:
    item = taken(owner, record_set, dicom_of(ramp(12)))
    answer = signed_in(owner).get(reverse("imaging:rendition", args=[item.public_id, rendition]))
    assert answer.headers["Content-Type"] in ("image/png", "image/jpeg")
    assert b"DICM" not in b"".join(answer)
    for other in ("original", "file"):
        assert (
            signed_in(owner).get(reverse("imaging:rendition", args=[item.public_id, other])).status_code
            == 404
        )


def test_a_file_of_three_frames_asks_and_takes_the_one_that_is_named(
    owner: User, record_set: RecordSet
) -> None:
    data = dicom_of(FRAMES, frames=3)
    told = send(owner, record_set, data)
    assert (told["kept"], told["frames"]) == (False, 3)
    assert "Say which, 1 to 3" in told["words"]
    assert not StoredFile.objects.exists()
    assert send(owner, record_set, data, frame="2")["kept"]
    assert RecordItem.objects.get().file_facts["frame"] == 2
    assert "frames" not in send(owner, record_set, data, frame="2")
    assert "already" in send(owner, record_set, data, frame="2")["words"]
    assert send(owner, record_set, data)["frames"] == 3
    assert send(owner, record_set, data, frame="3")["kept"]
    assert RecordItem.objects.count() == 2


@pytest.mark.parametrize("typed", ["0", "-1", "two", "1.5", "12345", "٣"])
def test_a_frame_that_is_no_number_is_told_and_nothing_is_taken(
    owner: User, record_set: RecordSet, typed: str
) -> None:
    assert "whole number from 1" in send(owner, record_set, dicom_of(FRAMES, frames=3), frame=typed)["words"]
    answer = signed_in(owner).post(
        reverse("imaging:add", args=[record_set.public_id]),
        {"pictures": SimpleUploadedFile("a.dcm", dicom_of(FRAMES, frames=3)), "frame": typed},
        follow=True,
    )
    assert "whole number from 1" in answer.content.decode()
    assert not RecordItem.objects.exists()


def test_without_a_script_the_message_says_which_numbers_there_are_and_the_field_takes_one(
    owner: User, record_set: RecordSet
) -> None:
    address = reverse("imaging:add", args=[record_set.public_id])
    pages = saved(corner(), "TIFF", save_all=True, append_images=[noise((50, 40))])
    for fields, words in (({}, "Say which, 1 to 2"), ({"frame": "2"}, "1 of 1 pictures are added")):
        answer = signed_in(owner).post(
            address, {"pictures": SimpleUploadedFile("a.tif", pages), **fields}, follow=True
        )
        assert words in answer.content.decode()
    assert (RecordItem.objects.get().width, RecordItem.objects.get().height) == (50, 40)


def test_operations_and_renditions_made_anew_go_by_the_chosen_frame(
    owner: User, record_set: RecordSet
) -> None:
    answer = services.add_picture(owner, record_set, "a.dcm", dicom_of(FRAMES, frames=3), 3)
    assert isinstance(answer, services.Taken)
    item = answer.item
    first = read(item.print_file)
    services.add_operation(owner, item, "mirror", {}, item.version)
    assert read(item.print_file) != first
    services.undo_operation(owner, item, item.version)
    assert read(item.print_file) == first


def test_inverting_exchanges_dark_and_bright_is_listed_and_undone(owner: User, record_set: RecordSet) -> None:
    item = taken(owner, record_set, dicom_of(ramp(12), PhotometricInterpretation="MONOCHROME1"))
    first = read(item.print_file)
    browser = signed_in(owner)
    address = reverse("imaging:picture", args=[item.public_id])
    page = browser.get(address).content.decode()
    assert "Inverted when taken in: the file says that its lowest value is white." in page
    assert 'value="invert"' in page
    browser.post(
        reverse("imaging:operate", args=[item.public_id]), {"kind": "invert", "version": item.version}
    )
    item.refresh_from_db()
    with Image.open(io.BytesIO(read(item.print_file))) as now, Image.open(io.BytesIO(first)) as before:
        assert now.getpixel((0, 0)) == tuple(255 - one for one in before.getpixel((0, 0)))  # type: ignore[union-attr]
    assert "Dark and bright exchanged" in browser.get(address).content.decode()
    services.undo_operation(owner, item, item.version)
    assert read(item.print_file) == first


def test_what_the_file_says_stands_on_its_page_in_words(owner: User, record_set: RecordSet) -> None:
    item = taken(
        owner,
        record_set,
        dicom_of(
            ramp(12),
            PixelSpacing=["0.09", "0.09"],
            ImagerPixelSpacing=["0.1", "0.1"],
            PixelSpacingCalibrationType="GEOMETRY",
            EstimatedRadiographicMagnificationFactor="1.1",
            PatientOrientation=["A", "H"],
            BurnedInAnnotation="YES",
        ),
    )
    page = signed_in(owner).get(reverse("imaging:picture", args=[item.public_id])).content.decode()
    for words in (
        "DICOM, stored as a digital radiograph (modality DX).",
        "pixel spacing of 0.09 by 0.09 mm, down by across, corrected for an assumed depth",
        "spacing on the detector of 0.1 by 0.1 mm",
        "a magnification of 1.1",
        "its right edge is the patient&#x27;s front, its lower edge the head. It lies upside down",
        "names or numbers are burned into the picture",
    ):
        assert words in page, words


def test_a_photograph_is_not_offered_to_be_inverted(owner: User, record_set: RecordSet) -> None:
    item = taken(owner, record_set, saved(corner(), "HEIF"))
    page = signed_in(owner).get(reverse("imaging:picture", args=[item.public_id])).content.decode()
    assert 'value="invert"' not in page
    assert "What the file says" not in page


def test_text_that_the_file_says_is_burned_in_is_told_where_it_is_looked_for(
    owner: User, record_set: RecordSet
) -> None:
    for said, told in (("YES", True), ("NO", False)):
        item = taken(owner, record_set, dicom_of(ramp(12), BurnedInAnnotation=said))
        record_items.assign_view(item, "radiograph", item.version)
        page = signed_in(owner).get(reverse("imaging:picture", args=[item.public_id])).content.decode()
        assert ("The file says itself that names or numbers are burned into the picture" in page) is told


def millions(each: float) -> int:
    return min(LARGEST_PIXELS, int(DECODED_BYTES / each)) // 1_000_000


def test_the_sizes_that_the_page_names_are_those_that_are_taken(owner: User, record_set: RecordSet) -> None:
    page = signed_in(owner).get(reverse("imaging:pictures", args=[record_set.public_id])).content.decode()
    codings = {coding for codings, _ in dicom_files.BYTES_FOR_BYTE for coding in codings}
    assert codings == set(dicom_files.DECODED), "each coding has its bytes"
    dicom = [
        millions(dicom_files.bytes_each(samples, bits, coding, colours))
        for coding in codings
        for samples, bits, colours in (
            (1, 8, "MONOCHROME2"),
            (1, 16, "MONOCHROME2"),
            (3, 8, "RGB"),
            (3, 8, "YBR_FULL"),
        )
    ]
    webp = [millions(webp_files.BYTES_EACH_EXACT), millions(webp_files.BYTES_EACH)]
    png = {kind: millions(each) for kind, (each, _) in file_kinds.PNG_COSTS.items()}
    more = [
        *(millions(tiff_files.bytes_each(*way)) for way in ((2, 8, 4), (3, 8, 1), (5, 8, 4), (2, 16, 3))),
        *(png[kind] for kind in (3, 4, 6)),
    ]
    deep = [millions(tiff_files.bytes_each(1, 16, 1)), millions(file_kinds.PNG_COST_OF_16_BITS)]
    scans = [millions(kept + file_kinds.SCANS_BESIDE) for kept in (6, 3)]
    assert png[2] == millions(tiff_files.bytes_each(2, 8, 3))
    assert millions(tiff_files.bytes_each(1, 8, 1)) == 80
    for words in (
        f"progressive {scans[0]} to {scans[1]}",
        f"PNG and TIFF 80 in grey, {png[2]} in colour, {min(deep)} to {max(deep)} in grey of 16 bits",
        f"{min(more)} to {max(more)} with palettes, clear places",
        f"HEIC {millions(heif_files.BYTES_EACH)}",
        f"WebP {webp[0]} to {webp[1]}",
        f"DICOM {min(dicom)} to {max(dicom)} by its coding",
    ):
        assert words in page, words
