"""How large a picture is as shown: the same patient in any turn, mirror and resolution; crops take their share."""

from __future__ import annotations

import pytest
from hypothesis import given
from hypothesis import strategies as st

from imaging.calibrating.on_paper import pixel_of, size_of
from imaging.calibration import Origin, Scale, Size
from imaging.tracing.on_picture import shown_picture

LONGEST = 2400
TURNS = ("quarter_right", "quarter_left")
scales = st.builds(
    lambda across, down: Scale(across, down, 0.4, Origin.RULER, Size.NATURAL, ""),
    st.floats(0.02, 0.5),
    st.floats(0.02, 0.5),
)
pixels = st.tuples(st.integers(300, 6000), st.integers(300, 6000))


@given(scales, pixels, st.lists(st.sampled_from([*TURNS, "mirror", "invert"]), max_size=6))
def test_turns_and_mirrors_leave_the_size_and_only_exchange_width_and_height(
    scale: Scale, size: tuple[int, int], kinds: list[str]
) -> None:
    shown = shown_picture(size, [{"kind": kind} for kind in kinds], LONGEST, 4096)
    own = size[0] * scale.across, size[1] * scale.down
    turned = sum(kind in TURNS for kind in kinds) % 2
    assert size_of(shown, scale) == pytest.approx(own[::-1] if turned else own)


@given(scales, pixels, st.floats(0, 45).map(lambda share: round(share, 1)), st.sampled_from([None, *TURNS]))
def test_a_crop_takes_its_share_of_the_edge_it_is_cut_from(
    scale: Scale, size: tuple[int, int], per_cent: float, turn: str | None
) -> None:
    before = [{"kind": turn}] if turn else []
    whole = size_of(shown_picture(size, before, LONGEST, 4096), scale)
    crop = {"kind": "crop", "left": per_cent, "right": 10, "top": 0, "bottom": 0}
    shown = shown_picture(size, [*before, crop], LONGEST, 4096)
    width, height = size_of(shown, scale)
    assert width == pytest.approx(whole[0] * (90 - per_cent) / 100, abs=2.1 * pixel_of(shown, scale)[0])
    assert height == pytest.approx(whole[1])


def test_a_picture_that_is_shown_smaller_has_larger_pixels_of_the_same_patient() -> None:
    scale = Scale(0.1, 0.1, 0.4, Origin.RULER, Size.NATURAL, "")
    shown = shown_picture((4800, 3600), [], LONGEST, 4096)
    assert (shown.width, shown.height) == (2400, 1800)
    assert pixel_of(shown, scale) == pytest.approx((0.2, 0.2))
    assert size_of(shown, scale) == pytest.approx((480, 360))
