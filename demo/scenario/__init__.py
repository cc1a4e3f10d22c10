"""The invented scenario: a clinic, its people, its treated cases. Nothing in it comes from real people."""

from demo.scenario.board_cases import (
    BOARD,
    BOARD_PLAN,
    CASES,
    DRAWN_UNEVEN,
    SLIPPED_TALLY,
    SLIPPED_TOTAL,
    sheet_file,
)
from demo.scenario.people import CANDIDATE, COLLEAGUE, COLLEAGUES_PORTFOLIO, MANAGER, Person
from demo.scenario.plans import DemoCase, DemoPortfolio
from demo.scenario.possible_cases import BY_EYE, POSSIBLE
from demo.scenario.results import RESULTS

PORTFOLIOS = (BOARD, RESULTS)
"""The candidate's portfolios, that of the board first."""

__all__ = [
    "BOARD",
    "BOARD_PLAN",
    "BY_EYE",
    "CANDIDATE",
    "CASES",
    "COLLEAGUE",
    "COLLEAGUES_PORTFOLIO",
    "DRAWN_UNEVEN",
    "MANAGER",
    "PORTFOLIOS",
    "POSSIBLE",
    "RESULTS",
    "SLIPPED_TALLY",
    "SLIPPED_TOTAL",
    "DemoCase",
    "DemoPortfolio",
    "Person",
    "sheet_file",
]
