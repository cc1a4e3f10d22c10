"""What findings rest on: parts of pictures round their marks, and witness pictures."""

from typing import Any

from dossier.case_file import CaseFile
from dossier.pages import Page


def contents(file: CaseFile) -> dict[str, Any] | None:
    """Stages with evidence; nothing when there is none."""
    stages = [stage for stage in file.stages if stage.evidence]
    return {"stages": stages} if stages else None


PAGE = Page(order=35, contents=contents)
