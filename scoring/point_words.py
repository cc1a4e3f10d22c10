"""What the point-by-point sheet says of one line, on the screen and in print: errors, steps, other readings."""

from collections.abc import Sequence

from portfolio.errors import NoNumber, told
from portfolio.finding_sheet import Finding
from scoring.index import Index
from scoring.other_readings import OtherLine
from scoring.present import number_words
from scoring.result import Line
from scoring.step_words import step_words
from scoring.weakest import Apart, ErrorOf, steps_apart


def error_words(findings: Sequence[Finding], tell: ErrorOf) -> tuple[str, ...]:
    """The deviation of each finding that is a number, with where it comes from; equals once."""
    said = []
    for finding in findings:
        try:
            said.append(told(tell(finding)))
        except NoNumber:
            continue
    return tuple(dict.fromkeys(said))


def steps_of(line: Line, tell: ErrorOf, counted_in: str) -> tuple[str, ...]:
    """Both steps of a line in words, with standard deviations (SD) where one measured number tells them."""
    apart = {one.step: one for one in steps_apart(line, tell)}
    said = []
    for step in dict.fromkeys((line.next_step, line.previous_step)):
        words = step_words(step, line, counted_in)
        if words and step is not None:
            sds = f", {apart[step].sds:.1f} SD away" if step in apart else ""
            said.append(f"{words[:1].upper()}{words[1:]}{sds}")
    return tuple(said)


def change_words(apart: Apart, line: Line, counted_in: str) -> str:
    """`0.4 mm less (under 3 mm open) scores 2, 1 fewer`; on its limit `just over 5 mm scores 3, 1 more`."""
    words = step_words(apart.step, line, counted_in)
    if counted_in == "grade":
        return words
    return f"{words}, {number_words(abs(apart.change))} {'more' if apart.change > 0 else 'fewer'}"


def other_words(other: OtherLine, line: Line, index: Index) -> str:
    """One other reading of a rule choice and what the line would be by it."""
    choice = index.choice(other.choice)
    reading = dict(choice.options)[other.value]
    if other.points is None:
        then = "the line would not stand"
    elif other.points == line.points:
        then = f"the line stays {number_words(line.points)}"
    else:
        then = f"the line would be {number_words(other.points)}"
    return f"{choice.label}: read as “{reading}”, {then}"
