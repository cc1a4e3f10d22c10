"""Printed ink against glyphs drawn by another library, and characters that have no glyph."""

from __future__ import annotations

import subprocess
from collections.abc import Sequence
from pathlib import Path

import pytest
from fontTools.ttLib import TTFont
from PIL import Image, ImageDraw, ImageFont

from press.services import render
from press.typeface import WITHOUT_INK, face_files, put_typeface, without_glyph

SAMPLES = ("Overjet 4.5", "αβγ Ω", "Журнал", "−12° ≤ ≥ →", "fi ffl 0189")
INK = 128
SOFT_HYPHEN = "\u00ad"  # prints where a line ends


def inked(picture: Image.Image) -> Image.Image:
    """The inked part of a picture, scaled to one height."""
    dark = picture.convert("L").point(lambda value: 255 if value < INK else 0)
    box = dark.getbbox()
    assert box is not None, "no ink at all"
    return dark.crop(box).resize((400, 60)).point(lambda value: 255 if value >= INK else 0)


def likeness(one: Image.Image, other: Image.Image) -> float:
    """Shared ink over all ink of two pictures, 0 to 1."""
    pairs = list(zip(one.tobytes(), other.tobytes(), strict=True))
    return sum(1 for a, b in pairs if a and b) / sum(1 for a, b in pairs if a or b)


def drawn(text: str, tmp_path: Path) -> Image.Image:
    font = TTFont(face_files()["Regular"])
    font.flavor = None
    font.save(tmp_path / "plain.ttf")
    picture = Image.new("L", (2400, 300), 255)
    ImageDraw.Draw(picture).text(
        (40, 60), text, fill=0, font=ImageFont.truetype(str(tmp_path / "plain.ttf"), 120)
    )
    return picture


def printed_lines(lines: Sequence[str], folder: Path) -> Sequence[Image.Image]:
    """Each line as it prints on a page of its own, in grey."""
    folder.mkdir()
    paragraphs = "".join(f"<p>{line}</p>" for line in lines)
    (folder / "page.html").write_text(
        '<!doctype html><html lang="en"><title>x</title><link rel="stylesheet" href="fonts.css">'
        f"<style>p {{ font-size: 40pt; white-space: nowrap; break-after: page }}</style>{paragraphs}",
        encoding="utf-8",
    )
    command = ["pdftoppm", "-r", "216", "-gray", str(render(folder)), str(folder / "page")]
    subprocess.run(command, check=True, capture_output=True)
    return [Image.open(file) for file in sorted(folder.glob("page-*.pgm"))][: len(lines)]


def printed(text: str, folder: Path) -> Image.Image:
    return printed_lines([text], folder)[0]


@pytest.mark.parametrize("text", SAMPLES)
def test_printed_ink_is_that_of_the_glyphs_of_the_typeface(text: str, tmp_path: Path) -> None:
    ink = inked(printed(text, tmp_path / "print"))
    assert likeness(ink, inked(drawn(text, tmp_path))) > 0.75


def test_the_comparison_of_ink_tells_other_words_apart(tmp_path: Path) -> None:
    ink = inked(printed("Overjet 4.5", tmp_path / "print"))
    assert likeness(ink, inked(drawn("Overbite 8.2", tmp_path))) < 0.6


def test_a_character_without_a_glyph_is_named_and_others_are_not() -> None:
    assert without_glyph("Overjet −3° αЖ\n→ אב") == ()
    assert without_glyph("smile 🦷 and 歯 and 🦷") == ("🦷", "歯")


def test_the_folder_holds_all_the_fonts_the_print_may_use(tmp_path: Path) -> None:
    put_typeface(tmp_path)
    named = (tmp_path / "fonts.conf").read_text(encoding="utf-8")
    assert f"<dir>{tmp_path / 'fonts'}</dir>" in named
    assert named.count("<dir>") == 1
    assert len(list((tmp_path / "fonts").iterdir())) == 5


def test_characters_that_steer_others_print_no_ink(tmp_path: Path) -> None:
    steering = sorted(one for one in WITHOUT_INK if one > " " and one != SOFT_HYPHEN)
    without, *others = printed_lines(["OHOOHO", *(f"OHO{one}OHO" for one in steering)], tmp_path / "print")
    assert len(others) == len(steering)
    for one, ink in zip(steering, others, strict=True):
        assert likeness(inked(ink), inked(without)) > 0.97, f"U+{ord(one):04X}"
