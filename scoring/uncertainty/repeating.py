"""What measuring a finding again would tell: where the chance of a threshold would then lie.  Pure.

Before the new readings are taken, their mean is uncertain: the truth may be anywhere in its law, and the readings
anywhere around the truth.  The chance that will be told afterwards is worked out at many equally likely places of the
new mean, so nothing is drawn.  Only the random part of the error shrinks with repeats; what is shared stays.
"""

import itertools
import math
from collections.abc import Callable, Iterator
from dataclasses import dataclass, replace
from decimal import Decimal
from statistics import NormalDist

from portfolio.code_errors import truths
from scoring.uncertainty.model import CannotBeTold, Place
from scoring.uncertainty.reading import Law, Reading
from scoring.uncertainty.tipping import given_piece
from scoring.uncertainty.total import ScoreLaw

PLACES = 201
"""Equally likely places of the new mean that are looked at."""
TAIL = 0.05
MOST_TIMES = 20


@dataclass(frozen=True, slots=True)
class Repeated:
    """The chance of the threshold now, and its range (5 to 95 per cent) and mean after so many more readings."""

    place: Place
    times: int
    now: float
    low: float
    high: float
    mean: float


def if_repeated(law: ScoreLaw, place: Place, times: int, threshold: Decimal | int | str) -> Repeated:
    """What `times` more readings of one finding would make of the chance of `total >= threshold`.

    Raises KeyError for a place that no rule reads, CannotBeTold for a finding that is certain, worked out of others or tied to
    other measures of one tracing (whoever measures one again traces all of them),
    ValueError for fewer than 1 or more than 20 times.
    """
    if not 1 <= times <= MOST_TIMES:
        raise ValueError(f"a finding can be read again 1 to {MOST_TIMES} times")
    if law.graded:
        raise CannotBeTold("a grade is the worst of what is there; what decides it stands in its lines")
    reading = law.worked.readings[place]
    if reading.certain or len(reading.law.codes) == 1:
        raise CannotBeTold("this finding is certain; reading it again changes nothing")
    if reading.derived is not None:
        raise CannotBeTold("this value is worked out of several findings; choose one of them")
    number, _, _ = law.block_of(place)
    if law.worked.clusters[number].exact:
        raise CannotBeTold(
            "its error is shared with other measures of one tracing; trace the radiograph again instead"
        )
    if not reading.law.codes and not reading.law.sd:
        raise CannotBeTold("all of its error is shared with other findings; reading it again changes nothing")
    laws = list(_codes_after(reading, times) if reading.law.codes else _numbers_after(reading, times))
    chance = _chances(law, reading, Decimal(threshold))
    told = sorted((chance(after), weight) for after, weight in laws)
    total = math.fsum(weight for _, weight in told)
    return Repeated(
        place,
        times,
        law.total.at_least(threshold),
        _share(told, TAIL * total),
        _share(told, (1 - TAIL) * total),
        math.fsum(found * weight for found, weight in told) / total,
    )


def _share(told: list[tuple[float, float]], share: float) -> float:
    reached = 0.0
    for chance, weight in told:
        reached += weight
        if reached >= share - 1e-12:
            return chance
    return told[-1][0]


def _chances(law: ScoreLaw, reading: Reading, threshold: Decimal) -> Callable[[Law], float]:
    """The chance of the threshold under another law of one reading."""
    number, _, block = law.block_of(reading.place)
    cluster = law.worked.clusters[number]
    given = given_piece(law, reading.place, threshold)
    cuts = block.cuts[block.reads.index(reading.place)]
    return lambda after: given.of(law.worked.cells(replace(reading, law=after), cuts, cluster.grid))


def _numbers_after(reading: Reading, times: int) -> Iterator[tuple[Law, float]]:
    """The law after the readings at equally likely places of the new mean.

    With random deviation s of one reading and r readings so far, the truth is normal with s/√r and the new mean of all
    varies with √(s²/r − s²/(r + times)) around the old one.
    """
    law, so_far = reading.law, reading.times
    alone = law.sd * math.sqrt(so_far)
    wide = math.sqrt(alone**2 / so_far - alone**2 / (so_far + times))
    normal = NormalDist(law.mean, wide)
    low = normal.cdf(0) if law.shape == "some" else 0.0
    for k in range(PLACES):
        mean = normal.inv_cdf(low + (1 - low) * (k + 0.5) / PLACES)
        if law.shape in ("none", "at_zero"):
            yield law, 1 / PLACES
        else:
            yield replace(law, mean=mean, sd=alone / math.sqrt(so_far + times)), 1 / PLACES


def _codes_after(reading: Reading, times: int) -> Iterator[tuple[Law, float]]:
    """Bayes' rule over every way in which the new readings may come out, however often each code."""
    quantity = reading.place[0]
    prior = reading.law.codes
    seen = {code: dict(truths(quantity, code)) for code, _ in prior}
    possible = sorted({code for table in seen.values() for code in table})
    for counts in _ways(len(possible), times):
        joint = {}
        for truth, chance in prior:
            likelihood = float(math.factorial(times))
            for code, count in zip(possible, counts, strict=True):
                likelihood *= seen[truth].get(code, 0.0) ** count / math.factorial(count)
            joint[truth] = chance * likelihood
        total = math.fsum(joint.values())
        if total > 1e-12:
            yield replace(reading.law, codes=tuple((c, p / total) for c, p in joint.items() if p)), total


def _ways(codes: int, times: int) -> Iterator[tuple[int, ...]]:
    """All counts of so many codes that come to `times`."""
    for bars in itertools.combinations(range(times + codes - 1), codes - 1):
        ends = (-1, *bars, times + codes - 1)
        yield tuple(b - a - 1 for a, b in itertools.pairwise(ends))
