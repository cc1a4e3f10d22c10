"""Tracings of two stages laid on each other: cranial base, maxilla and mandible on one page, with what moved."""

from typing import Any

from dossier.case_file import CaseFile
from dossier.pages import Page
from imaging.superimposing.staged import NOISE_WORDS


def contents(file: CaseFile) -> dict[str, Any] | None:
    """Each pair of stages; nothing when no two are traced."""
    return {"parts": file.superimpositions, "noise_words": NOISE_WORDS} if file.superimpositions else None


PAGE = Page(order=25, contents=contents)
