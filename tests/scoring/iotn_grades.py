"""Grades of the need index for sheets that differ from its neutral one."""

from typing import Any

from scoring import registry
from scoring.result import Score
from tests.scoring.sheets import neutral_with


def scored(*changes: str, choices: dict[str, str] | None = None, **frame: str) -> Score:
    return registry.score("iotn", neutral_with(changes, index="iotn", **frame), choices=choices)


def grade(*changes: str, choices: dict[str, str] | None = None, **frame: str) -> Any:
    return scored(*changes, choices=choices, **frame).extra["grade"]


def fired(score: Score) -> list[str]:
    """The letters that fire as they are printed, in the order of the lines."""
    return [line.category for line in score.lines if line.category[0].isdigit()]


def missing(score: Score) -> list[str]:
    return [f"{m.category} {m.quantity} {' '.join(m.sites)}" for m in score.missing]
