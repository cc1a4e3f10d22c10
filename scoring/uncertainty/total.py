"""The law of a score: the exact chances of a sheet's total and of every category by an index.  Pure.

Method: `agreement-uncertainty-selection` part 2.  Every row of the form becomes parts of independent readings; blocks
that share readings are worked out together; causes that readings share are conditioned on; blocks are convolved.
"""

from collections.abc import Iterable, Mapping
from dataclasses import dataclass
from decimal import Decimal
from functools import cached_property

import numpy as np

from portfolio.finding_sheet import Sheet
from scoring.hits import Component
from scoring.index import Index, Terms
from scoring.shapes import ZERO
from scoring.uncertainty.assumptions import because
from scoring.uncertainty.book import Book, without_unshared
from scoring.uncertainty.dense import (
    NOTHING,
    Dense,
    Unit,
    averaged,
    dense_once,
    digits_of,
    greatest,
    summed,
    unit_of,
)
from scoring.uncertainty.folding import Block
from scoring.uncertainty.law import Distribution
from scoring.uncertainty.model import CannotBeTold, ErrorModel, Place, Question
from scoring.uncertainty.normal import hermite
from scoring.uncertainty.parts import Part
from scoring.uncertainty.program import Join, Points, added
from scoring.uncertainty.reading import Reading
from scoring.uncertainty.rows import parts_of
from scoring.uncertainty.shared import OFFSET_NODES
from scoring.uncertainty.tied import Boxes
from scoring.uncertainty.worked import Chances, Cluster, Worked, taken_apart

BlockLaw = tuple[Chances | Boxes, tuple[str, ...]]
"""The law of a block, or of numbers tied to each other, with its categories."""

SUMMED = ("discrepancy", "par", "icon", "outcome", "irregularity")
"""Indices whose total is a weighted sum of points, or of millimetres."""
GRADED = ("iotn",)
"""Indices whose total is the worst of grades; 1 where nothing gives one."""


@dataclass(frozen=True)
class ScoreLaw:
    """What a sheet's score by one index may be.

    `recorded` is the total that counts, which no chance alters; `complete` false: the sheet lacks findings, and
    recorded total and law alike are of what is there, so "at least".  `because`: the assumptions in words.
    """

    index: Index
    sheet: Sheet
    terms: Terms
    question: Question
    errors: ErrorModel
    recorded: Decimal
    complete: bool
    worked: Worked
    categories: Mapping[str, Decimal | None]

    @cached_property
    def unit(self) -> Unit:
        """The unit in which weighted points of every part are whole."""
        told = (_decimals(law, self.weights(cs)) for cluster in self.laws for law, cs in cluster)
        return unit_of(max(told, default=0))

    def weights(self, categories: tuple[str, ...], only: str = "") -> tuple[Decimal, ...]:
        """The weights of categories, 0 for all but one where only that is asked for."""
        return tuple(self.terms.weight(c) if not only or c == only else ZERO for c in categories)

    @cached_property
    def laws(self) -> tuple[tuple[BlockLaw, ...], ...]:
        """For every cluster the laws of its blocks with their categories."""
        return tuple(self.cluster_laws(cluster) for cluster in self.worked.clusters)

    def cluster_laws(self, cluster: Cluster) -> tuple[BlockLaw, ...]:
        if cluster.exact:
            categories = tuple(c for block in cluster.blocks for c in block.categories)
            return ((self.worked.boxes(cluster), categories),)
        return tuple((self.worked.block_law(b, cluster.grid), b.categories) for b in cluster.blocks)

    def dense_of(self, law: Chances | Boxes, categories: tuple[str, ...], only: str = "") -> Dense:
        """The weighted points of one law at every node, of one category or of all."""
        weights = self.weights(categories, only)
        if isinstance(law, Boxes):
            return law.dense(weights, self.unit)

        def told(points: Points) -> Decimal:
            weighted = (p * w for p, w in zip(points, weights, strict=True))
            return max(weighted, default=ZERO) if self.graded else sum(weighted, ZERO)

        return dense_once(law, (weights, self.unit.size, self.graded), told, self.unit)

    def cluster_dense(self, number: int, only: str = "") -> Dense | None:
        """The sum of a cluster's blocks at every node of the examiner's offset; None where a category is not in it."""
        laws = [(law, cs) for law, cs in self.laws[number] if not only or only in cs]
        if not laws:
            return None
        together = self.combined(self.dense_of(law, categories, only) for law, categories in laws)
        return averaged(together, self.worked.clusters[number].grid.weights)

    @cached_property
    def clusters_dense(self) -> tuple[Dense, ...]:
        return tuple(d for n in range(len(self.worked.clusters)) if (d := self.cluster_dense(n)) is not None)

    @cached_property
    def _still_and_moving(self) -> tuple[Dense, Dense]:
        """The sum of what the examiner's offset does not touch, and that of the rest at every node."""
        still = summed(one for one in self.clusters_dense if len(one.chances) == 1)
        return still, summed(one for one in self.clusters_dense if len(one.chances) > 1)

    @cached_property
    def at_nodes(self) -> Dense:
        """The total at every node of the examiner's offset."""
        if self.graded:
            return greatest(self.clusters_dense)
        still, moving = self._still_and_moving
        return moving.plus(still)

    @cached_property
    def _before_and_after(self) -> tuple[tuple[Dense, ...], tuple[Dense, ...]]:
        """Sums of the clusters before each one and after it."""
        before, after = [NOTHING], [NOTHING]
        for one in self.clusters_dense:
            before.append(before[-1].plus(one))
        for one in reversed(self.clusters_dense):
            after.append(after[-1].plus(one))
        return tuple(before), tuple(reversed(after))

    def without(self, number: int) -> Dense:
        """The sum of all clusters but one, at every node of the examiner's offset."""
        before, after = self._before_and_after
        return before[number].plus(after[number + 1])

    @property
    def graded(self) -> bool:
        """Whether the total is the worst of grades."""
        return self.index.key in GRADED

    def combined(self, many: Iterable[Dense]) -> Dense:
        """Several independent ones together, as this index takes them."""
        return greatest(many) if self.graded else summed(many)

    @cached_property
    def total(self) -> Distribution:
        """The chances of every total; for a graded index those of the grades 1 to 5."""
        if not self.graded:
            still, moving = self._still_and_moving
            return self.told(self._over_nodes(moving).plus(still))
        found = self.told(self.at_nodes)
        chances = np.zeros(5)
        for grade, chance in found.probabilities.items():
            chances[max(int(grade), 1) - 1] += chance
        return Distribution(1, chances)

    def category(self, key: str) -> Distribution:
        """The chances of the points of one category, weighted; KeyError for an unknown one."""
        if key not in self.index.categories:
            raise KeyError(key)
        found = (self.cluster_dense(n, key) for n in range(len(self.worked.clusters)))
        return self.told(summed(d for d in found if d is not None))

    def told(self, one: Dense) -> Distribution:
        """The nodes of the examiner's offset averaged."""
        (chances,) = self._over_nodes(one).chances
        kept = np.flatnonzero(chances > 0)
        first, last = int(kept[0]), int(kept[-1])
        found = chances[first : last + 1]
        return Distribution(one.first + first, found / found.sum(), self.unit.size)

    def _over_nodes(self, one: Dense) -> Dense:
        return (
            one if len(one.chances) == 1 else Dense(one.first, (self.worked.weights @ one.chances)[None, :])
        )

    @cached_property
    def because(self) -> tuple[str, ...]:
        return because(self.question, self.errors, tuple(self.worked.readings.values()), self.complete)

    def block_of(self, place: Place) -> tuple[int, int, Block]:
        """Number of the cluster and of the block that read a place; KeyError where none does."""
        for number, cluster in enumerate(self.worked.clusters):
            for position, block in enumerate(cluster.blocks):
                if place in block.reads:
                    return number, position, block
        raise KeyError(place)


