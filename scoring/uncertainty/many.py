"""The laws of the totals of thousands of sheets at once: what sheets have in common is worked out once.  Pure.

Rows that read the same quantities form a family.  For a family a sheet is the findings of those quantities and the
teeth its rows look at; equal ones are worked out once, and those that differ in numbers alone together, as arrays
(`moulds`).  The families of a sheet are then added, hundreds of sheets at a time.  Families in which findings share a
cause beside the examiner's offset, such as the angles of one tracing, are worked out for each sheet by itself.
"""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass

import numpy as np

from portfolio.finding_sheet import Sheet
from scoring.index import Index, Terms, weighted_sum
from scoring.shapes import ZERO
from scoring.uncertainty.book import Book
from scoring.uncertainty.dense import Unit, digits, unit_of
from scoring.uncertainty.families import ADDED_AT_ONCE, Families, Family
from scoring.uncertainty.law import Distribution
from scoring.uncertainty.model import CannotBeTold, ErrorModel, Question
from scoring.uncertainty.moulds import Batch, Indices, summed
from scoring.uncertainty.normal import Floats, hermite
from scoring.uncertainty.row_reads import reads_of
from scoring.uncertainty.shared import OFFSET_NODES
from scoring.uncertainty.total import SUMMED, ScoreLaw, law_of, read_parts
from scoring.uncertainty.worked import taken_apart

SLACK = 1e-11
"""How far chances may be from 1 in all before they are made to be."""
AT_ONCE = 2_000
"""Sheets whose findings are held at a time."""


@dataclass(frozen=True)
class ManyTotals:
    """The law of the total of every sheet, in their order, or why there is none.

    `one_by_one`: sheets of which all or part was worked out by itself.
    """

    totals: tuple[Distribution | CannotBeTold, ...]
    one_by_one: int


def laws_of(
    index: Index,
    sheets: Sequence[Sheet],
    errors: ErrorModel | None = None,
    question: Question = Question.TRUE_SCORE,
    edition: str | None = None,
    choices: Mapping[str, str] | None = None,
) -> ManyTotals:
    """The same totals as `law_of` tells for each sheet, under one error model.

    ValueError for a model with several readings of a place, which are of one sheet; ChoiceRefused as for one sheet.
    """
    errors = errors or ErrorModel()
    if errors.readings:
        raise ValueError("several readings of a place belong to one sheet; ask for its law alone")
    terms = index.terms(edition, choices or {})
    rows = index.components(tuple(sorted(terms.choices.items())), terms.edition)
    read = [reads_of(row) for row in rows]
    if index.key not in SUMMED or index.reckon is not weighted_sum or None in read:
        told = tuple(_alone(index, sheet, errors, question, edition, choices) for sheet in sheets)
        return ManyTotals(told, len(sheets))
    nodes, weights = hermite(OFFSET_NODES if errors.offset_mm else 1)
    totals: list[Distribution] = []
    alone = 0
    for start in range(0, len(sheets), AT_ONCE):
        families = Families(
            [(r, one) for r, one in zip(rows, read, strict=True) if one], terms, errors, question, nodes
        )
        some = sheets[start : start + AT_ONCE]
        tied = [families.take(sheet) for sheet in some]
        apart = {
            n: _apart(index, some[n], terms, errors, question, them) for n, them in enumerate(tied) if them
        }
        alone += len(apart)
        totals += _totals(families, apart, weights)
    return ManyTotals(tuple(totals), alone)


def _alone(
    index: Index,
    sheet: Sheet,
    errors: ErrorModel,
    question: Question,
    edition: str | None,
    choices: Mapping[str, str] | None,
) -> Distribution | CannotBeTold:
    try:
        return law_of(index, sheet, errors, question, edition, choices).total
    except CannotBeTold as refusal:
        return refusal


def _apart(
    index: Index, sheet: Sheet, terms: Terms, errors: ErrorModel, question: Question, tied: Sequence[Family]
) -> ScoreLaw:
    """The law of some families of one sheet."""
    rows = [row for family in tied for row in family.rows]
    parts, readings = read_parts(rows, sheet, Book(sheet, errors, question))
    nodes = hermite(OFFSET_NODES if errors.offset_mm else 1)
    worked = taken_apart(parts, readings, *nodes)
    return ScoreLaw(index, sheet, terms, question, errors, ZERO, True, worked, {})


def _totals(families: Families, apart: Mapping[int, ScoreLaw], weights: Floats) -> list[Distribution]:
    """Families and what stands apart added for every sheet, the nodes of the offset averaged."""
    families.run()
    decimals = max((family.decimals for family in families.families), default=0)
    for law in apart.values():
        decimals = max(decimals, digits(law.unit.size))
    unit = unit_of(decimals)
    tables = [(family.table(decimals), np.array(family.of_sheets)) for family in families.families]
    if apart:
        tables.append(_as_table(apart, len(tables[0][1]), unit))
    found: list[Distribution] = []
    for start in range(0, len(tables[0][1]), ADDED_AT_ONCE):
        here = [table.of(which[start : start + ADDED_AT_ONCE]) for table, which in tables]
        still = summed(one for one in here if not one.moves)
        moving = summed(one for one in here if one.moves)
        total = moving.over(weights).plus(still)
        found += [_told(total.first, chances, unit) for chances in total.chances[:, :, 0].T]
    return found


def _told(first: int, chances: Floats, unit: Unit) -> Distribution:
    possible = np.flatnonzero(chances)
    start, end = int(possible[0]), int(possible[-1]) + 1
    kept = chances[start:end]
    total = kept.sum()
    assert abs(total - 1) < SLACK, total
    return Distribution(first + start, kept / total, unit.size)


def _as_table(apart: Mapping[int, ScoreLaw], sheets: int, unit: Unit) -> tuple[Batch, Indices]:
    """What stands apart as a table, number 0 for sheets without it."""
    laws = {n: law.at_nodes.finer(int(law.unit.size / unit.size)) for n, law in apart.items()}
    first = min(0, *(one.first for one in laws.values()))
    last = max(0, *(one.first + one.chances.shape[1] - 1 for one in laws.values()))
    nodes = max(len(one.chances) for one in laws.values())
    table = np.zeros((last - first + 1, len(laws) + 1, nodes))
    table[-first, 0] = 1.0
    which = np.zeros(sheets, dtype=np.intp)
    for number, (sheet, one) in enumerate(laws.items(), start=1):
        which[sheet] = number
        table[one.first - first : one.first - first + one.chances.shape[1], number] = one.chances.T
    return Batch(first, table), which
