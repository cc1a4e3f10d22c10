"""The page of a picture's scale: what the file says, rulers, magnification, refusals, and lengths by it."""

from __future__ import annotations

import pytest
from django.test import Client
from django.urls import reverse

from accounts.models import User
from imaging.calibrating.access import visible_calibrations
from imaging.calibrating.selectors import scale_of
from imaging.calibration import Size
from imaging.models import Calibration
from imaging.tracing.selectors import read
from portfolio.models import RecordItem
from tests.factories.accounts import person, signed_in
from tests.imaging.made_pictures import corner, jpeg, png
from tests.imaging.scaled import dicom, keep, of_view, page, press, ruler_fields, text_of, traced

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


def test_a_picture_without_a_scale_says_so_and_why(browser: Client, radiograph: RecordItem) -> None:
    said = text_of(browser, radiograph)
    assert "No scale: angles and ratios only, no lengths." in said
    assert "The file states no scale, and nobody has given one." in said


def test_a_typed_ruler_becomes_the_scale_with_who_and_when(
    browser: Client, radiograph: RecordItem, owner: User
) -> None:
    answer = browser.post(page(radiograph), ruler_fields(radiograph))
    assert answer.status_code == 302
    scale = scale_of(radiograph)
    assert scale is not None
    assert (scale.across, scale.down, scale.size) == (0.1, 0.1, Size.NATURAL)
    row = visible_calibrations(owner).get()
    assert (row.by, row.number, row.way) == (owner, 1, "ruler")
    assert row.given["rulers"] == [{"start": [50, 20], "end": [350, 20], "mm": 30}]
    said = text_of(browser, radiograph)
    assert "0.1000 mm a pixel ± 1.4 % (1 SD)" in said
    assert f"Kept by {owner.name}" in said
    assert 'value="350"' in said


def test_a_comma_is_taken_as_a_point(browser: Client, radiograph: RecordItem) -> None:
    browser.post(
        page(radiograph), ruler_fields(radiograph, ruler_1_mm="30,0 mm", ruler_1_start_across="50,0")
    )
    assert scale_of(radiograph) is not None


@pytest.mark.parametrize(
    ("other", "words"),
    [
        ({"ruler_1_mm": ""}, "Say how many millimetres lie between the two marks."),
        ({"ruler_1_mm": "long"}, "long is not taken; a number from 1 to 1000 mm is."),
        ({"ruler_1_mm": "1001"}, "1001 is not taken"),
        ({"ruler_1_mm": "1e2"}, "1e2 is not taken"),
        ({"ruler_1_end_across": "401"}, "401 is not taken; a number from 0 to 400 pixels is."),
        ({"ruler_1_end_down": "300.5"}, "a number from 0 to 300 pixels is."),
        ({"ruler_1_end_across": "60"}, "The two marks lie 10 pixels apart; at least 20 are needed."),
        ({"plane": ""}, "Choose where the ruler lies"),
        ({"plane": "detector", "factor": "109.8"}, "a number from 0.5 to 3 is."),
        ({"plane": "detector", "factor": "x %"}, "x % is not taken"),
        ({"ruler_2_mm": "20"}, "The second ruler needs both marks and its length, or nothing at all."),
    ],
)
def test_refused_entries_are_told_beside_the_field_and_nothing_is_kept(
    browser: Client, radiograph: RecordItem, other: dict[str, str], words: str
) -> None:
    fields = ruler_fields(radiograph, **other)
    answer = browser.post(page(radiograph), fields)
    assert answer.status_code == 422
    said = answer.content.decode()
    assert words in said
    assert 'class="field-error"' in said
    typed = fields["ruler_1_start_down"]
    assert f'name="ruler_1_start_down" value="{typed}"' in said
    assert not Calibration.objects.exists()


def test_a_second_ruler_in_the_same_direction_is_refused_in_words(
    browser: Client, radiograph: RecordItem
) -> None:
    second = {"start_across": "50", "start_down": "200", "end_across": "350", "end_down": "200", "mm": "30"}
    fields = ruler_fields(radiograph, **{f"ruler_2_{name}": value for name, value in second.items()})
    answer = browser.post(page(radiograph), fields)
    assert answer.status_code == 422
    assert "leave the second one out" in answer.content.decode()


