"""The point-by-point sheet, for the candidate at the examination: each line with what it rests on, the weakest first."""

from typing import Any

from dossier.case_file import CANDIDATE, CaseFile
from dossier.pages import Page


def contents(file: CaseFile) -> dict[str, Any] | None:
    """Stages with scored lines and the number of each source; never in an examiner's copy."""
    parts = [
        {
            "stage": stage,
            "score": score,
            "repeats": stage.repeats if score is stage.points[0] else (),
            "lines": [(line, file.sources.index(line.source) + 1) for line in score.lines],
        }
        for stage in file.stages
        for score in stage.points
        if score.lines or score.weak
    ]
    return {"parts": parts} if parts and file.edition == CANDIDATE else None


PAGE = Page(order=45, contents=contents)
