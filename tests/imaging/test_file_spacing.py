"""Which spacing of a file is a scale: the rules of DICOM PS3.3 section 10.7.1 (2024d), on facts and on sample files."""

from __future__ import annotations

from typing import Any

import pytest

from imaging.calibration import Origin, Size
from imaging.deidentify import clean
from imaging.file_spacing import said_by
from imaging.intake_limits import PictureRefused
from tests.imaging.made_radiographs import SAMPLES, dicom_of, repacked, sample

PIXEL, IMAGER, SCANNED = "PixelSpacing", "ImagerPixelSpacing", "NominalScannedPixelSpacing"
HOW, FACTOR = "PixelSpacingCalibrationType", "EstimatedRadiographicMagnificationFactor"


def facts(**given: Any) -> dict[str, Any]:
    return {"stored_as": "digital radiograph", "modality": "DX", **given}


def of_file(data: bytes) -> dict[str, Any]:
    return dict(clean(data, 400).facts)


def test_a_file_that_states_nothing_has_no_scale() -> None:
    for nothing in ({}, facts(), {"page": 1}):
        found = said_by(nothing)
        assert (found.told, found.offers, found.used, found.flags) == ((), (), None, ())


@pytest.mark.parametrize("how", ["GEOMETRY", "FIDUCIAL"])
def test_a_spacing_said_to_be_corrected_is_used_by_itself(how: str) -> None:
    """10.7.1.2: the values account for magnification, or were calibrated by an object of known size."""
    used = said_by(facts(PixelSpacing=["0.10", "0.10"], PixelSpacingCalibrationType=how)).used
    assert used is not None
    assert (used.scale.across, used.scale.size, used.scale.origin) == (0.1, Size.NATURAL, Origin.FILE)
    assert how in used.why


def test_an_object_of_known_size_errs_less_than_an_assumed_depth() -> None:
    spacing = {PIXEL: ["0.1", "0.1"]}
    fiducial, geometry = (said_by(facts(**spacing, **{HOW: how})).used for how in ("FIDUCIAL", "GEOMETRY"))
    assert fiducial
    assert geometry
    assert 0 < fiducial.scale.sd_percent < geometry.scale.sd_percent


def test_spacings_that_differ_mean_that_one_is_corrected() -> None:
    """10.7.1.1: different from the detector's means corrected; 0.1 on the detector over 1.1 in the patient."""
    found = said_by(facts(PixelSpacing=["0.0909", "0.0909"], ImagerPixelSpacing=["0.1", "0.1"]))
    assert found.used is not None
    assert (found.used.scale.across, found.used.scale.size) == (0.0909, Size.NATURAL)
    assert "factor of 1.100" in found.flags[0]
    assert [offer.scale.size for offer in found.offers] == [Size.NATURAL, Size.FILM]


def test_spacings_that_are_the_same_are_those_of_the_film_and_wait_for_a_person() -> None:
    """10.7.1.1: the same as the detector's means not corrected."""
    found = said_by(facts(PixelSpacing=["0.1", "0.1"], ImagerPixelSpacing=["0.10", "0.100"]))
    assert found.used is None
    (offer,) = found.offers
    assert (offer.scale.size, offer.scale.unit) == (Size.FILM, "film mm")


def test_the_same_spacing_that_is_called_corrected_is_flagged_and_not_believed() -> None:
    found = said_by(
        facts(PixelSpacing=["0.1", "0.1"], ImagerPixelSpacing=["0.1", "0.1"], **{HOW: "GEOMETRY"})
    )
    assert found.used is None
    assert [offer.scale.size for offer in found.offers] == [Size.FILM]
    assert "taken as uncorrected" in found.flags[0]


def test_the_detector_alone_gives_film_millimetres_once_a_person_accepts_them() -> None:
    found = said_by(facts(ImagerPixelSpacing=["0.1", "0.1"]))
    assert found.used is None
    (offer,) = found.offers
    assert (offer.scale.size, offer.scale.unit, offer.scale.across) == (Size.FILM, "film mm", 0.1)


def test_a_scanned_film_is_told_like_the_detector() -> None:
    found = said_by(facts(NominalScannedPixelSpacing=["0.0847", "0.0847"]))
    assert found.used is None
    assert found.offers[0].scale.size == Size.FILM
    assert found.film is not None


def test_a_pixel_spacing_alone_cannot_be_told_and_is_not_used_by_itself() -> None:
    """10.7.1.1: without type, detector and film spacing it cannot be determined whether it was corrected."""
    found = said_by(facts(PixelSpacing=["0.1", "0.1"]))
    assert found.used is None
    assert found.offers[0].scale.size == Size.UNKNOWN
    assert "natural or film size" in found.offers[0].scale.unit


def test_a_stated_magnification_is_offered_beside_the_film_and_says_so() -> None:
    found = said_by(facts(ImagerPixelSpacing=["0.1", "0.1"], **{FACTOR: ["1.1"]}))
    assert found.used is None
    film, natural = found.offers
    assert film.scale.size == Size.FILM
    assert natural.scale.size == Size.NATURAL
    assert natural.scale.across == pytest.approx(0.1 / 1.1)


def test_a_magnification_that_the_spacings_contradict_is_flagged() -> None:
    both = {PIXEL: ["0.0909", "0.0909"], IMAGER: ["0.1", "0.1"]}
    agreeing = said_by(facts(**both, **{FACTOR: ["1.1"]}))
    other = said_by(facts(**both, **{FACTOR: ["1.25"]}))
    assert not any("imply" in flag for flag in agreeing.flags)
    assert any("1.25" in flag and "imply 1.100" in flag for flag in other.flags)


