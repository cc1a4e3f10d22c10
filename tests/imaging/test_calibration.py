"""Scales by rulers and magnifications: values, errors, refusals and warnings, and the laws that hold for them."""

from __future__ import annotations

import math
from dataclasses import replace

import numpy as np
import pytest
from hypothesis import assume, given
from hypothesis import strategies as st

from imaging.calibration import (
    Doubt,
    Origin,
    Plane,
    Ruler,
    RulerReading,
    Scale,
    ScaleRefused,
    Size,
    by_magnification,
    by_ruler,
    click_sd_percent,
    difference_percent,
    doubt_sd_percent,
    factor_warnings,
    ruler_warnings,
    sn_words,
    typed_film_scale,
)

AMID = Plane.MIDSAGITTAL
lengths = st.floats(1, 1000)
ways = st.floats(0, 360)
factors = st.floats(0.2, 5)


def ruler(millimetres: float, pixels: float, degrees: float = 0.0) -> Ruler:
    """A ruler from (5000, 5000), turned by degrees."""
    way = math.radians(degrees)
    return Ruler((5000, 5000), (5000 + pixels * math.cos(way), 5000 + pixels * math.sin(way)), millimetres)


def test_one_ruler_gives_its_millimetres_over_its_pixels_in_both_directions() -> None:
    scale = by_ruler(RulerReading(Ruler((100, 50), (400, 450), 50), AMID))
    assert (scale.across, scale.down) == (0.1, 0.1)
    assert (scale.origin, scale.size, scale.unit) == (Origin.RULER, Size.NATURAL, "mm")


@pytest.mark.parametrize(
    ("millimetres", "percent"),
    [(100, 0.4), (20, 2.1)],  # 0.3 mm clicks on 100 and on 20 mm: √2·0.3/L, computed
)
def test_two_clicks_leave_open_what_the_formula_says(millimetres: float, percent: float) -> None:
    assert round(click_sd_percent(millimetres), 1) == percent


def test_the_error_of_clicks_agrees_with_clicks_that_err() -> None:
    """General-purpose reference: 200 000 pairs of clicks drawn at random with numpy."""
    drawn = np.random.default_rng(7).normal(0, 0.3, (200_000, 2))
    seen = 60 + drawn[:, 1] - drawn[:, 0]
    assert 100 * np.std(seen / 60) == pytest.approx(click_sd_percent(60), rel=0.01)


@given(lengths, st.floats(20, 4000), ways, factors)
def test_a_picture_scaled_up_has_a_scale_scaled_down_by_the_same_factor(
    millimetres: float, pixels: float, degrees: float, factor: float
) -> None:
    assume(pixels * factor >= 20.001)
    assume(pixels >= 20.001)
    one = by_ruler(RulerReading(ruler(millimetres, pixels, degrees), AMID))
    other = by_ruler(RulerReading(ruler(millimetres, pixels * factor, degrees), AMID))
    assert other.across * factor == pytest.approx(one.across)
    assert other.sd_percent == one.sd_percent


@given(lengths, st.floats(21, 4000), ways)
def test_the_scale_does_not_depend_on_the_way_a_ruler_lies(
    millimetres: float, pixels: float, degrees: float
) -> None:
    level = by_ruler(RulerReading(ruler(millimetres, pixels), AMID))
    turned = by_ruler(RulerReading(ruler(millimetres, pixels, degrees), AMID))
    assert turned.down == pytest.approx(level.down)
    assert turned.across == pytest.approx(level.across)


@given(lengths, st.floats(21, 4000), ways)
def test_a_ruler_measures_itself_as_stated(millimetres: float, pixels: float, degrees: float) -> None:
    one = ruler(millimetres, pixels, degrees)
    for aspect in (1.0, 1.25):
        scale = by_ruler(RulerReading(one, AMID, aspect=aspect))
        assert scale.length(one.start, one.end) == pytest.approx(millimetres)
        assert scale.length(one.end, one.start) == pytest.approx(millimetres)
        assert scale.across == pytest.approx(scale.down * aspect)


