"""A caseload by PAR: means, shares of the verdicts, and how they stand to the published high standard.

Sources: Richmond et al., Eur J Orthod 1992;14:180-187 (abstract read): a mean reduction over 70 %, a
negligible share worse or no different, a high share greatly improved; under about 5 % worse: from memory.
"""

from collections import Counter
from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from decimal import Decimal

from scoring.compare.par_change import ParChange, ParVerdict, par_change

HIGH_STANDARD_PERCENT = Decimal(70)
NEGLIGIBLE_WORSE_PERCENT = Decimal(5)
"""From memory."""
HUNDRED = Decimal(100)


@dataclass(frozen=True, slots=True)
class Spread:
    """Mean, sample standard deviation (None for one value) and range of some numbers."""

    n: int
    mean: Decimal
    sd: Decimal | None
    least: Decimal
    greatest: Decimal


def spread(values: Sequence[Decimal]) -> Spread | None:
    """The spread of numbers; None for none."""
    if not values:
        return None
    n = len(values)
    mean = sum(values, Decimal(0)) / n
    squares = sum(((value - mean) ** 2 for value in values), Decimal(0))
    return Spread(n, mean, (squares / (n - 1)).sqrt() if n > 1 else None, min(values), max(values))


@dataclass(frozen=True, slots=True)
class ParCaseload:
    """Cases with complete totals before and after.

    `mean_of_percents` averages the cases' own reductions (cases that began with 0 have none);
    `percent_of_means` is the reduction of the mean total.  Both are published, and they differ.
    """

    changes: tuple[ParChange, ...]
    before: Spread | None
    after: Spread | None
    mean_of_percents: Decimal | None
    percent_of_means: Decimal | None
    counts: dict[ParVerdict, int]

    @property
    def n(self) -> int:
        return len(self.changes)

    def share(self, verdict: ParVerdict) -> Decimal | None:
        """Per cent of all cases with this verdict."""
        return HUNDRED * self.counts[verdict] / self.n if self.n else None

    @property
    def over_70_percent(self) -> bool | None:
        """Whether the mean reduction is over 70 %; None where there is none."""
        return None if self.mean_of_percents is None else self.mean_of_percents > HIGH_STANDARD_PERCENT

    @property
    def few_worse(self) -> bool | None:
        """Whether under 5 % are worse or no different (from memory); None without cases."""
        worse = self.share("worse_or_no_different")
        return None if worse is None else worse < NEGLIGIBLE_WORSE_PERCENT


def par_caseload(pairs: Iterable[tuple[Decimal, Decimal]]) -> ParCaseload:
    """The caseload of pairs of totals (before, after) by the weights of 1992."""
    changes = tuple(par_change(before, after) for before, after in pairs)
    before = spread([c.before for c in changes])
    after = spread([c.after for c in changes])
    percents = spread([c.percent for c in changes if c.percent is not None])
    of_means = None
    if before is not None and after is not None and before.mean:
        of_means = HUNDRED * (before.mean - after.mean) / before.mean
    counted = Counter(c.verdict for c in changes)
    every: tuple[ParVerdict, ...] = ("greatly_improved", "improved", "worse_or_no_different", "undefined")
    return ParCaseload(
        changes,
        before,
        after,
        percents.mean if percents else None,
        of_means,
        {verdict: counted[verdict] for verdict in every},
    )
