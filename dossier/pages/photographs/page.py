"""Pictures of each stage in bands: faces; right, front, left; upper and lower; further views; radiographs."""

from dataclasses import dataclass
from typing import Any

from dossier.case_file import CaseFile, StagePart
from dossier.pages import Page
from portfolio.photographs import BANDS, RADIOGRAPHS


@dataclass(frozen=True, slots=True)
class StagePictures:
    """A stage that has pictures, and what they are."""

    stage: StagePart

    @property
    def title(self) -> str:
        radiographs = [band.heading == BANDS[RADIOGRAPHS] for band in self.stage.bands]
        if all(radiographs):
            return "Radiographs"
        return "Photographs and radiographs" if any(radiographs) else "Photographs"


def contents(file: CaseFile) -> dict[str, Any] | None:
    """Stages with pictures; nothing when there are none."""
    parts = [StagePictures(stage) for stage in file.stages if stage.bands]
    return {"parts": parts} if parts else None


PAGE = Page(order=20, contents=contents)