def test_a_stretched_picture_is_kept_with_a_warning(browser: Client, radiograph: RecordItem) -> None:
    second = {"start_across": "50", "start_down": "20", "end_across": "50", "end_down": "270", "mm": "30"}
    fields = ruler_fields(radiograph, **{f"ruler_2_{name}": value for name, value in second.items()})
    assert browser.post(page(radiograph), fields).status_code == 302
    scale = scale_of(radiograph)
    assert scale is not None
    assert scale.across == pytest.approx(0.1)
    assert scale.down == pytest.approx(0.12)
    assert "differ by 18.2 per cent" in text_of(browser, radiograph)


def test_a_ruler_on_the_detector_takes_the_factor_also_in_per_cent(
    browser: Client, radiograph: RecordItem
) -> None:
    browser.post(page(radiograph), ruler_fields(radiograph, plane="detector", factor="9.8 %"))
    scale = scale_of(radiograph)
    assert scale is not None
    assert scale.across == pytest.approx(0.1 / 1.098)
    browser.post(page(radiograph), ruler_fields(radiograph, plane="detector", factor=""))
    scale = scale_of(radiograph)
    assert scale is not None
    assert (scale.across, scale.size) == (0.1, Size.FILM)
    assert "film mm a pixel" in text_of(browser, radiograph)


def test_a_photograph_is_asked_for_its_plane_and_never_for_a_magnification(
    browser: Client, owner: User
) -> None:
    photograph = of_view(owner, jpeg(corner((400, 300))), "upper", "one.jpg")
    said = text_of(browser, photograph)
    assert "must lie in the very plane that is measured" in said
    assert "By a stated magnification" not in said
    fields = ruler_fields(photograph, off_plane="5", lens="300", tilt="10")
    del fields["plane"]
    assert browser.post(page(photograph), fields).status_code == 302
    scale = scale_of(photograph)
    assert scale is not None
    assert 2.6 < scale.sd_percent < 2.8  # clicks 1.4, perspective 1.7, tilt 1.5 per cent in squares


def test_a_corrected_spacing_of_the_file_is_used_by_itself_and_says_why(browser: Client, owner: User) -> None:
    item = dicom(owner, PixelSpacing=["0.09", "0.09"], ImagerPixelSpacing=["0.1", "0.1"])
    scale = scale_of(item)
    assert scale is not None
    assert scale.across == 0.09
    said = text_of(browser, item)
    assert "Used because the file itself says that it is so" in said
    assert "differ by a factor of 1.111" in said


def test_film_millimetres_wait_until_a_person_accepts_them(browser: Client, owner: User) -> None:
    item = dicom(owner, ImagerPixelSpacing=["0.1", "0.1"])
    assert scale_of(item) is None
    assert "Not used before you choose it." in text_of(browser, item)
    assert browser.post(page(item), press(item, "file", offer="film")).status_code == 302
    scale = scale_of(item)
    assert scale is not None
    assert scale.unit == "film mm"


@pytest.mark.parametrize("spacing", [["0", "0"], ["-0.1", "-0.1"]])
def test_a_spacing_that_is_none_is_shown_with_the_reason(
    browser: Client, owner: User, spacing: list[str]
) -> None:
    item = dicom(owner, PixelSpacing=spacing)
    said = text_of(browser, item)
    assert "Not a scale:" in said
    assert "a spacing must be greater than 0" in said
    assert scale_of(item) is None
    assert browser.post(page(item), press(item, "file", offer="pixel")).status_code == 422


def test_a_magnification_divides_the_film_the_file_states(browser: Client, owner: User) -> None:
    item = dicom(owner, ImagerPixelSpacing=["0.11", "0.11"])
    sent = press(item, "magnification", factor="1.1", factor_sd_percent="0.5", resolution="", film_mm="")
    assert browser.post(page(item), sent).status_code == 302
    scale = scale_of(item)
    assert scale is not None
    assert scale.across == pytest.approx(0.1)
    assert (scale.sd_percent, scale.size) == (0.5, Size.NATURAL)


