"""Families of rows that read the same quantities, and what the findings of many sheets are to each of them.  Pure."""

from collections import Counter
from collections.abc import Hashable, Iterable, Sequence
from dataclasses import dataclass, field
from operator import attrgetter

import numpy as np

from portfolio.errors import OFFSET_CAUSE
from portfolio.finding_sheet import Finding, Sheet
from scoring.hits import Component
from scoring.index import Terms
from scoring.uncertainty.book import Book, without_unshared
from scoring.uncertainty.folding import blocks
from scoring.uncertainty.model import ErrorModel, Question
from scoring.uncertainty.moulds import Batch, Kind, Mould, Ready, Slot, summed
from scoring.uncertainty.normal import Floats
from scoring.uncertainty.reading import Reading
from scoring.uncertainty.row_reads import Reads, seen_of_teeth, tells_teeth
from scoring.uncertainty.total import read_parts

ADDED_AT_ONCE = 48
"""Cases whose chances are added at a time, so that their arrays stay near the processor."""
NUMBERS = {
    "normal": "normal",
    "some": "seen",
    "none": "seen",
    "sided": "sided",
    "at_zero": "sided",
    "code": "code",
}
"""Shapes of laws whose pieces are alike whatever the number, and what they are called together."""
_every = attrgetter("quantity", "site", "value", "nth", "method", "medium", "plane", "sd", "error_parts")
"""All of a finding that its law may hang on."""
Key = tuple[int, tuple[int, ...]]
"""What is seen of the teeth, and the numbers of the findings."""


@dataclass(frozen=True, slots=True)
class Known:
    """A finding that was met: its family, whether it tells which teeth stand, causes that it may share.

    `like`: the same number for findings that differ in nothing but the size of a number; `kind`: the number of its law;
    `numeric`: whether the size of its number does nothing but move chances.
    """

    finding: Finding
    family: int
    tells_teeth: bool
    causes: tuple[str, ...]
    like: int
    kind: int
    numeric: bool


@dataclass(eq=False)
class Family:
    """Rows that read the same quantities, the different findings met so far, and which of them each sheet has.

    Number 0 stands for no findings at all: 0 points.
    """

    rows: list[Component]
    only_errors: bool
    only_chances: bool
    numbers: dict[Key, int] = field(default_factory=dict)
    first_sheets: list[Sheet] = field(default_factory=list)
    of_sheets: list[int] = field(default_factory=list)
    ready: list[tuple[list[int], tuple[Ready, ...]]] = field(default_factory=list)

    def take(self, key: Key, sheet: Sheet) -> None:
        """Note what a sheet is to this family."""
        number = self.numbers.get(key)
        if number is None:
            number = self.numbers[key] = len(self.numbers) + 1
            self.first_sheets.append(sheet)
        self.of_sheets.append(number)

    @property
    def decimals(self) -> int:
        return max((one.walk.decimals for _, listed in self.ready for one in listed), default=0)

    def table(self, decimals: int) -> Batch:
        """The points of every number, in units of so many decimals."""
        found = []
        for rows, listed in self.ready:
            blocks_ = [(one.batch(decimals), one.combination) for one in listed]
            for start in range(0, len(rows), ADDED_AT_ONCE):
                here = slice(start, start + ADDED_AT_ONCE)
                found.append((rows[here], summed(one.of(which[here]) for one, which in blocks_)))
        first = min(0, *(one.first for _, one in found)) if found else 0
        last = max(0, *(one.first + len(one.chances) - 1 for _, one in found)) if found else 0
        nodes = max((one.chances.shape[2] for _, one in found), default=1)
        table = np.zeros((last - first + 1, len(self.numbers) + 1, nodes))
        table[-first, 0] = 1.0
        for rows, one in found:
            start = one.first - first
            table[start : start + len(one.chances), rows] = one.chances
        return Batch(first, table)


