"""Scores of each stage: every line with its rule, points and source, and the rule choices in force."""

from collections.abc import Sequence
from dataclasses import replace
from typing import Any

from dossier.case_file import CANDIDATE, CaseFile, ScorePart
from dossier.pages import Page


def contents(file: CaseFile) -> dict[str, Any] | None:
    """Stages with scores; sources are numbered as on the page of sources."""
    parts = [
        {"stage": stage, "score": _numbered(score, file.sources)}
        for stage in file.stages
        for score in stage.scores
    ]
    return {"parts": parts, "whole": file.edition == CANDIDATE} if parts else None


def _numbered(score: ScorePart, sources: Sequence[str]) -> ScorePart:
    """The score with its lines citing by the numbers of the page of sources."""
    number = [sources.index(source) + 1 for source in score.sources]
    return replace(
        score,
        categories=tuple(
            replace(row, lines=tuple(replace(one, source=number[one.source - 1]) for one in row.lines))
            for row in score.categories
        ),
    )


PAGE = Page(order=40, contents=contents)
