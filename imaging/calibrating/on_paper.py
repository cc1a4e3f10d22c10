"""How large a picture is as it is shown: its own size after turns, mirrors and crops.  Pure."""

import math

from imaging.calibration import Scale
from imaging.tracing.on_picture import Shown


def size_of(shown: Shown, scale: Scale) -> tuple[float, float]:
    """Width and height of the shown picture in millimetres of the scale."""
    across, down = pixel_of(shown, scale)
    return shown.width * across, shown.height * down


def pixel_of(shown: Shown, scale: Scale) -> tuple[float, float]:
    """Millimetres for a pixel of the shown picture, across and down; its edges run along those of the original."""
    # One step across the shown picture is a step along one axis of the original; the other entry of the pair is 0.
    across = scale.across / abs(shown.xx) if shown.xx else scale.down / abs(shown.xy)
    down = scale.down / abs(shown.yy) if shown.yy else scale.across / abs(shown.yx)
    assert math.isfinite(across) and math.isfinite(down)  # noqa: PT018
    return across, down
