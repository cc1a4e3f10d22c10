"""Hints beside the score: what is possible and improbable on a sheet, alone and against other stages."""

from collections.abc import Iterable
from dataclasses import dataclass

from desk.measuring.live import GROUP_OF
from portfolio.finding_sheet import Sheet
from scoring.hints import Hint, hints
from scoring.step_words import minus


@dataclass(frozen=True, slots=True)
class ShownHint:
    """A reason to look again, and the row to begin with."""

    words: str
    why: str
    source: str
    group: str
    row: str


def show_hints(sheet: Sheet, notation: str) -> tuple[ShownHint, ...]:
    """Hints of a sheet by itself, in the order round the casts."""
    return _shown(hints(sheet, (), notation))


def show_hints_against(sheet: Sheet, others: Iterable[Sheet], notation: str) -> tuple[ShownHint, ...]:
    """Only what the case's other sheets speak of."""
    alone = hints(sheet, (), notation)
    return _shown(hints(sheet, others, notation)[len(alone) :])


def _shown(found: Iterable[Hint]) -> tuple[ShownHint, ...]:
    return tuple(
        ShownHint(
            minus(one.words),
            minus(one.why),
            one.source,
            GROUP_OF.get(one.quantities[0], "other"),
            one.quantities[0],
        )
        for one in found
    )
