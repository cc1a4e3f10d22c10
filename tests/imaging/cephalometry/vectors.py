"""The vector file that every program measuring a tracing must reproduce, and how it is made.

`python -m tests.imaging.cephalometry.vectors` writes `tests/imaging/tracing_vectors.json` anew: expected values
come from `plain_trigonometry`, their errors from small steps of it, never from the product.
"""

import json
import math
from pathlib import Path
from typing import Any

from tests.imaging.cephalometry.faces import ORDINARY, Points, flipped, moved, tracing, without
from tests.imaging.cephalometry.plain_trigonometry import measures

FILE = Path(__file__).parents[1] / "tracing_vectors.json"
ABOUT = (
    "Tracing files with the measures expected of them, values and standard deviations to two decimals. "
    "Made by tests/imaging/cephalometry/vectors.py from plain trigonometry."
)
PLANES = {"go_me": ("Go", "Me"), "go_gn": ("Go", "Gn"), "tangent": ("MT", "Me")}
OWN_SDS = {"A": 0.8, "U1A": 1.2, "L1A": 1.5, "Po": 1.3, "S": 0.2, "Go": 0}
STEP = 1e-4
DERIVED = {"OPm": ("U6", "L6"), "OPi": ("U1", "L1"), "U1F": ("U1",), "L1F": ("L1",), "Cm": ("Prn",)}


def _rounded(points: Points, places: int = 3) -> Points:
    return {name: [round(number, places) + 0.0 for number in at] for name, at in points.items()}


def _files() -> dict[str, dict[str, Any]]:
    picture = _rounded(moved(flipped(ORDINARY, x=-1), degrees=6, x=190, y=140, scale=10))
    picture = _rounded(flipped(picture, y=-1))
    picture = {name: [*at, *([OWN_SDS[name]] if name in OWN_SDS else [])] for name, at in picture.items()}
    reverse = {**ORDINARY, "B": [71.5, -87], "Pog": [73.4, -96], "Gn": [69.8, -102.4], "U1": [75.5, -74.2]}
    return {
        "millimetres": tracing(),
        "a picture of the left side, turned, with errors of its own": tracing(
            picture,
            y="down",
            faces="left",
            mm_per_unit="0.1",
            scale_sd_percent="0.4",
            mandibular_plane="go_gn",
        ),
        "another scale across than down": tracing(
            _rounded(flipped(ORDINARY, x=4, y=5)), mm_per_unit=["0.25", "0.2"], mandibular_plane="tangent"
        ),
        "lower jaw ahead, without a scale": tracing(reverse, mm_per_unit=None),
        "overlaps and faces derived": tracing(without(*DERIVED), scale_sd_percent="2"),
    }


def _laid_right(whole: dict[str, Any]) -> tuple[dict[str, complex], dict[str, float]]:
    """Points as plain complex numbers, profile facing right and y up, and their errors."""
    given = whole.get("mm_per_unit", "1")
    x, y = (float(n) for n in (given if isinstance(given, list) else (given, given)))
    x, y = (-x if whole["faces"] == "left" else x), (-y if whole["y"] == "down" else y)
    points = {name: complex(at[0] * x, at[1] * y) for name, at in whole["points"].items()}
    return points, {name: ([*at, 0.5][2]) for name, at in whole["points"].items()}


def _expected(whole: dict[str, Any]) -> dict[str, dict[str, str]]:
    plane = whole.get("mandibular_plane", "go_me")
    points, sds = _laid_right(whole)
    scale = "mm_per_unit" in whole

    def told(at: dict[str, complex]) -> dict[str, float]:
        made = {n: sum(at[part] for part in of) / len(of) for n, of in DERIVED.items() if n not in at}
        return measures({**at, **made}, PLANES[plane])

    values = told(points)
    squares = dict.fromkeys(values, 0.0)
    for name, at in points.items():
        for step in (STEP, STEP * 1j):
            high, low = told({**points, name: at + step}), told({**points, name: at - step})
            for key in values:
                squares[key] += (sds[name] * (high[key] - low[key]) / (2 * STEP)) ** 2
    found: dict[str, dict[str, str]] = {}
    for key, value in values.items():
        unit = unit_of(key)
        if unit == "mm" and not scale:
            continue
        if unit == "mm":
            squares[key] += (value * float(whole.get("scale_sd_percent", "0")) / 100) ** 2
        found[key] = {"value": f"{value:.2f}", "unit": unit}
        if scale:
            found[key]["sd"] = f"{math.sqrt(squares[key]):.2f}"
        if key in ("sn_mp", "fma", "fmia", "impa"):
            found[key]["plane"] = plane
    return found


def unit_of(key: str) -> str:
    """The unit by the list of measures: lengths are named or end in _mm."""
    lengths = (
        "s_l s_e wits s_go n_me co_a co_gn ans_me eline_upper eline_lower s_line_upper s_line_lower".split()
    )
    if key.endswith("_mm") or key in lengths:
        return "mm"
    return {"height_ratio": "%", "holdaway_ratio": ""}.get(key, "deg")


def made() -> dict[str, Any]:
    """What the file holds."""
    cases = []
    for name, whole in _files().items():
        expected = _expected(whole)
        refused = {}
        if "mm_per_unit" not in whole:
            refused = {key: "not calibrated" for key in _expected(tracing()) if unit_of(key) == "mm"}
        cases.append({"name": name, "tracing": whole, "measures": expected, "refused": refused})
    return {"about": ABOUT, "cases": cases}


if __name__ == "__main__":
    FILE.write_text(json.dumps(made(), indent=1) + "\n")
