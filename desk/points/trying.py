"""Another examiner's value put in for one line, for scoring only. Nothing here is ever stored."""

from dataclasses import dataclass

from desk.measuring.fields import Stored
from desk.measuring.supposing import Supposed, suppose
from scoring import registry
from scoring.line_names import form_order, line_names
from scoring.present import number_words, total_words
from scoring.result import Line
from scoring.selectors import Scored


@dataclass(frozen=True, slots=True)
class Tried:
    """What was typed for the line of an anchor, and what it would then score; `fault` where it cannot be read."""

    anchor: str
    typed: str
    points: str = ""
    total: str = ""
    rule: str = ""
    fault: str = ""


def tried_value(scored: Scored, line: Line, place: int, anchor: str, typed: str, step: str) -> Tried:
    """The line at a place of the form's order with another value in place of its finding's."""
    (finding,) = line.findings
    stored = {(f.quantity, f.site, f.nth): Stored(f, 0) for f in scored.reading.findings}
    wanted = Supposed(finding.quantity, finding.site, finding.nth, typed)
    after = suppose(scored.reading, stored, [wanted], step, scored.notation)
    if after.faults:
        return Tried(anchor, typed, fault=" ".join(fault.message for fault in after.faults))
    score = registry.score(
        scored.index.key, after.sheet, scored.chosen.edition, scored.chosen.values, "lines"
    )
    name = line_names(form_order(scored.score))[place]
    lines = form_order(score)
    then = dict(zip(line_names(lines), lines, strict=True)).get(name)
    return Tried(
        anchor,
        typed,
        points=number_words(then.points) if then else "0",
        total=total_words(number_words(score.total), score.complete),
        rule=then.rule if then else "no line would stand here",
    )
