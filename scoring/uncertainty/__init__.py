"""How sure a score is: exact chances of totals from the errors of the findings.  Pure; no draws, no randomness."""

from scoring.uncertainty import rows_discrepancy, rows_icon, rows_outcome, rows_par
from scoring.uncertainty.law import Distribution, percent
from scoring.uncertainty.model import BY_FINDING, CannotBeTold, ErrorModel, Question
from scoring.uncertainty.total import ScoreLaw, law_of

__all__ = [
    "BY_FINDING",
    "CannotBeTold",
    "Distribution",
    "ErrorModel",
    "Question",
    "ScoreLaw",
    "law_of",
    "percent",
]

ROWS = (rows_discrepancy, rows_icon, rows_outcome, rows_par)
"""Modules that describe rows; importing them registers these."""