def test_a_magnification_without_the_detector_is_flagged_and_changes_nothing() -> None:
    found = said_by(facts(PixelSpacing=["0.1", "0.1"], **{FACTOR: ["1.1"]}))
    assert [offer.key for offer in found.offers] == ["pixel"]
    assert "nobody can tell" in found.flags[0]


@pytest.mark.parametrize("factor", ["0", "-1", "0.9", "9"])
def test_an_impossible_magnification_is_left_aside(factor: str) -> None:
    found = said_by(facts(ImagerPixelSpacing=["0.1", "0.1"], **{FACTOR: [factor]}))
    assert len(found.offers) == 1
    assert "left aside" in found.flags[0]


@pytest.mark.parametrize("pixel", ["0.11", "0.05"])
def test_a_patient_larger_than_its_film_or_half_as_large_is_not_believed(pixel: str) -> None:
    found = said_by(facts(PixelSpacing=[pixel, pixel], ImagerPixelSpacing=["0.1", "0.1"]))
    assert found.used is None
    assert "not used by itself" in found.flags[0]


@pytest.mark.parametrize(
    "spacing",
    [["0.000", "0.000"], ["0.1", "0"], ["-0.1", "-0.1"], ["0.1"], ["0.1", "0.1", "0.1"], ["1e9999", "1"]],
)
@pytest.mark.parametrize("keyword", [PIXEL, IMAGER, SCANNED])
def test_what_is_no_positive_pair_is_no_scale_and_says_why(keyword: str, spacing: list[str]) -> None:
    """10.7.1.3: two values, positive and not zero."""
    found = said_by(facts(**{keyword: spacing}))
    assert found.offers == ()
    assert found.used is None
    assert found.told[0].fault


def test_rows_come_before_columns() -> None:
    """10.7.1.3, figure: Pixel Spacing 0.30\\0.25 is 0.30 mm between rows and 0.25 mm between columns."""
    used = said_by(facts(PixelSpacing=["0.30", "0.25"], **{HOW: "FIDUCIAL"})).used
    assert used is not None
    assert (used.scale.down, used.scale.across) == (0.30, 0.25)


def test_pixels_that_are_not_square_are_told_for_rulers_too() -> None:
    assert said_by(facts(PixelSpacing=["0.30", "0.25"])).aspect == pytest.approx(0.25 / 0.30)
    assert said_by(facts(PixelAspectRatio=["4", "3"])).aspect == pytest.approx(0.75)
    assert said_by(facts(PixelAspectRatio=["0", "3"])).aspect == 1
    assert said_by(facts(PixelSpacing=["0", "0"])).aspect == 1


@pytest.mark.parametrize("stored", [{"stored_as": "secondary capture"}, {"modality": "OT"}])
def test_one_by_one_of_a_captured_screen_is_no_scale(stored: dict[str, str]) -> None:
    found = said_by({**facts(PixelSpacing=["1", "1"], **{HOW: "FIDUCIAL"}), **stored})
    assert found.used is None
    assert found.offers == ()
    assert "where nothing is known" in found.told[0].fault


def test_a_radiograph_that_states_a_spacing_of_zero_has_no_scale() -> None:
    """The computed radiographs RG1_UNC* of the pydicom-data package (MIT) state 0.000; looked at by hand, made here."""
    found = said_by(of_file(dicom_of(PixelSpacing=["0.000000", "0.000000"])))
    assert found.used is None
    assert found.offers == ()
    assert found.told[0].fault == "a spacing must be greater than 0"


@pytest.mark.parametrize("name", ["SC_rgb_rle.dcm", "SC_rgb_gdcm_KY.dcm", "SC_ybr_full_422_uncompressed.dcm"])
def test_samples_of_captured_pictures_with_one_by_one_have_no_scale(name: str) -> None:
    """Of the pydicom package (MIT): secondary captures with Pixel Spacing 1.0 by 1.0."""
    found = said_by(of_file(sample(name)))
    assert found.told[0].text == "1.0 by 1.0"
    assert (found.used, found.offers) == (None, ())


def test_sample_of_a_captured_picture_with_thirty_millimetres_a_pixel_has_no_scale() -> None:
    """SC_rgb_small_odd of the pydicom package (MIT): Pixel Spacing 33.333333."""
    found = said_by(of_file(sample("SC_rgb_small_odd.dcm")))
    assert (found.used, found.offers) == (None, ())
    assert "more than 2 mm a pixel" in found.told[0].fault


def test_sample_of_a_slice_kept_as_a_capture_states_a_spacing_that_waits_for_a_person() -> None:
    """CT_small of the pydicom package (MIT): Pixel Spacing 0.661468, without a type or a detector."""
    found = said_by(of_file(repacked("CT_small.dcm", None)))
    assert found.used is None
    assert found.offers[0].scale.across == pytest.approx(0.661468)
    assert found.offers[0].scale.size == Size.UNKNOWN


def test_no_sample_that_is_taken_gets_a_scale_by_itself() -> None:
    """None of the pydicom package's pictures says that it is corrected for magnification."""
    looked = []
    for path in sorted(SAMPLES.glob("*.dcm")):
        try:
            said = of_file(path.read_bytes())
        except PictureRefused:
            continue
        looked.append(path.name)
        assert said_by(said).used is None, path.name
    assert len(looked) > 20
