"""Why a hand tally of one row of the form may differ from the computed points: slips that fit exactly."""

from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from decimal import Decimal
from itertools import combinations
from typing import NamedTuple

from portfolio import sites, teeth
from portfolio.finding_sheet import Sheet
from portfolio.vocabulary import QUANTITIES
from portfolio.wording import quantity_words, site_words
from scoring.index import Index
from scoring.kernel import tallies
from scoring.present import finding_words, number_words
from scoring.result import Line, Score
from scoring.shapes import ZERO, Step, points_text
from scoring.step_words import step_words

MOST = 4
"""Causes said for one row; more would not help."""
MOST_STEPS = 2
PLAUSIBLE = {"mm": Decimal(2), "deg": Decimal(3), "%": Decimal(20)}
"""How far apart two readings of one thing may lie to be offered as a slip; for codes and counts one step."""


@dataclass(frozen=True, slots=True)
class Row:
    """One row of the form whose typed points differ from the computed ones."""

    index: Index
    sheet: Sheet
    score: Score
    category: str
    typed: Decimal
    computed: Decimal
    notation: str = "iso3950"

    @property
    def lines(self) -> list[Line]:
        return [line for line in self.score.lines if line.category == self.category]

    @property
    def scoring(self) -> list[Line]:
        return [line for line in self.lines if line.points]

    @property
    def off(self) -> Decimal:
        """Typed less computed."""
        return self.typed - self.computed

    def site(self, line: Line) -> str:
        """Tooth or side; for findings of the whole mouth what was found."""
        if line.site == "mouth":
            return f"“{quantity_words(line.findings[0].quantity)}”"
        kind = sites.kind(line.site)
        words = site_words(line.site, self.notation)
        return f"the {words} {kind}" if kind in ("side", "arch") else words


class Cause(NamedTuple):
    """A slip that explains a difference to the point; `kind` is for tests and sorting."""

    kind: str
    words: str


def causes(row: Row) -> tuple[Cause, ...]:
    """The slips that fit, the plainest first."""
    found = [
        *_other_choices(row),
        *_forgotten(row),
        *_worst_of_several(row),
        *_twice(row),
        *_by_the_tooth(row),
        *_steps(row),
        *_halved_or_doubled(row),
    ]
    if not found:
        found += _two_forgotten(row)
    found += _not_recorded(row)
    if not found:
        found += _not_on_the_sheet(row)
    return tuple(Cause(one.kind, one.words[:1].upper() + one.words[1:]) for one in found[:MOST])


def _other_choices(row: Row) -> Iterator[Cause]:
    """The same row under another reading of one rule choice, or under a whole set."""
    settled = dict(row.score.choices)
    for choice in row.index.choices:
        if row.category not in choice.categories or not choice.alternative:
            continue
        for value, words in choice.options:
            if value != settled[choice.id] and _by(row, {**settled, choice.id: value}) == row.typed:
                yield Cause("other_choice", f"It fits the rule choice “{choice.label}: {words}”.")


def _by(row: Row, choices: dict[str, str]) -> Decimal:
    terms = row.index.terms(row.score.edition, choices)
    found = tallies(row.index, row.sheet, terms, frozenset((row.category,)))
    return sum((tally.points for _, tally in found), ZERO) * terms.weight(row.category)


def _forgotten(row: Row) -> Iterator[Cause]:
    scoring = row.scoring
    if row.off >= 0 or not scoring:
        return
    if row.typed == 0:
        named = _listed([row.site(line) for line in scoring])
        yield Cause("forgotten", f"Nothing was counted for {named}, {points_text(row.computed)} in all.")
        return
    same = [row.site(line) for line in scoring if line.points == -row.off]
    if same:
        each = f"{points_text(-row.off)}{' each' if len(same) > 1 else ''}"
        yield Cause("forgotten", f"{_listed(same, 'or')} ({each}) may have been forgotten.")
    for region in (*sites.SIDES, *sites.ARCHES):
        there = [line for line in scoring if teeth.is_tooth(line.site) and sites.tooth_in(region, line.site)]
        if 1 < len(there) < len(scoring) and sum((x.points for x in there), ZERO) == -row.off:
            yield Cause("forgotten", f"The {region} teeth ({points_text(-row.off)}) may have been forgotten.")


def _two_forgotten(row: Row) -> Iterator[Cause]:
    if row.off >= 0:
        return
    pairs = [
        pair for pair in combinations(row.scoring, 2) if sum((line.points for line in pair), ZERO) == -row.off
    ]
    if len(pairs) == 1:
        first, second = pairs[0]
        yield Cause(
            "forgotten",
            f"{row.site(first)} and {row.site(second)} ({number_words(first.points)} and "
            f"{points_text(second.points)}) may have been forgotten.",
        )


