"""Findings of each stage, as measured."""

from typing import Any

from dossier.case_file import CANDIDATE, CaseFile, StagePart
from dossier.pages import Page

TRACED = "Read from the tracing of the lateral radiograph"


def contents(file: CaseFile) -> dict[str, Any] | None:
    """Stages with findings; the column of comments only where there is one."""
    stages = [_parted(stage) for stage in file.stages if stage.findings]
    commented = file.edition == CANDIDATE and any(one.note for stage in file.stages for one in stage.findings)
    return {"stages": stages, "commented": commented} if stages else None


def _parted(stage: StagePart) -> dict[str, Any]:
    """A stage's findings with what they were read from; those of a tracing apart."""
    measured = [one for one in stage.findings if not one.traced]
    traced = [one for one in stage.findings if one.traced]
    parts = [(f"Measured on {stage.medium}", measured), (TRACED, traced)]
    return {"label": stage.label, "parts": [(words, found) for words, found in parts if found]}


PAGE = Page(order=30, contents=contents)
