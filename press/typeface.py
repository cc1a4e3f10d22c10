"""The typeface of print: the faces that travel with each page, the named fallback, and which characters have no glyph.

The child process sees these files only, through a font configuration of its own.
"""

import shutil
from functools import cache
from pathlib import Path

from fontTools.ttLib import TTFont

VENDOR = Path(__file__).resolve().parent.parent / "static" / "vendor"
FALLBACK_FOLDERS = (Path("/usr/share/fonts/truetype/dejavu"), Path("/usr/share/fonts/dejavu-sans-fonts"))
"""Where systems keep DejaVu Sans."""

FACES = {
    "Regular": (400, "normal"),
    "Italic": (400, "italic"),
    "Semibold": (600, "normal"),
    "Bold": (700, "normal"),
}
FAMILY = '"Source Sans 3", "DejaVu Sans"'
WITHOUT_INK = frozenset(
    "\n\r\t\u00ad\u034f\u061c\u200b\u200c\u200d\u200e\u200f\u202a\u202b\u202c\u202d\u202e"
    "\u2060\u2066\u2067\u2068\u2069\ufe0e\ufe0f\ufeff"
)
"""Characters that steer how others are set; they need no glyph and print none."""


def face_files() -> dict[str, Path]:
    """Name of each face → its file; raises FileNotFoundError where the front-end files were not fetched."""
    found = {
        name: next(iter(sorted(VENDOR.glob(f"source-sans-*/SourceSans3-{name}.ttf"))), None) for name in FACES
    }
    missing = [name for name, path in found.items() if path is None]
    if missing:
        raise FileNotFoundError(f"Typeface files missing in static/vendor: {', '.join(missing)}.")
    return {name: path for name, path in found.items() if path is not None}


def fallback_file() -> Path | None:
    """The fallback face, if the system has it."""
    places = (folder / "DejaVuSans.ttf" for folder in FALLBACK_FOLDERS)
    return next((place for place in places if place.is_file()), None)


def put_typeface(folder: Path) -> None:
    """Copy the faces into a folder with their style sheet fonts.css and the font configuration fonts.conf."""
    fonts = folder / "fonts"
    fonts.mkdir()
    rules = []
    for name, path in face_files().items():
        shutil.copyfile(path, fonts / path.name)
        weight, style = FACES[name]
        rules.append(
            f'@font-face {{ font-family: "Source Sans 3"; font-weight: {weight}; font-style: {style}; '
            f'src: url("fonts/{path.name}") format("truetype"); }}'
        )
    rules.append(f"html {{ font-family: {FAMILY}; }}")
    (folder / "fonts.css").write_text("\n".join(rules), encoding="utf-8")
    fallback = fallback_file()
    if fallback is not None:
        shutil.copyfile(fallback, fonts / fallback.name)
    (folder / "fonts.conf").write_text(
        f'<?xml version="1.0"?><!DOCTYPE fontconfig SYSTEM "fonts.dtd"><fontconfig><dir>{fonts}</dir>'
        f"<cachedir>{folder / 'font-cache'}</cachedir></fontconfig>",
        encoding="utf-8",
    )


@cache
def _drawable() -> frozenset[int]:
    regular = set(TTFont(face_files()["Regular"]).getBestCmap())
    fallback = fallback_file()
    return frozenset(regular | (set(TTFont(fallback).getBestCmap()) if fallback else set()))


def without_glyph(text: str) -> tuple[str, ...]:
    """The characters of a text that print could only show as a box, each once, in order."""
    drawable = _drawable()
    return tuple(one for one in dict.fromkeys(text) if ord(one) not in drawable and one not in WITHOUT_INK)
