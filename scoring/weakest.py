"""How near each line of a score stands to a step, in the unit of its finding and in standard deviations."""

from collections.abc import Callable, Sequence
from decimal import Decimal
from typing import NamedTuple

from portfolio.errors import FindingError
from portfolio.finding_sheet import Finding
from scoring.result import Line
from scoring.shapes import Step
from scoring.step_words import read_number

WEAKEST = 10
ErrorOf = Callable[[Finding], FindingError]


class Apart(NamedTuple):
    """One step of a line: `distance` in the unit of `finding`, `sds` of its standard deviations away, never negative.

    `change` is what the line would then score more (positive) or fewer (negative), weighted.
    """

    finding: Finding
    step: Step
    distance: Decimal
    sds: float
    change: Decimal


class Weak(NamedTuple):
    """A line by its place in the score, with its nearest step; two where both are equally near."""

    place: int
    line: Line
    nearest: tuple[Apart, ...]


def steps_apart(line: Line, error_of: ErrorOf) -> tuple[Apart, ...]:
    """The steps of a line that are told by one measured number, toward more points first.

    None for codes, counts, sums and regions stated free, for rules in fractions of a point (they have no limit), for a
    number that is certain, and for a line that a rival beats: its own step alone moves nothing.
    """
    if line.beaten_by or line.next_step == line.previous_step:
        return ()
    found = []
    for step in (line.next_step, line.previous_step):
        finding, limit = (None, None) if step is None else _measured(line, step)
        if step is None or finding is None or limit is None:
            continue
        error = error_of(finding)
        if not error.certain:
            distance = Decimal(step.distance)
            sds = float(distance) / error.sd
            found.append(Apart(finding, step, distance, sds, step.points - line.points))
    return tuple(found)


def weakest(lines: Sequence[Line], error_of: ErrorOf, most: int = WEAKEST) -> tuple[Weak, ...]:
    """The lines nearest to a step in deviations, the nearest first, equals in the order given."""
    found = []
    for place, line in enumerate(lines):
        apart = steps_apart(line, error_of)
        if apart:
            least = min(one.sds for one in apart)
            found.append(Weak(place, line, tuple(one for one in apart if one.sds == least)))
    return tuple(sorted(found, key=lambda one: one.nearest[0].sds)[:most])


def _measured(line: Line, step: Step) -> tuple[Finding | None, Decimal | None]:
    try:
        limit = Decimal(step.at)
    except ArithmeticError:
        return None, None
    return read_number(step, line, limit), limit
