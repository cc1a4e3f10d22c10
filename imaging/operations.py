"""What may be done to a picture: turn, mirror, invert, crop, brighten as a whole, mask. Kept as data, so all can be undone.

Nothing here changes part of a picture in a way that could hide or improve a finding, except the mask, which leaves
one plain grey and is listed. Places are in per cent of the width or height of the picture as it stands by then.
"""

import re
from collections.abc import Mapping, Sequence
from typing import Any

from PIL import Image, ImageChops, ImageEnhance

MASK_GREY = (128, 128, 128)
LEAST_LEFT = {"crop": 5, "mask": 1}
"""Per cent of width or height that must be left between two edges."""
EDGES = ("left", "right", "top", "bottom")
TURNS = {"quarter_right": Image.Transpose.ROTATE_270, "quarter_left": Image.Transpose.ROTATE_90}
DARKEST, BRIGHTEST = 50, 200


class OperationRefused(Exception):
    """An operation that is not allowed or makes no sense; the text says what is, `field` which entry it is about."""

    def __init__(self, words: str, field: str = "") -> None:
        super().__init__(words)
        self.field = field


def checked(kind: str, given: Mapping[str, str]) -> dict[str, Any]:
    """An operation as it is kept, from what a form gave; raises OperationRefused.

    `kind`: quarter_right, quarter_left, mirror, invert, brightness (`per_cent` 50 to 200), crop or mask (`left`, `right`,
    `top`, `bottom`: per cent from that edge, to the tenth). A mask also needs `outside`: the statement that what it
    covers lies outside the anatomy, which is kept with it.
    """
    if kind in TURNS or kind in ("mirror", "invert"):
        return {"kind": kind}
    if kind == "brightness":
        value = _whole(given, "per_cent")
        if not DARKEST <= value <= BRIGHTEST or value == 100:
            raise OperationRefused(
                f"Brightness: {DARKEST} to {BRIGHTEST} per cent, and not 100, which changes nothing.",
                "per_cent",
            )
        return {"kind": kind, "per_cent": value}
    if kind == "crop":
        return {"kind": kind, **_edges(kind, given)}
    if kind == "mask":
        edges = _edges(kind, given)
        if given.get("outside") != "on":
            raise OperationRefused(
                "Look at the area and state that it lies outside the anatomy; nothing else may be masked.",
                "outside",
            )
        return {"kind": kind, **edges, "outside": True}
    raise OperationRefused(
        "This cannot be done to a picture. Allowed: turn, mirror, invert, crop, brightness, mask."
    )


def _edges(kind: str, given: Mapping[str, str]) -> dict[str, int | float]:
    edges = {name: _tenths(given, name) for name in EDGES}
    for one, other in (("left", "right"), ("top", "bottom")):
        if round((edges[one] + edges[other]) * 10) > (100 - LEAST_LEFT[kind]) * 10:
            raise OperationRefused(
                f"{one.capitalize()} and {other} leave less than {LEAST_LEFT[kind]} per cent between them.",
                other,
            )
    if not any(edges.values()):
        raise OperationRefused(
            "Say how much from at least one edge; 0 on all four is the whole picture.", "left"
        )
    return edges


def _whole(given: Mapping[str, str], name: str) -> int:
    text = given.get(name, "").strip()
    if not re.fullmatch(r"[0-9]{1,3}", text):
        raise OperationRefused(f"{name.replace('_', ' ').capitalize()}: a whole number of per cent.", name)
    return int(text)


def _tenths(given: Mapping[str, str], name: str) -> int | float:
    text = given.get(name, "").strip().replace(",", ".") or "0"
    if not re.fullmatch(r"[0-9]{1,3}(\.[0-9])?", text) or float(text) > 100:
        raise OperationRefused(f"{name.capitalize()}: 0 to 100 per cent, at most one decimal.", name)
    value = float(text)
    return int(value) if value.is_integer() else value


def applied(picture: Image.Image, operations: Sequence[Mapping[str, Any]]) -> Image.Image:
    """The picture after the operations, in their order."""
    for one in operations:
        picture = _apply(picture, one)
    return picture


def share_kept(operations: Sequence[Mapping[str, Any]]) -> float:
    """Lower bound of the share of the longer side that crops leave, over 0 to 1."""
    share = 1.0
    for one in operations:
        if one["kind"] == "crop":
            share *= min(100 - one["left"] - one["right"], 100 - one["top"] - one["bottom"]) / 100
    return share


def _apply(picture: Image.Image, one: Mapping[str, Any]) -> Image.Image:
    kind = one["kind"]
    if kind in TURNS:
        return picture.transpose(TURNS[kind])
    if kind == "mirror":
        return picture.transpose(Image.Transpose.FLIP_LEFT_RIGHT)
    if kind == "invert":
        return ImageChops.invert(picture)
    if kind == "brightness":
        return ImageEnhance.Brightness(picture).enhance(one["per_cent"] / 100)
    box = _box(picture.size, one)
    if kind == "crop":
        return picture.crop(box)
    masked = picture.copy()
    masked.paste(MASK_GREY, box)
    return masked


def _box(size: tuple[int, int], one: Mapping[str, Any]) -> tuple[int, int, int, int]:
    """Left, top, right, bottom in pixels, rounded outwards: a mask covers at least what was marked."""
    width, height = size
    off = {
        name: round(one[name] * 10) for name in EDGES
    }  # tenths of a per cent, so that nothing is lost in floats
    left, top = width * off["left"] // 1000, height * off["top"] // 1000
    right, bottom = width - width * off["right"] // 1000, height - height * off["bottom"] // 1000
    return left, top, max(right, left + 1), max(bottom, top + 1)


def words(one: Mapping[str, Any]) -> str:
    """An operation in words, for the list beside the picture and in print."""
    kind = one["kind"]
    plain = {
        "quarter_right": "turned a quarter to the right",
        "quarter_left": "turned a quarter to the left",
        "mirror": "mirrored left to right",
        "invert": "dark and bright exchanged",
    }
    if kind in plain:
        return plain[kind]
    if kind == "brightness":
        return f"overall brightness {one['per_cent']} per cent"
    edges = ", ".join(f"{one[name]} % from the {name}" for name in EDGES if one[name])
    if kind == "crop":
        return f"cropped by {edges}"
    return f"masked with one grey outside the anatomy: an area {edges}"
