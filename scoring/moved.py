"""What has moved between a kept score and the score as it stands, and both line by line."""

from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass
from decimal import Decimal
from typing import Any

from portfolio.finding_sheet import Finding
from portfolio.wording import quantity_words, site_words
from scoring.facts import figure
from scoring.index import Index
from scoring.present import finding_words, number_words, total_words
from scoring.result import Line, Score
from scoring.shapes import ZERO

NOTHING = "nothing recorded"


@dataclass(frozen=True, slots=True)
class MovedFinding:
    """One finding that is another now; NOTHING where it was or is not recorded."""

    label: str
    site: str
    before: str
    after: str


@dataclass(frozen=True, slots=True)
class MovedChoice:
    """One rule choice that is another now, in words."""

    label: str
    before: str
    after: str


@dataclass(frozen=True, slots=True)
class MovedLine:
    """One line then and now; findings and points are empty on the side where the line does not stand."""

    category: str
    site: str
    before: tuple[str, ...]
    after: tuple[str, ...]
    points_before: str
    points_after: str
    difference: str
    """With its sign: `+2`, `−1`, `0`."""


@dataclass(frozen=True, slots=True)
class Moved:
    """Everything that differs between then and now."""

    findings: tuple[MovedFinding, ...]
    choices: tuple[MovedChoice, ...]
    rules: bool
    teeth: bool
    lines: tuple[MovedLine, ...]
    lines_alike: int
    total_before: str
    total_after: str
    difference: str

    @property
    def stale(self) -> bool:
        return bool(self.findings or self.choices or self.rules or self.teeth)

    @property
    def words(self) -> tuple[str, ...]:
        """What moved, in a few words each."""
        said = []
        if self.findings:
            count = len(self.findings)
            said.append(f"{count} finding{'' if count == 1 else 's'} changed since")
        if self.choices:
            said.append("other rule choices")
        if self.teeth:
            said.append("stage, dentition or teeth changed")
        if self.rules:
            said.append("the rules themselves changed")
        return tuple(said)


@dataclass(frozen=True, slots=True)
class Then:
    """A kept score with what it was made from."""

    score: Score
    findings: tuple[Finding, ...]
    choices_in_words: Sequence[Mapping[str, Any]]
    rules_digest: str
    frame_digest: str


@dataclass(frozen=True, slots=True)
class Now:
    """The score as it stands with what it is made from."""

    score: Score
    findings: tuple[Finding, ...]
    index: Index
    rules_digest: str
    frame_digest: str


def what_moved(then: Then, now: Now, notation: str = "iso3950") -> Moved:
    """Compare a kept score with the present one."""
    lines, alike = _lines(then.score, now.score, now.index.labels, notation)
    before, after = then.score.total, now.score.total
    return Moved(
        findings=_findings(then.findings, now.findings, notation),
        choices=(*_edition(then, now), *_choices(then, now)),
        rules=then.rules_digest != now.rules_digest,
        teeth=then.frame_digest != now.frame_digest,
        lines=lines,
        lines_alike=alike,
        total_before=total_words(figure(then.score), then.score.complete),
        total_after=total_words(figure(now.score), now.score.complete),
        difference=signed((after or ZERO) - (before or ZERO)),
    )


def _edition(then: Then, now: Now) -> tuple[MovedChoice, ...]:
    """The edition or set of weights, where it is another."""
    before, after = then.score.edition, now.score.edition
    if before == after:
        return ()
    words = now.index.edition_words
    return (MovedChoice("Edition", words(before), words(after)),)


def signed(number: Decimal) -> str:
    """`+2`, `−1`, `0`."""
    return f"+{number_words(number)}" if number > 0 else number_words(number)


def _findings(then: Iterable[Finding], now: Iterable[Finding], notation: str) -> tuple[MovedFinding, ...]:
    before = {(f.quantity, f.site, f.nth): f for f in then}
    after = {(f.quantity, f.site, f.nth): f for f in now}
    moved = []
    for place in dict.fromkeys((*before, *after)):
        old, new = before.get(place), after.get(place)
        # How a value was taken is no part of a score; its plane is.
        if old and new and (old.value, old.plane) == (new.value, new.plane):
            continue
        moved.append(
            MovedFinding(
                quantity_words(place[0]),
                site_words(place[1], notation),
                _words(old, notation),
                _words(new, notation),
            )
        )
    return tuple(moved)


def _words(finding: Finding | None, notation: str) -> str:
    return NOTHING if finding is None else finding_words(finding, finding.site, notation, named=False)


def _choices(then: Then, now: Now) -> tuple[MovedChoice, ...]:
    moved = []
    words_then = {kept["id"]: kept for kept in then.choices_in_words}
    for choice in now.index.choices:
        value = now.score.choices[choice.id]
        before = then.score.choices.get(choice.id)
        if before != value:
            kept = words_then.get(choice.id)
            moved.append(
                MovedChoice(
                    choice.label,
                    str(kept["words"]) if kept else "did not exist yet",
                    dict(choice.options)[value],
                )
            )
    return tuple(moved)


def _lines(
    then: Score, now: Score, labels: Mapping[str, str], notation: str
) -> tuple[tuple[MovedLine, ...], int]:
    before, after = _by_place(then.lines), _by_place(now.lines)
    order = list(labels)
    places = sorted(
        dict.fromkeys((*before, *after)),
        key=lambda place: order.index(place[0]) if place[0] in order else len(order),
    )
    moved, alike = [], 0
    for place in places:
        old, new = before.get(place), after.get(place)
        read_then, read_now = _read(old, notation), _read(new, notation)
        points_then, points_now = (ZERO if line is None else line.points for line in (old, new))
        if read_then == read_now and points_then == points_now:
            alike += 1
            continue
        moved.append(
            MovedLine(
                category=labels.get(place[0], place[0]),
                site=site_words(place[1], notation),
                before=read_then,
                after=read_now,
                points_before="" if old is None else number_words(points_then),
                points_after="" if new is None else number_words(points_now),
                difference=signed(points_now - points_then),
            )
        )
    return tuple(moved), alike


Place = tuple[str, str, str, int]


def _by_place(lines: Iterable[Line]) -> dict[Place, Line]:
    """Lines by row of the form, site and the quantity read; a number tells repeats apart."""
    found: dict[Place, Line] = {}
    for line in lines:
        nth = 1
        while (place := (line.category, line.site, line.findings[0].quantity, nth)) in found:
            nth += 1
        found[place] = line
    return found


def _read(line: Line | None, notation: str) -> tuple[str, ...]:
    if line is None:
        return ()
    return tuple(finding_words(f, line.site, notation, named=True) for f in line.findings)
