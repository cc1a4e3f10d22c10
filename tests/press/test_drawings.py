"""The parts of drawings that printed pages use, each measured on a rasterised page; other parts are not used."""

from __future__ import annotations

import re
import subprocess
from collections.abc import Mapping
from pathlib import Path
from typing import Any

import numpy as np
import pytest
from PIL import Image

from dossier import pages
from press.services import render
from tests.architecture.source_tree import PROJECT
from tests.press.test_child import HEAD

DOTS = 254
"""Dots to the inch: ten for a millimetre."""
BESIDE = (
    "dossier/parts/check_line.html",
    "imaging/parts/superimposition_drawing.html",
    "parts/cast_chart.html",
)
"""Drawings that printed pages include from the templates of pages."""
PROVED: Mapping[str, frozenset[str]] = {
    "svg": frozenset({"width", "height", "viewBox", "role", "aria-label", "xmlns", "class"}),
    "g": frozenset({"class"}),
    "path": frozenset({"class", "d", "fill", "stroke", "stroke-width", "stroke-dasharray"}),
    "circle": frozenset({"class", "cx", "cy", "r", "fill", "stroke", "stroke-width"}),
    "image": frozenset({"href", "x", "y", "width", "height", "preserveAspectRatio"}),
    "text": frozenset({"class", "x", "y", "font-size", "font-family", "fill", "text-anchor"}),
    "title": frozenset(),
}
TEMPLATE_WORDS = re.compile(r"\{%.*?%\}|\{\{.*?\}\}|\{#.*?#\}", re.S)
PART = re.compile(r"<([a-zA-Z]+)((?:\s+[\w:-]+=\"[^\"]*\")*)\s*/?>")


def printed(drawing: str, folder: Path) -> np.ndarray[Any, Any]:
    """The drawing at the upper left corner of an A4 page, True where there is ink."""
    style = "<style>@page { size: A4; margin: 0 } body { margin: 0 } svg { display: block }</style>"
    (folder / "page.html").write_text(f"{HEAD}{style}<body>{drawing}", encoding="utf-8")
    command = ["pdftoppm", "-r", str(DOTS), "-gray", "-singlefile", str(render(folder)), str(folder / "page")]
    subprocess.run(command, check=True, capture_output=True)
    return np.asarray(Image.open(folder / "page.pgm")) < 128


def box(dark: np.ndarray[Any, Any]) -> tuple[float, float, float, float]:
    """Left, top, right and bottom of the ink, in millimetres."""
    down, across = np.flatnonzero(dark.any(axis=1)), np.flatnonzero(dark.any(axis=0))
    return across[0] / 10, down[0] / 10, (across[-1] + 1) / 10, (down[-1] + 1) / 10


def drawing(inside: str, size: tuple[int, int] = (120, 80), view: str = "0 0 120 80") -> str:
    return f'<svg width="{size[0]}mm" height="{size[1]}mm" viewBox="{view}" xmlns="http://www.w3.org/2000/svg">{inside}</svg>'


def test_a_line_of_100_mm_measures_100_mm(tmp_path: Path) -> None:
    dark = printed(drawing('<path d="M10 40H110" fill="none" stroke="#000" stroke-width="1"/>'), tmp_path)
    assert box(dark) == pytest.approx((10, 39.5, 110, 40.5), abs=0.15)


def test_dashes_have_their_lengths(tmp_path: Path) -> None:
    path = '<path d="M10 40H110" fill="none" stroke="#000" stroke-width="2" stroke-dasharray="10 15"/>'
    row = printed(drawing(path), tmp_path)[400]
    assert row[100:200].mean() > 0.97
    assert not row[205:345].any()
    assert row[350:450].mean() > 0.97


def test_a_circle_has_its_radius(tmp_path: Path) -> None:
    ring = '<circle cx="60" cy="40" r="20" fill="none" stroke="#000" stroke-width="1"/>'
    dark = printed(drawing(ring), tmp_path)
    assert box(dark) == pytest.approx((39.5, 19.5, 80.5, 60.5), abs=0.15)
    assert not dark[400, 600]


def test_a_box_of_other_units_is_scaled_as_a_whole(tmp_path: Path) -> None:
    bar = '<path d="M-500 -250H0V0H-500z" fill="#000"/>'
    dark = printed(drawing(bar, (100, 50), "-500 -250 1000 500"), tmp_path)
    assert box(dark) == pytest.approx((0, 0, 50, 25), abs=0.15)


def test_a_picture_is_stretched_to_exactly_the_room_it_is_given(tmp_path: Path) -> None:
    picture = Image.new("L", (400, 400), 255)
    picture.paste(0, (100, 200, 300, 300))
    picture.save(tmp_path / "one.png")
    image = '<image href="one.png" x="10" y="20" width="80" height="40" preserveAspectRatio="none"/>'
    dark = printed(drawing(image), tmp_path)
    assert box(dark) == pytest.approx((30, 40, 70, 50), abs=0.3)


def test_words_begin_where_they_are_put(tmp_path: Path) -> None:
    words = '<text x="30" y="50" font-size="20" font-family="Source Sans 3, DejaVu Sans" fill="#000">H</text>'
    left, top, _, bottom = box(printed(drawing(words), tmp_path))
    assert bottom == pytest.approx(50, abs=0.3)
    assert left == pytest.approx(31.8, abs=0.5)  # the side bearing of H is 0.09 of its size
    assert bottom - top == pytest.approx(20 * 0.66, abs=0.4)  # height of capitals of the typeface


def test_words_may_end_where_they_are_put(tmp_path: Path) -> None:
    words = '<text x="80" y="50" text-anchor="end" font-size="20" font-family="Source Sans 3, DejaVu Sans" fill="#000">H</text>'
    _, _, right, bottom = box(printed(drawing(words), tmp_path))
    assert (right, bottom) == pytest.approx((80 - 1.8, 50), abs=0.5)


@pytest.mark.parametrize(
    "template",
    [*sorted(pages.HERE.rglob("*.html")), *(PROJECT / "templates" / name for name in BESIDE)],
    ids=lambda path: "/".join(path.parts[-2:]),
)
def test_printed_pages_draw_with_proved_parts_only(template: Path) -> None:
    text = TEMPLATE_WORDS.sub("", template.read_text(encoding="utf-8"))
    for one in re.findall(r"<svg.*?</svg>", text, re.S):
        for name, attributes in PART.findall(one):
            assert name in PROVED, name
            assert set(re.findall(r"([\w:-]+)=", attributes)) <= PROVED[name], (name, attributes)
