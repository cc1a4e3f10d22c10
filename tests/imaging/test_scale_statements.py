"""Statements about a picture's scale: their order, undoing them, two windows, and what is done to the picture."""

from __future__ import annotations

import pytest
from django.test import Client
from django.urls import reverse
from django.utils import timezone

from accounts.models import User
from imaging import services as pictures
from imaging.calibrating import services
from imaging.calibrating.access import visible_calibrations
from imaging.calibrating.selectors import scale_facts, scale_of
from imaging.models import Calibration, CalibrationStep
from portfolio.models import RecordItem
from portfolio.services import record_items
from portfolio.services.saving import ChangedMeanwhile
from tests.factories.accounts import person, signed_in
from tests.imaging.made_pictures import corner, png
from tests.imaging.scaled import dicom, keep, of_view, page, press, ruler_fields, text_of

pytestmark = pytest.mark.django_db


@pytest.fixture
def owner() -> User:
    return person()


@pytest.fixture
def browser(owner: User) -> Client:
    return signed_in(owner)


@pytest.fixture
def radiograph(owner: User) -> RecordItem:
    return of_view(owner, png(corner((400, 300))), "lateral")


def test_a_scale_of_the_file_can_be_set_aside_and_undone_and_done_again(browser: Client, owner: User) -> None:
    item = dicom(owner, PixelSpacing=["0.09", "0.09"], PixelSpacingCalibrationType="FIDUCIAL")
    browser.post(page(item), press(item, "none"))
    assert scale_of(item) is None
    browser.post(page(item), ruler_fields(item))
    seen = [scale_of(item)]
    for do in ("undo", "undo", "redo", "redo", "undo"):
        steps = scale_facts(item).steps
        browser.post(page(item), press(item, do, number=str(steps.undo if do == "undo" else steps.redo)))
        seen.append(scale_of(item))
    assert [None if one is None else round(one.across, 4) for one in seen] == [
        0.1,
        None,
        0.09,
        None,
        0.1,
        None,
    ]
    assert [one.number for one in scale_facts(item).history] == [7, 6, 5, 4, 3, 2, 1]
    assert "Statement 2 undone" in text_of(browser, item)


def test_rows_are_never_changed_or_deleted(radiograph: RecordItem, owner: User) -> None:
    keep(owner, radiograph)
    with pytest.raises(TypeError, match="append-only"):
        Calibration.objects.all().update(across=1)
    with pytest.raises(TypeError, match="append-only"):
        Calibration.objects.all().delete()


def test_the_same_form_sent_twice_makes_one_row(browser: Client, radiograph: RecordItem) -> None:
    fields = ruler_fields(radiograph)
    assert [browser.post(page(radiograph), fields).status_code for _ in range(2)] == [302, 302]
    assert Calibration.objects.count() == 1


def test_an_old_page_is_told_keeps_what_was_typed_and_overwrites_nothing(
    browser: Client, radiograph: RecordItem
) -> None:
    old = ruler_fields(radiograph, ruler_1_mm="33")
    browser.post(page(radiograph), ruler_fields(radiograph))
    answer = browser.post(page(radiograph), old)
    said = answer.content.decode()
    assert answer.status_code == 409
    assert "changed in another window meanwhile" in said
    assert 'value="33"' in said
    assert Calibration.objects.count() == 1
    assert 'name="seen" value="1"' in said


def test_an_undo_from_an_old_page_changes_nothing(radiograph: RecordItem, owner: User) -> None:
    keep(owner, radiograph)
    with pytest.raises(ChangedMeanwhile):
        services.step(
            owner, radiograph, CalibrationStep.REDO, 1, services.Stand(1, "another-key"), timezone.now()
        )
    assert Calibration.objects.count() == 1


def test_turning_mirroring_and_cropping_leave_the_scale_and_its_marks(
    browser: Client, radiograph: RecordItem, owner: User
) -> None:
    keep(owner, radiograph)
    before = scale_of(radiograph), scale_facts(radiograph).given
    for kind, given in (("quarter_right", {}), ("mirror", {}), ("crop", {"left": "10"})):
        radiograph.refresh_from_db()
        pictures.add_operation(owner, radiograph, kind, given, radiograph.version)
    radiograph.refresh_from_db()
    assert (scale_of(radiograph), scale_facts(radiograph).given) == before
    assert browser.get(page(radiograph)).status_code == 200


def test_deleting_the_picture_takes_its_scales_along(
    browser: Client, radiograph: RecordItem, owner: User
) -> None:
    keep(owner, radiograph)
    record_items.remove_item(radiograph, radiograph.version)
    assert not Calibration.objects.exists()


def test_other_peoples_scales_are_not_seen(radiograph: RecordItem, owner: User) -> None:
    keep(owner, radiograph)
    stranger = person()
    assert not visible_calibrations(stranger).exists()
    assert visible_calibrations(owner).count() == 1
    for name in ("imaging:scale", "imaging:scale_try"):
        address = reverse(name, args=[radiograph.public_id])
        assert signed_in(stranger).post(address, ruler_fields(radiograph)).status_code == 404
    assert Calibration.objects.count() == 1
