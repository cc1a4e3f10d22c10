"""What holds for every picture holds for radiographs of 16 bits and DICOM: looking for names, masks, inverting."""

from __future__ import annotations

import io

import numpy as np
import pytest
from django.urls import reverse
from PIL import Image

from accounts.models import User
from dossier.selectors import Wanted, printable
from filing.models import StoredFile
from filing.selectors import open_bytes
from imaging import selectors, services
from imaging.operations import MASK_GREY, OperationRefused
from portfolio.models import RecordItem, RecordSet
from portfolio.photographs import VIEWS
from portfolio.services import record_items
from tests.factories.accounts import person, signed_in
from tests.factories.imaging import taken
from tests.factories.portfolio import NOON, case_of, record_set_of
from tests.imaging.made_pictures import corner, jpeg
from tests.imaging.made_radiographs import dicom_of, ramp, saved, tiff_of

pytestmark = [pytest.mark.django_db, pytest.mark.any_database]
DEEP = {
    "dicom": dicom_of(ramp(12, (300, 200)), PhotometricInterpretation="MONOCHROME1"),
    "tiff": tiff_of(ramp(16, (300, 200)), photometric="minisblack"),
    "inverse tiff": tiff_of(ramp(16, (300, 200)), photometric="miniswhite", compression="zlib"),
    "png": saved(Image.fromarray(ramp(16, (300, 200))), "PNG"),
}
IN_A_BAND = [view.key for view in VIEWS if view.band <= 5]


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


def pixels(file: StoredFile | None) -> np.ndarray[tuple[int, ...], np.dtype[np.uint8]]:
    with Image.open(io.BytesIO(read(file))) as opened:
        return np.asarray(opened.convert("RGB"))


def stops(owner: User, record_set: RecordSet) -> str:
    wanted = Wanted("examiner", "a4", faces=False)
    return " ".join(printable(owner, record_set.case, wanted, NOON.date()).stops)


@pytest.mark.parametrize("kind", DEEP)
@pytest.mark.parametrize("view", ["lateral", "panoramic", "radiograph", "casts_base"])
def test_none_is_printed_before_somebody_has_looked_for_names(
    owner: User, record_set: RecordSet, kind: str, view: str
) -> None:
    item = taken(owner, record_set, DEEP[kind])
    record_items.assign_view(item, view, item.version)
    assert "Initial: " in stops(owner, record_set)
    record_items.state_no_text(owner, item, item.version, NOON)
    assert stops(owner, record_set) == ""


@pytest.mark.parametrize("view", IN_A_BAND)
def test_what_came_as_dicom_is_looked_through_in_whatever_view_it_is_shown(
    owner: User, record_set: RecordSet, view: str
) -> None:
    """Programs write names into captures of screens; a capture of a photograph is one too."""
    item = taken(owner, record_set, DEEP["dicom"])
    record_items.assign_view(item, view, item.version)
    assert selectors.picture_facts(item).text_asked
    assert [one.text_unchecked for one in selectors.print_pictures(owner, record_set)] == [True]
    assert selectors.board(owner, record_set).text_unchecked == 1
    record_items.state_no_text(owner, item, item.version, NOON)
    assert [one.text_unchecked for one in selectors.print_pictures(owner, record_set)] == [False]


@pytest.mark.parametrize("kind", DEEP)
def test_a_mask_leaves_one_value_in_all_that_is_shown_and_changes_nothing_else(
    owner: User, record_set: RecordSet, kind: str
) -> None:
    item = taken(owner, record_set, DEEP[kind])
    record_items.assign_view(item, "lateral", item.version)
    record_items.state_no_text(owner, item, item.version, NOON)
    before = pixels(item.print_file)
    mask = {"top": "90", "right": "50", "outside": "on"}
    services.add_operation(owner, item, "mask", mask, item.version)
    item.refresh_from_db()
    after = pixels(item.print_file)
    assert {tuple(one) for one in after[270:, :100].reshape(-1, 3).tolist()} == {MASK_GREY}
    outside = np.ones(after.shape[:2], bool)
    outside[270:, :100] = False
    assert (after[outside] == before[outside]).all()
    on_screen = pixels(item.screen_file)[275:, :95]
    assert np.ptp(on_screen) <= 1, "a JPEG of one plain grey"
    assert item.no_text_at is None, "the pixels are others than those that were looked at"
    assert read(item.file) == DEEP[kind], "the original stays as it came, and is never shown"
    services.undo_operation(owner, item, item.version)
    assert (pixels(item.print_file) == before).all()


@pytest.mark.parametrize("kind", DEEP)
def test_a_crop_keeps_the_greys_that_the_whole_picture_has(
    owner: User, record_set: RecordSet, kind: str
) -> None:
    item = taken(owner, record_set, DEEP[kind])
    before = pixels(item.print_file)
    services.add_operation(owner, item, "crop", {"top": "50"}, item.version)
    item.refresh_from_db()
    assert (pixels(item.print_file) == before[150:]).all()


def may_be_inverted(owner: User, item: RecordItem) -> bool:
    """By the service; and the page must say the same."""
    page = signed_in(owner).get(reverse("imaging:picture", args=[item.public_id])).content.decode()
    try:
        services.add_operation(owner, item, "invert", {}, item.version)
        done = True
    except OperationRefused:
        done = False
    assert ('value="invert"' in page) is done
    return done


def test_radiographs_and_dicom_are_inverted_and_photographs_are_not(
    owner: User, record_set: RecordSet
) -> None:
    photograph = taken(owner, record_set, jpeg(corner()))
    record_items.assign_view(photograph, "front", photograph.version)
    scanned = taken(owner, record_set, DEEP["tiff"])
    assert [may_be_inverted(owner, one) for one in (photograph, scanned)] == [False, False]
    record_items.assign_view(scanned, "lateral", scanned.version)
    assert may_be_inverted(owner, scanned)
    assert may_be_inverted(owner, taken(owner, record_set, DEEP["dicom"]))


def test_a_photograph_that_is_told_to_invert_stays_as_it_is(owner: User, record_set: RecordSet) -> None:
    item = taken(owner, record_set, jpeg(corner()))
    answer = signed_in(owner).post(
        reverse("imaging:operate", args=[item.public_id]), {"kind": "invert", "version": item.version}
    )
    assert answer.status_code == 422
    assert "this is a photograph" in answer.content.decode()
    item.refresh_from_db()
    assert item.operations == []
