"""The typeface that is served: whole, static, with every sign the pages use, and figures of equal width."""

from pathlib import Path

import pytest
from fontTools.ttLib import TTFont

from running.front_end import served_paths

STATIC = Path(__file__).resolve().parents[2] / "static"
FACES = [path for path in served_paths() if path.endswith(".woff2")]
LETTERS = {
    "Latin": [*range(0x20, 0x7F), *range(0xA0, 0x180)],
    "Greek": [code for code in range(0x391, 0x3CA) if code != 0x3A2],
    "Cyrillic": range(0x400, 0x460),
    "signs": [ord(sign) for sign in "°−–—×·±≤≥½…′″←↑→↓↔✓€"],
}


@pytest.mark.parametrize("face", FACES)
def test_a_face_holds_every_letter_and_sign_in_one_static_file(face: str) -> None:
    font = TTFont(STATIC / face)
    held = font.getBestCmap()
    missing = {name: [chr(code) for code in codes if code not in held] for name, codes in LETTERS.items()}
    assert missing == {name: [] for name in LETTERS}
    assert "fvar" not in font, "a variable font prints wrong letters"


@pytest.mark.parametrize("face", FACES)
def test_figures_and_the_minus_sign_are_of_equal_width(face: str) -> None:
    font = TTFont(STATIC / face)
    held = font.getBestCmap()
    assert len({font["hmtx"][held[ord(sign)]][0] for sign in "0123456789−"}) == 1


@pytest.mark.parametrize("face", FACES)
def test_prints_have_the_faces_of_the_pages(face: str) -> None:
    of_pages, of_prints = (TTFont((STATIC / face).with_suffix(kind)) for kind in (".woff2", ".ttf"))
    assert of_prints.getBestCmap() == of_pages.getBestCmap()
    assert of_prints["hmtx"].metrics == of_pages["hmtx"].metrics
    assert of_prints["head"].fontRevision == of_pages["head"].fontRevision
    assert of_prints["name"].getDebugName(6) == of_pages["name"].getDebugName(6)


def test_the_style_sheet_names_every_face() -> None:
    sheet = (STATIC / "css" / "screen.css").read_text(encoding="utf-8")
    assert [face for face in FACES if face not in sheet] == []
