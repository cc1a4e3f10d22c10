"""How sure a score is: exact chances of totals from the errors of the findings.  Pure; no draws, no randomness."""

from scoring.uncertainty import rows_discrepancy, rows_icon, rows_outcome, rows_par, rows_worst_and_sums
from scoring.uncertainty.change import ChangeLaw, change_law, detectable_change
from scoring.uncertainty.law import Distribution, percent
from scoring.uncertainty.lengths import NumberLaw, number_laws
from scoring.uncertainty.many import ManyTotals, laws_of
from scoring.uncertainty.model import BY_FINDING, CannotBeTold, ErrorModel, Question
from scoring.uncertainty.repeating import Repeated, if_repeated
from scoring.uncertainty.tails import Tails, errors_digest, read_tails, tails
from scoring.uncertainty.tipping import Matters, NearStep, leave_one_out, near_a_step
from scoring.uncertainty.total import ScoreLaw, law_of

__all__ = [
    "BY_FINDING",
    "CannotBeTold",
    "ChangeLaw",
    "Distribution",
    "ErrorModel",
    "ManyTotals",
    "Matters",
    "NearStep",
    "NumberLaw",
    "Question",
    "Repeated",
    "ScoreLaw",
    "Tails",
    "change_law",
    "detectable_change",
    "errors_digest",
    "if_repeated",
    "law_of",
    "laws_of",
    "leave_one_out",
    "near_a_step",
    "number_laws",
    "percent",
    "read_tails",
    "tails",
]

ROWS = (rows_discrepancy, rows_icon, rows_outcome, rows_par, rows_worst_and_sums)
"""Modules that describe rows; importing them registers these."""
