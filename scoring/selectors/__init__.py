"""Reading rule choices, standing scores, kept scores and typed tallies."""

from scoring.selectors.caseload import Caseload, SheetFrame, caseload, sheet_frames
from scoring.selectors.choices import (
    Chosen,
    Ways,
    choices,
    chosen,
    chosen_of,
    limits,
    ways_of,
)
from scoring.selectors.repeat_totals import (
    DetectableChange,
    RepeatedTotals,
    minimal_detectable_change,
    repeated_totals,
)
from scoring.selectors.scores import KeptRow, Scored, kept_rows, scored, then, typed_tallies
from scoring.selectors.standing import Standing, standing_now, standing_scores
from scoring.selectors.tails import tails_of

__all__ = [
    "Caseload",
    "Chosen",
    "DetectableChange",
    "KeptRow",
    "RepeatedTotals",
    "Scored",
    "SheetFrame",
    "Standing",
    "Ways",
    "caseload",
    "choices",
    "chosen",
    "chosen_of",
    "kept_rows",
    "limits",
    "minimal_detectable_change",
    "repeated_totals",
    "scored",
    "sheet_frames",
    "standing_now",
    "standing_scores",
    "tails_of",
    "then",
    "typed_tallies",
    "ways_of",
]