class Families:
    """All rows of an index as families, and the findings of the sheets that were taken."""

    def __init__(
        self,
        rows: Sequence[tuple[Component, Reads]],
        terms: Terms,
        errors: ErrorModel,
        question: Question,
        nodes: Floats,
    ) -> None:
        self.terms, self.errors, self.question, self.nodes = terms, errors, question, nodes
        self.families = list(_families(rows))
        self._by_quantity = {q: n for n, (_, quantities) in enumerate(_grouped(rows)) for q in quantities}
        self._book = Book(Sheet("initial", "permanent"), errors, question)
        self._numbers: dict[Hashable, int] = {}
        self._known: list[Known] = []
        self._likes: dict[Hashable, int] = {}
        self._kinds: dict[Kind, int] = {}
        self._frames: dict[Hashable, tuple[int, ...]] = {}
        self._seen: dict[Hashable, int] = {}

    def take(self, sheet: Sheet) -> list[Family]:
        """Note a sheet; gives the families that have to be worked out for it alone."""
        listed: list[list[int]] = [[] for _ in self.families]
        frame: list[int] = []
        sharing: list[Known] = []
        numbers, known = self._numbers, self._known
        for finding in sheet.findings:
            number = numbers.get(_every(finding))
            if number is None:
                number = self._meet(finding)
            one = known[number]
            if one.family >= 0:
                listed[one.family].append(number)
                if one.causes:
                    sharing.append(one)
            if one.tells_teeth:
                frame.append(number)
        tied = _tied(sharing) if sharing else frozenset()
        seen = self._teeth(sheet, tuple(frame))
        for n, family in enumerate(self.families):
            if n in tied:
                family.of_sheets.append(0)
            else:
                family.take((seen[n], tuple(listed[n])), sheet)
        return [self.families[n] for n in sorted(tied)]

    def run(self) -> None:
        """Work out all different findings of every family."""
        for family in self.families:
            moulds: dict[Hashable, tuple[Mould, list[int], list[tuple[int, ...]]]] = {}
            for (seen, numbers), row in family.numbers.items():
                like = seen, tuple([self._known[number].like for number in numbers])
                if like not in moulds:
                    mould = self._mould(family, numbers, family.first_sheets[row - 1])
                    moulds[like] = mould, [], []
                _, rows, cases = moulds[like]
                rows.append(row)
                cases.append(tuple([self._known[number].kind for number in numbers]))
            kinds = list(self._kinds)
            family.ready = [(rows, mould.run(kinds, cases)) for mould, rows, cases in moulds.values()]

    def _teeth(self, sheet: Sheet, frame: tuple[int, ...]) -> tuple[int, ...]:
        """What each family sees of the teeth of a sheet, as a number."""
        key = sheet.stage, sheet.dentition, sheet.teeth, frame
        found = self._frames.get(key)
        if found is None:
            found = self._frames[key] = tuple(
                self._seen.setdefault(
                    (n, *(seen_of_teeth(row, sheet) for row in family.rows)), len(self._seen)
                )
                for n, family in enumerate(self.families)
            )
        return found

    def _meet(self, finding: Finding) -> int:
        """The number of a finding that was not met before."""
        number = self._numbers[_every(finding)] = len(self._known)
        family = self._by_quantity.get(finding.quantity, -1)
        causes: tuple[str, ...] = ()
        kind, like, numeric = -1, -1, False
        if family >= 0:
            reading = self._book.reading((finding.quantity, finding.site), finding)
            causes = tuple(name for name, _ in reading.shared if name != OFFSET_CAUSE)
            reading = without_unshared((reading,), (reading,))[reading.place]
            kind = self._kind(reading)
            mine, shape = self.families[family], reading.law.shape
            numeric = (
                (mine.only_chances if shape == "code" else mine.only_errors)
                and shape in NUMBERS
                and finding.nth == 1
                and not finding.is_statement
                and finding.value != "unknown"
            )
            alike: Hashable = _alike(finding, reading) if numeric else number
            like = self._likes.setdefault(alike, len(self._likes))
        self._known.append(Known(finding, family, tells_teeth(finding), causes, like, kind, numeric))
        return number

    def _kind(self, reading: Reading) -> int:
        return self._kinds.setdefault((reading.law, reading.offset), len(self._kinds))

    def _mould(self, family: Family, numbers: Iterable[int], sheet: Sheet) -> Mould:
        """What the rows of a family make of findings such as those of a sheet."""
        book = Book(sheet, self.errors, self.question)
        parts, readings = read_parts(family.rows, sheet, book)
        places: dict[tuple[str, str], int] = {}
        for position, number in enumerate(numbers):
            one = self._known[number]
            if one.numeric:
                places.setdefault((one.finding.quantity, one.finding.site), position)
        found = tuple(blocks(parts, readings))
        slots = tuple(
            tuple(Slot(places.get(reading.place), self._kind(reading)) for reading in block.readings)
            for block in found
        )
        return Mould(found, slots, self.terms.weights, self.nodes)


def _alike(finding: Finding, reading: Reading) -> Hashable:
    """What findings have in common that differ in the size of a number alone, and how near it is to zero."""
    low, high = reading.reach
    shape = NUMBERS[reading.law.shape]
    side = 0 if shape != "sided" else 1 if low >= 0 else -1 if high <= 0 else 0
    return finding.quantity, finding.site, finding.plane, shape, side


def _tied(sharing: Iterable[Known]) -> frozenset[int]:
    """Families with findings that share a cause with another finding."""
    listed = list(sharing)
    counted = Counter(cause for one in listed for cause in one.causes)
    return frozenset(one.family for one in listed if any(counted[cause] > 1 for cause in one.causes))


def _grouped(rows: Sequence[tuple[Component, Reads]]) -> list[tuple[list[int], set[str]]]:
    """Numbers of rows with all quantities they read, rows that have one in common together."""
    groups: list[tuple[list[int], set[str]]] = []
    for number, (_, reads) in enumerate(rows):
        mine = set(reads.quantities)
        joined = [group for group in groups if group[1] & mine]
        groups = [group for group in groups if not group[1] & mine]
        numbers = sorted({number, *(n for group in joined for n in group[0])})
        groups.append((numbers, mine.union(*(group[1] for group in joined))))
    return groups


def _families(rows: Sequence[tuple[Component, Reads]]) -> Iterable[Family]:
    for numbers, _ in _grouped(rows):
        reads = [rows[n][1] for n in numbers]
        yield Family(
            [rows[n][0] for n in numbers],
            all(one.only_errors for one in reads),
            all(one.only_errors and one.codes_too for one in reads),
        )
