"""The lines of a score one by one, for an examiner's questions: what each rests on, and the ten nearest to a step.

The candidate's copy alone holds these values; an examiner's file leaves `StagePart.points` empty.
"""

from collections.abc import Collection
from dataclasses import dataclass
from functools import partial

from imaging.evidence import anchor_of
from portfolio.cast_chart import CastPlace, cast_place
from portfolio.errors import OwnError, error_of
from portfolio.finding_sheet import Sheet
from scoring.index import Index
from scoring.line_names import form_order, line_names
from scoring.other_readings import under_other_readings
from scoring.point_words import change_words, error_words, other_words, steps_of
from scoring.present import number_words, show_line, signs, total_words
from scoring.result import Score
from scoring.weakest import weakest


@dataclass(frozen=True, slots=True)
class PointLine:
    """One line that scores; `source` as the page of sources writes it, `evidence` names parts of the evidence pages."""

    row: str
    site: str
    findings: tuple[str, ...]
    error: tuple[str, ...]
    rule: str
    source: str
    certainty: str
    beaten_by: str
    steps: tuple[str, ...]
    """Distance to each step in the finding's unit and in standard deviations."""
    others: tuple[str, ...]
    """Other readings of rule choices that change its points."""
    evidence: tuple[str, ...]
    points: str
    cast: CastPlace | None = None
    """Where on the casts it was taken, for a line without evidence in the print."""


@dataclass(frozen=True, slots=True)
class WeakLine:
    """One of the lines nearest to a step, those without points included."""

    row: str
    site: str
    findings: tuple[str, ...]
    points: str
    sds: str
    changes: tuple[str, ...]


@dataclass(frozen=True, slots=True)
class PointsPart:
    """The lines of one score in the order of the form, the weakest apart; `silent` counts lines without points."""

    label: str
    edition: str
    total_words: str
    counted_in: str
    weak: tuple[WeakLine, ...]
    lines: tuple[PointLine, ...]
    silent: int


def points_part(
    score: Score,
    index: Index,
    sheet: Sheet,
    notation: str,
    own: Collection[OwnError],
    printed: Collection[str],
) -> PointsPart:
    """The lines of a score; `own` are errors of its reader, `printed` the anchors of evidence that is in the print."""
    tell = partial(error_of, own=tuple(own))
    lines = form_order(score)
    names = line_names(lines)
    others = under_other_readings(index, sheet, score)
    shown = [show_line(line, 0, notation, counted_in=index.counted_in) for line in lines]
    rows = [index.labels.get(line.category, line.category) for line in lines]
    return PointsPart(
        label=index.label,
        edition=index.edition_words(score.edition),
        total_words=total_words(number_words(score.total), score.complete),
        counted_in=index.counted_in,
        weak=tuple(
            WeakLine(
                rows[one.place],
                shown[one.place].site,
                shown[one.place].findings,
                shown[one.place].points,
                f"{one.nearest[0].sds:.1f} SD",
                tuple(change_words(apart, one.line, index.counted_in) for apart in one.nearest),
            )
            for one in weakest(lines, tell)
        ),
        lines=tuple(
            PointLine(
                row=row,
                site=words.site,
                findings=words.findings,
                error=error_words(line.findings, tell),
                rule=words.rule,
                source=signs(line.source),
                certainty=words.certainty,
                beaten_by=words.beaten_by,
                steps=steps_of(line, tell, index.counted_in),
                others=tuple(
                    other_words(one, line, index) for one in others.get(name, ()) if one.points != line.points
                ),
                evidence=(
                    pictured := tuple(
                        key for finding in line.findings if (key := anchor_of(finding)) in printed
                    )
                ),
                points=words.points,
                cast=None if pictured else cast_place(line.findings, notation),
            )
            for row, name, line, words in zip(rows, names, lines, shown, strict=True)
            if line.points
        ),
        silent=sum(1 for line in lines if not line.points),
    )