def _decimals(law: Chances | Boxes, weights: tuple[Decimal, ...]) -> int:
    return law.decimals(weights) if isinstance(law, Boxes) else digits_of(law, weights)


def law_of(
    index: Index,
    sheet: Sheet,
    errors: ErrorModel | None = None,
    question: Question = Question.TRUE_SCORE,
    edition: str | None = None,
    choices: Mapping[str, str] | None = None,
) -> ScoreLaw:
    """The law of a sheet's score by an index with a total: a sum of points or millimetres, or the worst grade.

    Raises CannotBeTold for another index, ChoiceRefused for an unknown edition or choice.
    """
    if index.key not in (*SUMMED, *GRADED):
        raise CannotBeTold(f"{index.label} has no total; its numbers have laws of their own")
    errors = errors or ErrorModel()
    terms = index.terms(edition, choices or {})
    rows = index.components(tuple(sorted(terms.choices.items())), terms.edition)
    tallies = [(row, row.tally(sheet)) for row in rows]
    reckoned = index.reckon(index, sheet, [(row.category, tally) for row, tally in tallies], terms)
    if reckoned.total is None:
        raise CannotBeTold(f"{index.label}: there is no total while teeth that it needs do not stand")
    parts, readings = read_parts(rows, sheet, Book(sheet, errors, question, tallies))
    shares_offset = any(one.offset for r in readings.values() for one in (r, *r.made_of))
    nodes, weights = hermite(OFFSET_NODES if shares_offset else 1)
    join: Join = max if index.key in GRADED else added
    worked = taken_apart(parts, readings, nodes, weights, join)
    return ScoreLaw(
        index, sheet, terms, question, errors, reckoned.total, reckoned.complete, worked, reckoned.categories
    )


def read_parts(
    rows: Iterable[Component], sheet: Sheet, book: Book
) -> tuple[list[Part], dict[Place, Reading]]:
    """The parts of all rows and the readings they name, causes that nobody shares counted as their own."""
    parts = [part for row in rows for part in parts_of(row, sheet, book)]
    wanted = {place for part in parts for place in part.reads}
    simple = {one.place: one for p in wanted for one in (book.known(p).made_of or (book.known(p),))}
    return parts, without_unshared(tuple(simple.values()), tuple(book.known(p) for p in wanted))