def test_a_magnification_takes_the_resolution_of_a_scanned_film(
    browser: Client, radiograph: RecordItem
) -> None:
    sent = press(
        radiograph, "magnification", factor="1.1", factor_sd_percent="", resolution="254", film_mm=""
    )
    assert browser.post(page(radiograph), sent).status_code == 302
    scale = scale_of(radiograph)
    assert scale is not None
    assert scale.across == pytest.approx(0.1 / 1.1)


@pytest.mark.parametrize(
    ("given", "words"),
    [
        ({"resolution": "", "film_mm": ""}, "The file states no scale of the film"),
        ({"resolution": "300", "film_mm": "0.1"}, "Say it once"),
        ({"resolution": "10", "film_mm": ""}, "a number from 50 to 5000 is."),
        ({"factor": "", "resolution": "300", "film_mm": ""}, "how many times the film is larger"),
    ],
)
def test_a_refused_magnification_is_told_beside_its_field(
    browser: Client, radiograph: RecordItem, given: dict[str, str], words: str
) -> None:
    sent = press(radiograph, "magnification", **{"factor": "1.1", "factor_sd_percent": "", **given})
    answer = browser.post(page(radiograph), sent)
    assert answer.status_code == 422
    assert words in answer.content.decode()
    assert not Calibration.objects.exists()


def test_trying_a_ruler_tells_numbers_and_warnings_and_keeps_nothing(
    browser: Client, radiograph: RecordItem
) -> None:
    address = reverse("imaging:scale_try", args=[radiograph.public_id])
    told = browser.post(address, ruler_fields(radiograph, ruler_1_mm="20")).json()
    assert told["numbers"] == "0.0667 mm a pixel ± 2.1 % (1 SD)"
    assert told["size"] == "natural size"
    assert "Below 30 mm" in told["warnings"][0]
    faults = browser.post(address, ruler_fields(radiograph, ruler_1_mm="0")).json()["faults"]
    assert list(faults) == ["ruler_1_mm"]
    near = browser.post(address, ruler_fields(radiograph, ruler_1_end_across="55")).json()["faults"]
    assert list(near) == ["ruler_1_end_across"]
    assert not Calibration.objects.exists()


def test_an_unusual_s_n_of_the_own_tracing_is_told(
    browser: Client, radiograph: RecordItem, owner: User
) -> None:
    traced(owner, radiograph, {"S": (50, 100), "N": (350, 100)})
    address = reverse("imaging:scale_try", args=[radiograph.public_id])
    told = browser.post(address, ruler_fields(radiograph)).json()
    assert "S-N would be 30.0 mm long" in told["warnings"][-1]
    usual = browser.post(address, ruler_fields(radiograph, ruler_1_mm="70")).json()
    assert usual["warnings"] == []


def test_lengths_of_a_tracing_come_and_go_with_the_scale_and_hold_its_error(
    radiograph: RecordItem, owner: User
) -> None:
    tracing = traced(owner, radiograph, {"S": (50, 100), "N": (350, 100)})
    face = read(tracing).face
    assert face is not None
    assert not face.calibrated
    keep(owner, radiograph, millimetres=70)
    face = read(tracing).face
    assert face is not None
    assert face.calibrated
    assert face.scale_sd_percent == pytest.approx(0.606, abs=0.001)
    assert (face.place("N") - face.place("S")).length == pytest.approx(70)


def test_angles_without_a_scale_know_that_pixels_are_not_square(owner: User) -> None:
    item = dicom(owner, PixelSpacing=None, PixelAspectRatio=["2", "1"])
    assert scale_of(item) is None
    face = read(traced(owner, item, {"S": (100, 100), "N": (200, 50)})).face
    assert face is not None
    across = face.place("N") - face.place("S")
    assert (across.x, across.y) == (50, 50)