@given(
    st.floats(0.02, 1),
    st.floats(0.02, 1),
    st.floats(-29, 29),
    st.floats(61, 119),
    st.floats(200, 900),
    st.floats(200, 900),
)
def test_two_rulers_find_the_scale_of_a_stretched_picture(
    across: float, down: float, first: float, second: float, long: float, high: float
) -> None:
    truth = Scale(across, down, 0, Origin.RULER, Size.NATURAL, "")
    rulers = [
        replace(one, millimetres=truth.length(one.start, one.end))
        for one in (ruler(1, long, first), ruler(1, high, second))
    ]
    assume(all(1 <= one.millimetres <= 1000 for one in rulers))
    for pair in (rulers, rulers[::-1]):
        found = by_ruler(RulerReading(pair[0], AMID, pair[1]))
        assert found.across == pytest.approx(across)
        assert found.down == pytest.approx(down)


def test_rulers_that_differ_by_more_than_two_per_cent_are_warned_about() -> None:
    level, upright = ruler(100, 1000), ruler(100, 1000, 90)
    almost = replace(upright, millimetres=101.9)
    beyond = replace(upright, millimetres=102.1)
    assert difference_percent(level, almost) == pytest.approx(1.88, abs=0.01)
    assert ruler_warnings(RulerReading(level, AMID, almost)) == ()
    (words,) = ruler_warnings(RulerReading(level, AMID, beyond))
    assert "differ by 2.1 per cent" in words


def test_the_shorter_of_two_rulers_tells_the_error() -> None:
    found = by_ruler(RulerReading(ruler(100, 1000), AMID, ruler(40, 400, 90)))
    assert found.sd_percent == click_sd_percent(40)


def test_rulers_that_both_lie_aslant_are_refused_beside_the_second() -> None:
    with pytest.raises(ScaleRefused, match="leave the second one out") as refused:
        by_ruler(RulerReading(ruler(100, 1000, 45), AMID, ruler(100, 1000, 135)))
    assert refused.value.field == "ruler_2_end"


def test_two_rulers_in_one_direction_are_refused() -> None:
    with pytest.raises(ScaleRefused, match="along the width"):
        by_ruler(RulerReading(ruler(100, 1000, 2), AMID, ruler(100, 1000, 8)))


def test_rulers_that_no_scale_fits_are_refused() -> None:
    with pytest.raises(ScaleRefused, match="No scale fits"):
        by_ruler(RulerReading(ruler(500, 500, 25), AMID, ruler(20, 500, 65)))


def test_a_ruler_under_thirty_millimetres_is_taken_with_a_warning() -> None:
    short, enough = RulerReading(ruler(29.9, 300), AMID), RulerReading(ruler(30, 300), AMID)
    assert by_ruler(short).sd_percent > 1.4
    assert "29.9 mm" in ruler_warnings(short)[0]
    assert ruler_warnings(enough) == ()


@pytest.mark.parametrize("millimetres", [0, -5, 0.9, 1001, math.inf])
def test_lengths_no_ruler_has_are_refused(millimetres: float) -> None:
    with pytest.raises(ScaleRefused, match="1 to 1000 mm") as refused:
        by_ruler(RulerReading(ruler(millimetres, 500), AMID))
    assert refused.value.field == "ruler_1_mm"


@pytest.mark.parametrize("pixels", [0, 19.9])
def test_marks_that_lie_in_one_place_are_refused(pixels: float) -> None:
    with pytest.raises(ScaleRefused, match="at least 20") as refused:
        by_ruler(RulerReading(ruler(10, pixels), AMID))
    assert refused.value.field == "ruler_1_end"


def test_a_ruler_on_the_detector_is_divided_by_the_stated_factor() -> None:
    """Source to midplane 5 ft (1524 mm), film 15 cm behind: 1674/1524, geometry."""
    factor = (1524 + 150) / 1524
    assert round(factor, 3) == 1.098
    reading = RulerReading(ruler(100, 1000), Plane.DETECTOR, factor=factor, factor_sd_percent=1)
    found = by_ruler(reading)
    assert found.across == pytest.approx(0.1 / factor)
    assert found.size == Size.NATURAL
    assert found.sd_percent == pytest.approx(math.hypot(click_sd_percent(100), 1))


