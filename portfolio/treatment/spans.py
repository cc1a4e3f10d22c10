"""Spans of days and how many calendar months they come to.

A span holds its first day and not its last: from one day to the same day is nothing. Several spans of one course are
laid end to end from the first day on, and counted in completed calendar months by the rules of `portfolio.ages`:
the months that treatment would have taken without the gaps. One span without a gap is plain calendar counting.
"""

from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from datetime import date, timedelta

from portfolio.ages import months_between


@dataclass(frozen=True, slots=True)
class Span:
    """From `first` on to `until`, which is not in it; never backwards."""

    first: date
    until: date

    @property
    def days(self) -> int:
        return (self.until - self.first).days


def span(first: date, until: date) -> Span | None:
    """A span, or None where nothing lies between."""
    return Span(first, until) if first < until else None


def joined(spans: Iterable[Span]) -> tuple[Span, ...]:
    """The same days as spans that neither overlap nor touch, in order."""
    out: list[Span] = []
    for one in sorted(spans, key=lambda one: one.first):
        if out and one.first <= out[-1].until:
            out[-1] = Span(out[-1].first, max(out[-1].until, one.until))
        else:
            out.append(one)
    return tuple(out)


def common(spans: Sequence[Span], others: Sequence[Span]) -> tuple[Span, ...]:
    """The days that lie in both."""
    both = (span(max(a.first, b.first), min(a.until, b.until)) for a in joined(spans) for b in joined(others))
    return joined(one for one in both if one)


def without(spans: Sequence[Span], taken: Sequence[Span]) -> tuple[Span, ...]:
    """The days of `spans` that do not lie in `taken`."""
    left = list(joined(spans))
    for gone in joined(taken):
        left = [
            part
            for one in left
            for part in (
                span(one.first, min(one.until, gone.first)),
                span(max(one.first, gone.until), one.until),
            )
            if part
        ]
    return tuple(left)


def days_of(spans: Sequence[Span]) -> int:
    """How many days; those in several spans count once."""
    return sum(one.days for one in joined(spans))


def months_of(spans: Sequence[Span]) -> int:
    """Completed calendar months of the spans laid end to end from their first day; 0 for none."""
    parts = joined(spans)
    if not parts:
        return 0
    return months_between(parts[0].first, parts[0].first + timedelta(days=days_of(parts)))
