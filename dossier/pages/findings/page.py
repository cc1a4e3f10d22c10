"""Findings of each stage, as measured."""

from typing import Any

from dossier.case_file import CANDIDATE, CaseFile
from dossier.pages import Page


def contents(file: CaseFile) -> dict[str, Any] | None:
    """Stages with findings; the column of comments only where there is one."""
    stages = [stage for stage in file.stages if stage.findings]
    commented = file.edition == CANDIDATE and any(one.note for stage in stages for one in stage.findings)
    return {"stages": stages, "commented": commented} if stages else None


PAGE = Page(order=30, contents=contents)
