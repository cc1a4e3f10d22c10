"""What tests of prints share."""

from __future__ import annotations

import io
from collections.abc import Callable
from pathlib import Path

import pikepdf
import pytest


@pytest.fixture
def blank_press(request: pytest.FixtureRequest, monkeypatch: pytest.MonkeyPatch) -> None:
    """Prints of one empty page, for tests of what becomes of a print; those marked `pressed` print the case."""
    if request.node.get_closest_marker("pressed"):
        return
    page = io.BytesIO()
    with pikepdf.new() as document:
        document.add_blank_page()
        document.save(page)

    def render(folder: Path, progress: Callable[[], None]) -> Path:
        progress()
        (folder / "out.pdf").write_bytes(page.getvalue())
        return folder / "out.pdf"

    monkeypatch.setattr("dossier.printing.render", render)
