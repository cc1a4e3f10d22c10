"""What the point-by-point sheet shows: each line with evidence, rule, distance to its steps and other readings."""

from dataclasses import dataclass
from functools import partial

from desk.points.spelling import spelling
from desk.points.trying import Tried
from desk.score_page import CAUTION, Head, head
from imaging.evidence import ShownEvidence, anchor_of, shown_evidence
from portfolio.access import Asker
from portfolio.cast_chart import CastPlace, cast_place
from portfolio.error_figures.selectors import errors_in_force
from portfolio.errors import error_of
from portfolio.models import Sheet
from scoring.line_names import form_order, line_anchor, line_names
from scoring.other_readings import under_other_readings
from scoring.point_words import change_words, error_words, other_words, steps_of
from scoring.present import ShownLine, number_words, show_line, total_words
from scoring.result import Line
from scoring.selectors import Scored
from scoring.weakest import weakest


@dataclass(frozen=True, slots=True)
class Point:
    """One line; `anchor` names it in the page and stays while values change."""

    anchor: str
    row: str
    words: ShownLine
    source: str
    error: tuple[str, ...]
    """The deviation of each finding with where it comes from."""
    steps: tuple[str, ...]
    """Distance to each step in deviations."""
    others: tuple[str, ...]
    evidence: tuple[ShownEvidence, ...]
    cast: CastPlace | None
    """Where on the casts it was taken, for a line without a picture."""
    can_be_tried: bool
    spelling: str
    """How a value is typed, where one can be tried."""
    tried: Tried | None


@dataclass(frozen=True, slots=True)
class WeakPoint:
    """One of the weakest lines: how near, and what would change."""

    anchor: str
    row: str
    words: ShownLine
    sds: str
    changes: tuple[str, ...]


@dataclass(frozen=True, slots=True)
class PointsPage:
    """Everything on the sheet."""

    head: Head
    points: tuple[Point, ...]
    weak: tuple[WeakPoint, ...]
    total: str
    counted_in: str
    record_set: str
    caution: str = CAUTION


def points_page(user: Asker, row: Sheet, scored: Scored, tried: Tried | None) -> PointsPage:
    """The sheet of a score as it stands; `tried` is a value put in for one line."""
    score, index, notation = scored.score, scored.index, scored.notation
    lines = form_order(score)
    names = line_names(lines)
    sources = tuple(dict.fromkeys(line.source for line in lines))
    reader = user if user.pk == row.reader_id else row.reader
    tell = partial(error_of, own=errors_in_force(reader, row.record_set.case.patient.portfolio_id))
    others = under_other_readings(index, scored.reading, score)
    rests = any(finding.evidence_at for finding in scored.reading.findings)
    kept = {one.anchor: one for one in shown_evidence(user, row, notation, scored.reading)} if rests else {}
    words = [
        show_line(line, sources.index(line.source) + 1, notation, counted_in=index.counted_in)
        for line in lines
    ]
    points = tuple(
        Point(
            anchor=line_anchor(name),
            row=index.labels.get(line.category, line.category),
            words=shown,
            source=line.source,
            error=error_words(line.findings, tell),
            steps=steps_of(line, tell, index.counted_in),
            others=tuple(other_words(one, line, index) for one in others.get(name, ())),
            evidence=(found := tuple(kept[key] for f in line.findings if (key := anchor_of(f)) in kept)),
            cast=None if _pictured(found) else cast_place(line.findings, notation),
            can_be_tried=can_be_tried(line),
            spelling=spelling(line.findings[0]) if can_be_tried(line) else "",
            tried=tried if tried is not None and tried.anchor == line_anchor(name) else None,
        )
        for name, line, shown in zip(names, lines, words, strict=True)
    )
    weak = tuple(
        WeakPoint(
            points[one.place].anchor,
            points[one.place].row,
            words[one.place],
            f"{one.nearest[0].sds:.1f}",
            tuple(change_words(apart, one.line, index.counted_in) for apart in one.nearest),
        )
        for one in weakest(lines, tell)
    )
    return PointsPage(
        head=head(row, index.key, index.label),
        points=points,
        weak=weak,
        total=total_words(number_words(score.total), score.complete),
        counted_in=index.counted_in,
        record_set=str(row.record_set.public_id),
    )


def _pictured(evidence: tuple[ShownEvidence, ...]) -> bool:
    """Whether some piece still has its picture."""
    return any(piece.picture is not None for one in evidence for piece in one.pieces)


def can_be_tried(line: Line) -> bool:
    """Whether one value at one site makes the line, so that another can be put in its place."""
    return len(line.findings) == 1 and not line.findings[0].is_statement
