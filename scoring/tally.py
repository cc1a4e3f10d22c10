"""A tally made by hand on the paper form, held against the computed points row by row and tooth by tooth."""

import re
from collections.abc import Mapping
from dataclasses import dataclass
from decimal import Decimal

from portfolio.finding_sheet import Sheet
from portfolio.wording import site_words
from scoring.index import Index
from scoring.moved import signed
from scoring.present import finding_words, number_words, total_words
from scoring.result import Score
from scoring.shapes import ZERO
from scoring.tally_causes import Row, causes

MOST_POINTS = 500
_POINTS = re.compile(r"[0-9]{1,3}([.,][0-9]{1,2})?\Z", re.ASCII)


class PointsRefused(ValueError):
    """Typed points that are none; the message says what is allowed."""


def read_points(text: str) -> Decimal | None:
    """Points as typed: `5`, `2.5`, `2,5`; None for nothing.  Raises PointsRefused."""
    typed = text.strip()
    if not typed:
        return None
    if not _POINTS.match(typed):
        raise PointsRefused(
            f"“{typed[:20]}” is no number of points; allowed: 0 to {MOST_POINTS}, at most two decimals."
        )
    points = Decimal(typed.replace(",", "."))
    if points > MOST_POINTS:
        raise PointsRefused(f"{typed} is out of range; allowed: 0 to {MOST_POINTS}.")
    return points


@dataclass(frozen=True, slots=True)
class Part:
    """What one line adds to a row; `site` is empty for findings of the whole mouth."""

    site: str
    findings: tuple[str, ...]
    points: str


@dataclass(frozen=True, slots=True)
class CheckedRow:
    """One row of the form: typed, computed, the difference, and what may explain it."""

    key: str
    label: str
    typed: str
    """Empty where nothing was typed."""
    computed: str
    floor: bool
    """Whether findings of this row are missing, so that what is computed is a floor."""
    difference: str
    agrees: bool
    parts: tuple[Part, ...]
    causes: tuple[str, ...]


@dataclass(frozen=True, slots=True)
class Checked:
    """A whole tally held against the computed score."""

    rows: tuple[CheckedRow, ...]
    typed_sum: str
    typed_total: str
    computed_total: str
    difference: str
    """Typed total less computed total; empty where no total was typed."""
    agrees: bool
    notes: tuple[str, ...]
    """What concerns the sum, or several rows together."""


Typed = Mapping[str, Decimal | None]


def check(
    index: Index, sheet: Sheet, score: Score, typed: Typed, total: Decimal | None, notation: str = "iso3950"
) -> Checked:
    """Compare typed points by row and in total with a score that has its lines and other totals.

    A row left empty is not judged; in the sum it counts as 0.
    """
    rows = tuple(_row(index, sheet, score, key, typed.get(key), notation) for key in score.categories)
    filled = {key: points for key, points in typed.items() if points is not None}
    by_rows = sum(filled.values(), ZERO)
    computed = score.total or ZERO
    return Checked(
        rows=rows,
        typed_sum=number_words(by_rows) if filled else "",
        typed_total=number_words(total),
        computed_total=total_words(number_words(score.total), score.complete),
        difference="" if total is None else signed(total - computed),
        agrees=all(row.agrees for row in rows)
        and total in (None, computed)
        and (total is None or _adds_up(filled, total)),
        notes=(
            *_sum_notes(index, filled, total),
            *_swapped_rows(index, score, filled),
            *_total_notes(index, score, filled, total),
        ),
    )


def _adds_up(filled: Mapping[str, Decimal], total: Decimal) -> bool:
    return not filled or sum(filled.values(), ZERO) == total


def _row(
    index: Index, sheet: Sheet, score: Score, key: str, typed: Decimal | None, notation: str
) -> CheckedRow:
    computed = score.categories[key] or ZERO
    floor = any(m.category == key for m in score.missing)
    agrees = typed is None or typed == computed
    explained: tuple[str, ...] = ()
    if typed is not None and not agrees:
        explained = tuple(
            cause.words for cause in causes(Row(index, sheet, score, key, typed, computed, notation))
        )
    return CheckedRow(
        key=key,
        label=index.categories.get(key, key),
        typed=number_words(typed),
        computed=number_words(computed),
        floor=floor,
        difference="" if typed is None else signed(typed - computed),
        agrees=agrees,
        parts=_parts(score, key, notation),
        causes=explained,
    )


def _parts(score: Score, key: str, notation: str) -> tuple[Part, ...]:
    """The lines that give points to a row; quantities are named where several are read."""
    lines = [line for line in score.lines if line.category == key]
    named = len({f.quantity for line in lines for f in line.findings}) > 1
    return tuple(
        Part(
            "" if line.site == "mouth" else site_words(line.site, notation),
            tuple(finding_words(f, line.site, notation, named=named) for f in line.findings),
            number_words(line.points),
        )
        for line in lines
        if line.points
    )


def _sum_notes(index: Index, filled: Mapping[str, Decimal], total: Decimal | None) -> list[str]:
    """Whether the typed rows add up to the typed total."""
    if total is None or _adds_up(filled, total):
        return []
    by_rows = sum(filled.values(), ZERO)
    off = total - by_rows
    notes = [
        f"The typed rows add up to {number_words(by_rows)}, the typed total is {number_words(total)}: "
        f"{number_words(abs(off))} too {'many' if off > 0 else 'few'} in the total."
    ]
    same = [index.categories.get(key, key) for key, points in filled.items() if points and points == abs(off)]
    if same:
        done = "added twice" if off > 0 else "left out of the sum"
        notes.append(f"{' or '.join(same)} ({number_words(abs(off))}) may have been {done}.")
    digits = number_words(total)
    if len(digits) == 2 and digits[::-1] == number_words(by_rows):
        notes.append("The two digits of the total may have been exchanged.")
    return notes


def _swapped_rows(index: Index, score: Score, filled: Mapping[str, Decimal]) -> list[str]:
    """Points that stand in another row than they are computed in."""
    off = {
        key: points - (score.categories[key] or ZERO)
        for key, points in filled.items()
        if key in score.categories and points != (score.categories[key] or ZERO)
    }
    notes = []
    for short in (key for key, by in off.items() if by < 0):
        for long in (key for key, by in off.items() if by > 0):
            if off[short] + off[long] == 0:
                notes.append(
                    f"{number_words(off[long])} too many in “{index.categories[long]}” and as many too few in "
                    f"“{index.categories[short]}”: they may stand in the wrong row."
                )
    return notes


def _total_notes(
    index: Index, score: Score, filled: Mapping[str, Decimal], total: Decimal | None
) -> list[str]:
    """What a typed total agrees with, where it is not the computed one."""
    if total is None or total == score.total or not _adds_up(filled, total):
        return []
    notes = []
    for other in score.other_totals:
        # where rows are typed, their own notes name the cause
        if other.total == total and not filled:
            choice_id, _, value = other.choice.partition("=")
            choice = index.choice(choice_id)
            notes.append(f"The total fits the rule choice “{choice.label}: {dict(choice.options)[value]}”.")
    short = (score.total or ZERO) - total
    if not filled and short > 0:
        same = [index.categories[key] for key, points in score.categories.items() if points == short]
        if same:
            notes.append(f"{' or '.join(same)} ({number_words(short)}) may have been left out.")
    if not score.complete and total > (score.total or ZERO):
        notes.append("Findings are missing on the sheet, so the computed total is a floor.")
    return notes