def test_a_ruler_on_the_detector_without_a_factor_gives_film_millimetres_and_says_so() -> None:
    reading = RulerReading(ruler(100, 1000), Plane.DETECTOR)
    found = by_ruler(reading)
    assert (found.across, found.size, found.unit) == (0.1, Size.FILM, "film mm")
    assert "labelled so" in ruler_warnings(reading)[0]


@pytest.mark.parametrize("factor", [0.49, 3.01, 109.8])
def test_magnifications_nobody_has_are_refused(factor: float) -> None:
    with pytest.raises(ScaleRefused, match=r"0\.5 to 3") as refused:
        by_ruler(RulerReading(ruler(100, 1000), Plane.DETECTOR, factor=factor))
    assert refused.value.field == "factor"


def test_an_unusual_magnification_is_told() -> None:
    assert factor_warnings(1.098) == factor_warnings(1.33) == []
    assert "unusual" in factor_warnings(0.9)[0]
    reading = RulerReading(ruler(100, 1000), Plane.DETECTOR, factor=1.5)
    assert "unusual" in ruler_warnings(reading)[0]


@pytest.mark.parametrize(
    ("film_percent_enlarged", "multiplier"),
    # Atlases to natural size: Dibbets & Nolte, AJODO 2002;122:196, read in an excerpt
    [(12.9, 0.886), (6.0, 0.943)],
)
def test_a_stated_magnification_takes_the_enlargement_out(
    film_percent_enlarged: float, multiplier: float
) -> None:
    film = typed_film_scale(0.1, 0.1)
    found = by_magnification(film, 1 + film_percent_enlarged / 100)
    assert found.across / film.across == pytest.approx(multiplier, abs=0.0005)
    assert (found.size, found.origin) == (Size.NATURAL, Origin.MAGNIFICATION)


@pytest.mark.parametrize(
    ("off_plane", "lens", "percent"),
    [(5, 300, 1.7), (5, 500, 1.0), (5, 1000, 0.5)],  # dz/(D − dz), central projection, computed
)
def test_perspective_of_a_photograph(off_plane: float, lens: float, percent: float) -> None:
    assert round(doubt_sd_percent(Doubt(off_plane, lens, 0)), 1) == percent


@pytest.mark.parametrize(("tilt", "percent"), [(10, 1.5), (20, 6.0)])  # 1 − cos, computed
def test_tilt_of_a_photograph(tilt: float, percent: float) -> None:
    assert round(doubt_sd_percent(Doubt(0, 300, tilt)), 1) == percent


def test_perspective_agrees_with_a_camera_that_projects() -> None:
    """A pinhole at 300 mm sees a bar 5 mm nearer than the tooth it measures."""
    focal, lens, near = 50.0, 300.0, 5.0
    bar_on_sensor, tooth_on_sensor = 10 * focal / (lens - near), 10 * focal / lens
    read = 10 * tooth_on_sensor / bar_on_sensor
    error = 100 * (10 / read - 1)
    assert error == pytest.approx(doubt_sd_percent(Doubt(near, lens, 0)), rel=1e-9)


def test_the_error_of_a_photograph_holds_clicks_perspective_and_tilt() -> None:
    doubt = Doubt(5, 300, 10)
    found = by_ruler(RulerReading(ruler(10, 600), Plane.MEASURED, doubt=doubt))
    assert found.sd_percent == pytest.approx(math.hypot(click_sd_percent(10), doubt_sd_percent(doubt)))
    assert found.sd_percent > 4


def test_a_bar_nearer_to_the_lens_than_to_the_teeth_is_refused() -> None:
    reading = RulerReading(ruler(10, 600), Plane.MEASURED, doubt=Doubt(200, 300, 0))
    with pytest.raises(ScaleRefused) as refused:
        by_ruler(reading)
    assert refused.value.field == "off_plane"


@pytest.mark.parametrize("usual", [60, 71, 85])
def test_a_usual_s_n_says_nothing(usual: float) -> None:
    assert sn_words(usual) == ""


@pytest.mark.parametrize("unusual", [59.1, 85.1])
def test_an_unusual_s_n_asks_to_check_the_scale(unusual: float) -> None:
    """59.1 mm is the mean S-N of a public set of films by its nominal scale, about 10 mm short (computed)."""
    assert f"S-N would be {unusual} mm" in sn_words(unusual)
    assert "on the film" in sn_words(unusual, Size.FILM)
