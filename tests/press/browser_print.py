"""The same pages printed by a browser, to compare with."""

from __future__ import annotations

import subprocess
from pathlib import Path

from tests.debian_chromium import chromium

FLAGS = (
    "--headless",
    "--no-sandbox",
    "--disable-gpu",
    "--disable-background-networking",
    "--disable-component-update",
    "--disable-sync",
    "--disable-quic",
    "--no-first-run",
    "--no-pdf-header-footer",
)


def chromium_command(folder: Path, pdf: Path) -> list[str]:
    """The command that prints folder/page.html to a PDF; the browser's profile stays in the folder."""
    page = (folder / "page.html").as_uri()
    return [chromium(), *FLAGS, f"--user-data-dir={folder / 'profile'}", f"--print-to-pdf={pdf}", page]


def chromium_pdf(folder: Path) -> Path:
    """Print folder/page.html with headless Chromium."""
    pdf = folder / "browser.pdf"
    subprocess.run(chromium_command(folder, pdf), check=True, capture_output=True, timeout=120)
    return pdf