def _worst_of_several(row: Row) -> Iterator[Cause]:
    """Rows where only the greatest scores, and rows where somebody took only the greatest."""
    beaten = [line for line in row.lines if line.beaten_by and line.raw]
    winner = row.scoring[0] if len(row.scoring) == 1 else None
    if beaten and winner:
        if row.typed == row.computed + sum((line.raw for line in beaten), ZERO):
            yield Cause("all_counted", "All of them were added up; only the greatest scores.")
        same = [row.site(line) for line in beaten if line.raw == row.typed]
        if same:
            yield Cause(
                "another_read",
                f"{_listed(same, 'or')} alone gives {number_words(row.typed)}; {row.site(winner)} scores more.",
            )
    if len(row.scoring) > 1 and row.typed == max(line.points for line in row.scoring):
        yield Cause("only_greatest", "Only the greatest was entered; every one of them scores.")


def _twice(row: Row) -> Iterator[Cause]:
    if any(line.beaten_by for line in row.lines):
        return
    same = [row.site(line) for line in row.scoring if line.points == row.off and teeth.is_tooth(line.site)]
    if same:
        each = f"{points_text(row.off)}{' each' if len(same) > 1 else ''}"
        yield Cause("twice", f"{_listed(same, 'or')} ({each}) may have been counted twice.")


def _by_the_tooth(row: Row) -> Iterator[Cause]:
    """One number for each tooth, whatever the millimetres."""
    count = len(row.scoring)
    if count < 2 or not all(teeth.is_tooth(line.site) for line in row.scoring):
        return
    for each in (1, 2):
        if row.typed == each * count:
            yield Cause(
                "by_the_tooth",
                f"{points_text(Decimal(each))} for each of the {count} teeth gives {number_words(row.typed)}; "
                "the rule goes by how much each one shows.",
            )


def _steps(row: Row) -> Iterator[Cause]:
    """One finding read on the other side of a limit, the nearest ones first."""
    found: list[tuple[Decimal, Cause]] = []
    for line in row.lines:
        if line.beaten_by:
            continue
        for step in (line.next_step, line.previous_step):
            words = step_words(step, line)
            if step is None or not words or step.points - line.points != row.off:
                continue
            if Decimal(step.distance) <= _plausible(line):
                found.append((Decimal(step.distance), Cause("step", _step_cause(row, line, step, words))))
    found.sort(key=lambda pair: pair[0])
    yield from (cause for _, cause in found[:MOST_STEPS])


def _plausible(line: Line) -> Decimal:
    units = {QUANTITIES[f.quantity].unit for f in line.findings if f.quantity in QUANTITIES}
    return max((PLAUSIBLE[unit] for unit in units if unit in PLAUSIBLE), default=Decimal(1))


def _step_cause(row: Row, line: Line, step: Step, words: str) -> str:
    value = ", ".join(finding_words(f, line.site, row.notation, named=False) for f in line.findings[-1:])
    part = "A part counted as a whole? " if _part_counted(line, step) else ""
    return f"{part}{row.site(line)}, {value}, scores {number_words(line.points)}; {words}."


def _part_counted(line: Line, step: Step) -> bool:
    """Whether the step lies at the next whole unit above a value with a fraction."""
    distance = Decimal(step.distance)
    return (
        step.points > line.points
        and 0 < distance < 1
        and not step.side
        and Decimal(step.at) == Decimal(step.at).to_integral_value()
    )


def _halved_or_doubled(row: Row) -> Iterator[Cause]:
    if not row.typed or not row.computed:
        return
    even = all(line.points % 2 == 0 for line in row.scoring)
    if row.typed * 2 == row.computed and even:
        yield Cause(
            "half", "It is half of the computed points: one point was given where the rule gives two."
        )
    elif row.typed == row.computed * 2 and len(row.scoring) > 1:
        yield Cause(
            "double", "It is twice the computed points: two points were given where the rule gives one."
        )


def _not_recorded(row: Row) -> Iterator[Cause]:
    lacking = [m for m in row.score.missing if m.category == row.category]
    if lacking and row.off > 0:
        named = _listed(list(dict.fromkeys(quantity_words(m.quantity) for m in lacking)))
        yield Cause("missing", f"Not on the sheet yet: {named}. What is computed here is a floor.")


def _not_on_the_sheet(row: Row) -> Iterator[Cause]:
    """Rows that read several things: one of them may have been seen by one of the two only."""
    if len({f.quantity for line in row.lines for f in line.findings}) < 2:
        return
    if row.off > 0:
        yield Cause("unseen", "Something may be counted on paper that the sheet states free.")
    else:
        yield Cause("unseen", "Something stands on the sheet that may not have been counted on paper.")


def _listed(words: Sequence[str], last: str = "and") -> str:
    """`13, 12 and 11`."""
    if len(words) < 2:
        return "".join(words)
    return f"{', '.join(words[:-1])} {last} {words[-1]}"
