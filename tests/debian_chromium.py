"""Which browser journeys and pictures of pages are made with."""

from __future__ import annotations

import shutil

NAMES = ("chromium-headless-shell", "chromium")
"""Debian's packages. The first draws the same pages without windows of its own, in a third of the processor's time."""


def chromium() -> str:
    """Where Debian's Chromium is; raises RuntimeError with the package to install."""
    for name in NAMES:
        found = shutil.which(name)
        if found:
            return found
    raise RuntimeError(f"Chromium is needed for the browser journeys: apt-get install {NAMES[0]}")
