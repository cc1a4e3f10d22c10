"""A letter as a row of the index, what it waits for, and what is asked while a grade stands.

A letter says what it reads with the best grade that a finding there could still bring it, so that
nothing is waited for, and nothing asked as needed, that cannot change the grade.
"""

from collections.abc import Iterable, Iterator
from dataclasses import dataclass
from typing import NamedTuple, Protocol

from portfolio.finding_sheet import Finding, Sheet
from scoring.hits import Ask, Convention, Hit, Missing, Tallies, Tally
from scoring.indices.iotn.grades import NOTHING, Rank, rank, worst_alone


class Want(NamedTuple):
    """A quantity that a letter reads, at which sites, and which of them say nothing yet.

    `best` is the highest grade that findings at these sites could bring the letter; 0 means that the
    quantity is recorded only if there is something.
    """

    quantity: str
    sites: tuple[str, ...]
    lacking: tuple[str, ...]
    best: int


class Read(NamedTuple):
    """What a letter finds on a sheet."""

    hits: list[Hit]
    conventions: list[Convention]


class Feature(Protocol):
    """What stands behind a letter."""

    def read(self, sheet: Sheet) -> Read: ...

    def wants(self, sheet: Sheet) -> Iterator[Want]: ...


@dataclass(frozen=True)
class Letter:
    """One letter: the worst of its hits alone fires; what it lacks is marked with the grade it could bring."""

    category: str
    feature: Feature
    in_primary: bool = False
    """Whether it has a meaning in the primary dentition."""
    by_size: bool = False
    """Whether among equal grades the greater value fires."""

    def tally(self, sheet: Sheet) -> Tally:
        if not self._meant(sheet):
            return Tally()
        read = self.feature.read(sheet)
        waiting = [
            Missing(want.quantity, want.lacking, f"{want.best}{self.category}")
            for want in self.feature.wants(sheet)
            if want.best and want.lacking
        ]
        return Tally(worst_alone(read.hits, self.by_size), waiting, read.conventions)

    def wants(self, sheet: Sheet) -> Iterator[Want]:
        if self._meant(sheet):
            yield from self.feature.wants(sheet)

    def asks(self, sheet: Sheet) -> Iterator[Ask]:
        """Nothing by itself: what a letter needs depends on what the others have found."""
        return iter(())

    def _meant(self, sheet: Sheet) -> bool:
        return self.in_primary or sheet.dentition != "primary"


@dataclass(frozen=True)
class Asked:
    """What is asked for all letters together; it finds nothing itself."""

    letters: tuple[Letter, ...]
    category: str = ""
    revision: str = "1"

    def tally(self, sheet: Sheet) -> Tally:
        return Tally()

    def asks(self, sheet: Sheet) -> Iterator[Ask]:
        """Needed is what could bring the grade that stands, or a worse one; the rest only if there is something."""
        stands = standing([(row.category, row.tally(sheet)) for row in self.letters])
        for row in self.letters:
            for want in row.wants(sheet):
                needed = bool(want.best) and rank(want.best, row.category) <= stands
                yield Ask(want.quantity, want.sites, needed)


def firing(found: Tallies) -> list[tuple[str, Hit]]:
    """Every letter that fires with its worst hit, worst first; g only where it stands alone."""
    listed = [(letter, h) for letter, tally in found for h in tally.hits if h.raw and not h.beaten_by]
    listed.sort(key=lambda pair: rank(int(pair[1].raw), pair[0]))
    others = [pair for pair in listed if pair[0] != "g"]
    return others or listed


def standing(found: Tallies) -> Rank:
    """The rank of the letter that decides the grade."""
    fired = firing(found)
    return rank(int(fired[0][1].raw), fired[0][0]) if fired else NOTHING


def still_deciding(found: Tallies) -> Iterator[Missing]:
    """What could still raise the grade, or put a letter before the one that decides it."""
    stands = standing(found)
    for letter, tally in found:
        for missing in tally.missing:
            if rank(int(missing.category[0]), letter) < stands:
                yield missing._replace(category=letter)


def say_nothing(sheet: Sheet, quantity: str, wanted: Iterable[str]) -> tuple[str, ...]:
    """Sites of which neither a value nor a statement speaks."""
    found = sheet.by_quantity.get(quantity, {})
    silent = tuple(s for s in wanted if s not in found)
    if not silent or not sheet.statements(quantity):
        return silent
    return tuple(s for s in silent if sheet.statement_over(quantity, s) is None)


def code_at_mouth(sheet: Sheet, quantity: str) -> tuple[Finding | None, str]:
    """The finding of the whole mouth and its code; an empty code where nobody looked."""
    finding = sheet.at(quantity, "mouth")
    return finding, "" if finding is None else finding.value
