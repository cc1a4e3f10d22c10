"""Radiographs at their own size, each on a page of its own with a line of 100 mm."""

from typing import Any

from dossier.case_file import CaseFile
from dossier.pages import Page


def contents(file: CaseFile) -> dict[str, Any] | None:
    """The radiographs that have a size; nothing where none was asked for or there are none."""
    part = file.true_size
    return {"pictures": part.pictures, "others": part.others} if part else None


PAGE = Page(order=22, contents=contents)
