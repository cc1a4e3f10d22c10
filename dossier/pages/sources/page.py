"""The published sources of every rule that is printed."""

from typing import Any

from dossier.case_file import CaseFile
from dossier.pages import Page


def contents(file: CaseFile) -> dict[str, Any] | None:
    """Numbered as the score lines cite them; nothing without a score."""
    return {"sources": file.sources} if file.sources else None


PAGE = Page(order=50, contents=contents)
